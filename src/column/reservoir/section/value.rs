//! The section as a value.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::column::WayKind;
use crate::lake::{InflowId, ZoneId, ZoneKind};

/// The lake cut open along its arms, at one instant: medians over the members.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Section {
    /// The instant that it shows.
    pub at: DateTime<Utc>,
    /// From when on water that came in by rivers counts as such: the begin of the run, or when it was last set to none.
    pub river_since: DateTime<Utc>,
    /// Members that the medians are over.
    pub members: usize,
    /// Elevation of the main body's surface.
    pub surface_elevation_m: f64,
    /// Elevation of the full pool.
    pub full_pool_elevation_m: f64,
    /// How the zones stand.
    pub rows: SectionRows,
    /// Zones that have columns, in the order of drawing: from the left where all stand in one row, else from the top.
    pub zones: Vec<SectionZone>,
    /// Arms without a column of their own, for want of shares of area: their water counts to the main body.
    pub without_column: Vec<ZoneId>,
    /// Rivers, in the order of the lake file.
    pub rivers: Vec<SectionRiver>,
    /// Openings in the dam, in the order of the lake file.
    pub outlets: Vec<SectionOutlet>,
}

/// How the zones of a section stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SectionRows {
    /// Side by side: an arm from its head to its mouth, the main body down to the dam, a second arm from its mouth to
    /// its head. For a lake of up to two arms.
    Together,
    /// Each in a row of its own that begins at its mouth (of the main body: at the dam), the main body first.
    EachZone,
}

/// Side of a zone's row on which its mouth is; of the main body, the dam.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MouthSide {
    /// On the left: distance counts to the right.
    Left,
    /// On the right: distance counts to the left.
    Right,
}

/// One zone of a section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SectionZone {
    /// Zone.
    pub id: ZoneId,
    /// Name for people.
    pub name: String,
    /// Kind.
    pub kind: ZoneKind,
    /// Where its mouth is.
    pub mouth: MouthSide,
    /// Whether the distances are those of a thalweg; else the zone is taken as four times as long as wide at full pool
    /// (project choice, that of the face's width).
    pub thalweg_known: bool,
    /// Columns from the left to the right.
    pub columns: Vec<SectionColumn>,
}

/// One column of a section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SectionColumn {
    /// Number of the column in the network, the main body 0.
    pub column: usize,
    /// Number of the reach in its zone, 1 at the mouth.
    pub reach: usize,
    /// Distance along the thalweg of its end toward the mouth, from the zone's mouth (of the main body: from the dam).
    pub from_m: f64,
    /// Distance of its end toward the head.
    pub to_m: f64,
    /// Elevation of its lowest bed.
    pub bed_elevation_m: f64,
    /// The bed along it, from the end toward the mouth, straight between points; empty where no thalweg is known.
    pub bed: Vec<BedPoint>,
    /// Elevation of its surface; `None` where it is closed and dry.
    pub surface_elevation_m: Option<f64>,
    /// Whether it is closed (too shallow or too small for a column of its own) in more than half of the members.
    pub closed: bool,
    /// Members in which it is open; the medians of its layers are over these.
    pub open_members: usize,
    /// Layers from the bed to the surface. A closed column has one, the water that is one with its neighbour's
    /// surface, or none where it is dry.
    pub layers: Vec<SectionLayer>,
}

/// A point of the bed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct BedPoint {
    /// Distance from the zone's mouth.
    pub distance_m: f64,
    /// Elevation of the bed.
    pub elevation_m: f64,
}

/// One layer of a column.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SectionLayer {
    /// Elevation of its lower edge.
    pub bottom_elevation_m: f64,
    /// Elevation of its upper edge.
    pub top_elevation_m: f64,
    /// Temperature.
    pub temp_degc: f64,
    /// Dissolved oxygen.
    pub oxygen_mg_l: f64,
    /// Share of water that has come in by rivers since [`Section::river_since`].
    pub river_frac: f64,
}

/// A place along a zone.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SectionSpot {
    /// Number of the column in the network.
    pub column: usize,
    /// Distance from the mouth of the column's zone; `None` where it is not known.
    pub distance_m: Option<f64>,
}

/// Where a river comes to rest.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RiverRest {
    /// Number of the column in the network.
    pub column: usize,
    /// Elevation.
    pub elevation_m: f64,
    /// Whether that is the lowest layer there.
    pub on_the_bed: bool,
}

/// A river in the last step. Medians are over the members in which it does what it does in most.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SectionRiver {
    /// Inflow.
    pub inflow: InflowId,
    /// Name for people.
    pub name: String,
    /// Zone that it enters.
    pub enters: ZoneId,
    /// What it does in most members; `None` where it flows in fewer than half.
    pub way: Option<WayKind>,
    /// Members that do so.
    pub way_members: usize,
    /// The plunge line (of a weak river, where it has slowed down); `None` where it floats.
    pub line: Option<SectionSpot>,
    /// The line for a greater and for a smaller plunge number, toward the head and toward the mouth: how well its place is
    /// known.
    pub line_band: Option<[SectionSpot; 2]>,
    /// Where it comes to rest.
    pub rest: Option<RiverRest>,
}

/// An opening in the dam.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SectionOutlet {
    /// Name for people.
    pub name: String,
    /// Elevation of its middle; of a spillway, of its crest.
    pub elevation_m: f64,
}

impl Section {
    /// Its columns in the order of drawing, each with its zone.
    pub fn columns(&self) -> impl Iterator<Item = (&SectionZone, &SectionColumn)> {
        self.zones
            .iter()
            .flat_map(|zone| zone.columns.iter().map(move |column| (zone, column)))
    }
}

impl SectionZone {
    /// Where the zone ends toward its mouth and toward its head, m from the mouth.
    pub fn reach_m(&self) -> (f64, f64) {
        let ends = self.columns.iter().map(|c| (c.from_m, c.to_m));
        ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(from_m, to_m), ends| {
            (from_m.min(ends.0), to_m.max(ends.1))
        })
    }

    /// Lowest bed of the zone, m.
    pub fn lowest_bed_m(&self) -> f64 {
        let beds = self.columns.iter().map(|c| c.bed_elevation_m);
        beds.fold(f64::INFINITY, f64::min)
    }
}

impl SectionColumn {
    /// Elevation of the bed at a distance from the zone's mouth, m; without a thalweg that of the whole column.
    pub fn bed_at_m(&self, distance_m: f64) -> f64 {
        let after = self.bed.partition_point(|p| p.distance_m < distance_m);
        match (after.checked_sub(1).map(|i| self.bed[i]), self.bed.get(after)) {
            (Some(a), Some(b)) => {
                let share = (distance_m - a.distance_m) / (b.distance_m - a.distance_m);
                a.elevation_m + share * (b.elevation_m - a.elevation_m)
            }
            (Some(only), None) => only.elevation_m,
            (None, Some(only)) => only.elevation_m,
            (None, None) => self.bed_elevation_m,
        }
    }
}
