//! The lake description as the rest of the program sees it: checked, complete, SI.
//!
//! Elevations are metres above the lake's vertical datum, depths metres down from today's surface.

use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::hindcast::{Hindcast, HypsographyTable};
use super::notice::Notice;
use super::outing::{Boat, Links, Presentation};
use super::series_source::{AlertSource, SeriesSource};

macro_rules! id_type {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema)]
        #[serde(transparent)]
        pub struct $name(pub String);

        impl $name {
            /// The id from its text.
            pub fn new(text: impl Into<String>) -> Self {
                $name(text.into())
            }

            /// The id as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

id_type!(
    /// A zone of the lake: the main body, an arm, or a river above an arm.
    ZoneId
);
id_type!(
    /// An inflow of the lake.
    InflowId
);
id_type!(
    /// A series named in the lake file.
    SeriesId
);
id_type!(
    /// A species, by the stem of its file under `config/species`.
    SpeciesId
);

/// A whole lake description.
#[derive(Debug, Clone, PartialEq)]
pub struct Lake {
    /// Short name, also the name of its folder in the store: lower-case letters, digits, hyphens.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// A line printed under the name, such as that the lake is invented.
    pub note: Option<String>,
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Time zone.
    pub time_zone: Tz,
    /// Contact put into the User-Agent of every request.
    pub contact: Option<String>,
    /// Vertical datum that every elevation of the description refers to.
    pub vertical_datum: String,
    /// Elevation of the full pool.
    pub full_pool_elevation_m: f64,
    /// Elevation of the lowest pool that operation allows.
    pub minimum_pool_elevation_m: f64,
    /// Elevation against area and volume. Without it there are no volumes, and rule R1 is left out.
    pub hypsography: Option<Hypsography>,
    /// Where the hypsography stands in a CSV file instead of the lake file: it is known when that is read.
    pub hypsography_table: Option<HypsographyTable>,
    /// Zones; exactly one main body.
    pub zones: Vec<Zone>,
    /// Named stretches of water.
    pub stretches: Vec<Stretch>,
    /// Launch ramps.
    pub ramps: Vec<Ramp>,
    /// Rivers and streams that enter.
    pub inflows: Vec<Inflow>,
    /// Openings in the dam.
    pub outlets: Vec<Outlet>,
    /// Rocks, stumps and saddles, by the elevation at which they come out.
    pub hazards: Vec<Hazard>,
    /// Light extinction by month.
    pub clarity: Option<Clarity>,
    /// What is known of the lake's oxygen.
    pub oxygen: Option<OxygenPrior>,
    /// Species to answer for; empty where the file is for hindcasts alone.
    pub species: Vec<LakeSpecies>,
    /// Releases of hatchery fish.
    pub stocking: Vec<Stocking>,
    /// Release that the operator has planned, in the order of its days.
    pub planned_release: Vec<PlannedRelease>,
    /// Presentations, in the order to try them.
    pub ladder: Vec<Presentation>,
    /// The user's boat; `None` where the file is for hindcasts alone.
    pub boat: Option<Boat>,
    /// Where each series comes from.
    pub series: Vec<SeriesSource>,
    /// Table of the user's own readings of the water, absolute or relative to the lake file.
    pub water_readings: Option<std::path::PathBuf>,
    /// Where official alerts come from; `None` where the file names no service, and they are not known.
    pub official_alerts: Option<AlertSource>,
    /// What a fit found of the water model's factors, or the user knows of them; each at most once.
    pub model_factors: Vec<super::ModelFactor>,
    /// Season in which the turnover is asked for; `None` for that of the latitude.
    pub turnover: Option<super::TurnoverSeason>,
    /// Height of the hills over the level horizon as seen from the water, `(direction_deg, height_deg)`, direction increasing;
    /// empty where the file does not tell.
    pub horizon: Vec<(f64, f64)>,
    /// Pages that an angler of this lake has to look at.
    pub links: Links,
    /// What the user wants to be told of, in the order of the file.
    pub notices: Vec<Notice>,
    /// Past weather, flows and profiles.
    pub hindcast: Option<Hindcast>,
}

impl Lake {
    /// The main body. The check of the lake file makes sure that there is exactly one.
    pub fn main_body(&self) -> &Zone {
        self.zones
            .iter()
            .find(|z| z.kind == ZoneKind::MainBody)
            .expect("the check of the lake file refuses a lake without a main body")
    }

    /// The zone named `id`.
    pub fn zone(&self, id: &ZoneId) -> Option<&Zone> {
        self.zones.iter().find(|z| &z.id == id)
    }

    /// The arms, in the order of the file.
    pub fn arms(&self) -> impl Iterator<Item = &Zone> {
        self.zones.iter().filter(|z| z.kind == ZoneKind::Arm)
    }

    /// The inflow that enters zone `id`, the largest-named first where several do.
    pub fn inflow_into(&self, id: &ZoneId) -> Option<&Inflow> {
        self.inflows.iter().find(|i| &i.enters == id)
    }
}

/// Elevation against area and volume; all three of the same length, elevation increasing.
#[derive(Debug, Clone, PartialEq)]
pub struct Hypsography {
    /// Elevations, strictly increasing.
    pub elevation_m: Vec<f64>,
    /// Area of the surface at each elevation, never decreasing.
    pub area_m2: Vec<f64>,
    /// Volume below each elevation: given, or the integral of the area by the trapezoid rule.
    pub volume_m3: Vec<f64>,
    /// Whether the file gave volumes (checked against areas) or they were derived.
    pub volume_given: bool,
}

/// Kind of a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ZoneKind {
    /// The lake itself, at the dam.
    MainBody,
    /// A flooded river valley.
    Arm,
    /// Flowing water above an arm's head, or above the main body of a lake without arms. Not trolled.
    River,
}

/// A zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Id, used in JSON keys.
    pub id: ZoneId,
    /// Name for people.
    pub name: String,
    /// Kind.
    pub kind: ZoneKind,
    /// For a river: the zone that it flows into.
    pub above: Option<ZoneId>,
    /// For a river: its inflow, where the file names it. It does where several rivers lie above one zone.
    pub inflow: Option<InflowId>,
    /// Share of the lake's area by elevation, `(elevation_m, share_frac)`, elevation increasing,
    /// linear between, constant outside. Empty for a river.
    pub area_share: Vec<(f64, f64)>,
    /// Thalweg from the mouth (distance 0) to the head, distance increasing. Empty for a river or where it is not known.
    pub thalweg: Vec<ThalwegPoint>,
    /// Direction toward which the zone's long axis points from the mouth to the head, clockwise from north.
    pub orientation_deg: Option<f64>,
    /// Open water upwind by direction the wind comes from: `(direction_deg, fetch_m)`, direction increasing; for waves only where no outline
    /// tells, see `Lake::fetch_of`.
    pub fetch: Vec<(f64, f64)>,
    /// Ring round its water at full pool, `(latitude_deg, longitude_deg)`, not closed; tracks are cut by it. Empty where not drawn.
    pub outline: Vec<(f64, f64)>,
}

/// One point of a zone's thalweg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThalwegPoint {
    /// Distance from the zone's mouth.
    pub distance_m: f64,
    /// Elevation of the bed.
    pub bed_elevation_m: f64,
    /// Width of the surface at full pool.
    pub width_m: f64,
    /// Where it is, `(latitude_deg, longitude_deg)`; by it runs are measured.
    pub position: Option<(f64, f64)>,
}

/// Structure along a stretch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Structure {
    /// Old river channel.
    Channel,
    /// Steep wall.
    Bluff,
    /// Island or hump.
    Island,
    /// Flat.
    Flat,
    /// Point.
    Point,
}

/// A named stretch of water.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Zone that holds it.
    pub zone: ZoneId,
    /// Structure.
    pub structure: Structure,
    /// Line along it, `(latitude_deg, longitude_deg)`.
    pub line: Vec<(f64, f64)>,
    /// Ring round it, as that of a zone. Empty where it is not drawn: then it is what is near the line.
    pub outline: Vec<(f64, f64)>,
    /// Elevation of the bed under it.
    pub bed_elevation_m: f64,
}

/// A launch ramp.
#[derive(Debug, Clone, PartialEq)]
pub struct Ramp {
    /// Id, used in JSON keys.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Zone it launches into.
    pub zone: ZoneId,
    /// Elevation of the lower end of the concrete.
    pub toe_elevation_m: f64,
    /// Position, `(latitude_deg, longitude_deg)`.
    pub position: Option<(f64, f64)>,
    /// Lanes by level: `(elevation_m, lanes)`: at and above the elevation so many lanes are open.
    pub lanes: Vec<(f64, u32)>,
}

/// A river or stream that enters the lake.
#[derive(Debug, Clone, PartialEq)]
pub struct Inflow {
    /// Id.
    pub id: InflowId,
    /// Name for people.
    pub name: String,
    /// Zone it enters: an arm, or the main body.
    pub enters: ZoneId,
    /// How the flow is known.
    pub flow: InflowFlow,
    /// Whether a dam upstream regulates it (the baseflow filter would describe the release).
    pub regulated: bool,
    /// Published parameter set of the river temperature equation to start from.
    pub thermal_regime: ThermalRegime,
    /// Long-term mean flow, for the river temperature equation where the record is short.
    pub mean_flow_m3s: Option<f64>,
}

/// How an inflow's discharge is known.
#[derive(Debug, Clone, PartialEq)]
pub enum InflowFlow {
    /// A series of the file with quantity `inflow` at this inflow's place.
    Series,
    /// `flow = factor * gauge` from the series of another inflow.
    FromGauge {
        /// The gauged inflow.
        gauge: InflowId,
        /// Factor on its flow.
        factor: f64,
    },
}

/// Published parameter sets of the river temperature equation (Toffolon & Piccolroaz 2015).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ThermalRegime {
    /// Natural lowland river.
    Lowland,
    /// Regulated river.
    Regulated,
    /// Snow-fed river.
    SnowFed,
}

/// An opening in the dam.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlet {
    /// Id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Elevation of its middle.
    pub elevation_m: f64,
}

/// A hazard that a falling pool brings out or near the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Hazard {
    /// Id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Zone that holds it.
    pub zone: ZoneId,
    /// Kind.
    pub kind: HazardKind,
    /// Elevation of its top.
    pub top_elevation_m: f64,
    /// Latitude and longitude, where the file gives them: by them the plan tells whether a way passes it.
    pub position: Option<(f64, f64)>,
}

/// Kind of a hazard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HazardKind {
    /// Rock.
    Rock,
    /// Drowned trees.
    Stumps,
    /// A saddle that dries and closes a way.
    Saddle,
}

/// Clarity by month.
#[derive(Debug, Clone, PartialEq)]
pub struct Clarity {
    /// Light extinction of each month, January first. From Secchi depth `s`: `1.7 / s`
    /// (Poole & Atkins 1929, from memory).
    pub extinction_per_m: [f64; 12],
    /// Whether the file gave Secchi depths.
    pub from_secchi: bool,
}

/// What is known beforehand of the lake's oxygen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OxygenPrior {
    /// Trophic state.
    Trophic(TrophicState),
    /// Oxygen demand of the deep water per volume, mg/L a day.
    DemandMgLPerDay(f64),
}

/// Trophic state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum TrophicState {
    /// Poor in nutrients.
    Oligotrophic,
    /// Middling.
    Mesotrophic,
    /// Rich in nutrients.
    Eutrophic,
}

/// A species of the lake.
#[derive(Debug, Clone, PartialEq)]
pub struct LakeSpecies {
    /// Id: the stem of the file under `config/species`.
    pub id: SpeciesId,
    /// Share of mature fish in autumn, mean, where the user knows better than the species file.
    pub mature_frac: Option<f64>,
}

/// A release of hatchery fish.
#[derive(Debug, Clone, PartialEq)]
pub struct Stocking {
    /// Species.
    pub species: SpeciesId,
    /// Day.
    pub date: NaiveDate,
    /// Zone of the release.
    pub zone: ZoneId,
    /// Place of the release: latitude, longitude in degrees.
    pub position: Option<(f64, f64)>,
    /// Number of fish.
    pub count: u32,
}

/// Release that the operator has planned over some days.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedRelease {
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub until: NaiveDate,
    /// Release on each of them.
    pub flow_m3s: f64,
    /// Where the plan was published.
    pub source: String,
}
