//! Zones and columns of a section.

use chrono::{DateTime, Utc};

use super::rivers::rivers_of;
use super::value::{
    BedPoint, MouthSide, Section, SectionColumn, SectionLayer, SectionOutlet, SectionRows, SectionZone,
};
use crate::column::layered::{Column, Water};
use crate::column::network::{Layout, Network};
use crate::column::reservoir::Reservoir;
use crate::lake::{Lake, ZoneId, ZoneKind};
use crate::math::quantiles::median;

/// Most arms that stand in one row with the main body: one on either side.
const SIDES: usize = 2;
/// Length over width of a zone without a thalweg (project choice, that of the width of its face).
const LENGTH_OVER_WIDTH: f64 = 4.0;

/// The members of a lake, in blocks of lanes.
pub(super) struct Members<'a, const L: usize> {
    /// The lake, shape `[block]`; not empty.
    pub lakes: &'a [Reservoir<L>],
}

impl<'a, const L: usize> Members<'a, L> {
    /// How many.
    pub fn count(&self) -> usize {
        self.lakes.len() * L
    }

    /// Each with its network and lane.
    pub fn all(&self) -> impl Iterator<Item = (&'a Network<L>, usize)> {
        self.lakes
            .iter()
            .flat_map(|lake| (0..L).map(move |lane| (lake.network(), lane)))
    }

    /// How the lake is laid out.
    pub fn layout(&self) -> &'a Layout {
        self.lakes[0].network().layout()
    }
}

/// The section of a lake after its last step: the blocks of an ensemble ([`Ensemble::lakes`]), or one block alone
/// (`std::slice::from_ref`). `None` without a block. `lake` is the description that the columns were laid out from, `at` the
/// instant that they stand at, `river_since` that from which on their river water counts.
///
/// Medians are over the members in which a column is open, layer by layer; the surface layer is that of the lower median of
/// the members' surface layers, and a member whose surface lies lower has no say in it.
///
/// [`Ensemble::lakes`]: crate::column::reservoir::Ensemble
pub fn section_of<const L: usize>(
    lake: &Lake,
    lakes: &[Reservoir<L>],
    (at, river_since): (DateTime<Utc>, DateTime<Utc>),
) -> Option<Section> {
    lakes.first()?;
    let members = Members { lakes };
    let layout = members.layout();
    let levels: Vec<f64> = members
        .all()
        .map(|(network, lane)| network.level_m(lane))
        .collect();
    let surface_elevation_m = median(&levels)?;
    let (rows, order) = drawing_order(layout);
    let zone_of = |(id, mouth): (&ZoneId, MouthSide)| -> Option<SectionZone> {
        let zone = lake.zone(id);
        let numbers: Vec<usize> = layout.of_zone(id).collect();
        let columns = numbers.iter().enumerate().map(|(i, column)| {
            column_of(
                &members,
                (*column, i + 1),
                (surface_elevation_m, lake.full_pool_elevation_m),
            )
        });
        let mut columns: Vec<SectionColumn> = columns.collect::<Option<_>>()?;
        if mouth == MouthSide::Right {
            columns.reverse();
        }
        Some(SectionZone {
            id: id.clone(),
            name: zone.map_or_else(|| id.to_string(), |z| z.name.clone()),
            kind: zone.map_or(ZoneKind::Arm, |z| z.kind),
            mouth,
            thalweg_known: columns.iter().all(|c| !c.bed.is_empty()),
            columns,
        })
    };
    let without_column = lake.arms().filter(|arm| layout.head_of(&arm.id).is_none());
    Some(Section {
        at,
        river_since,
        members: members.count(),
        surface_elevation_m,
        full_pool_elevation_m: lake.full_pool_elevation_m,
        rows,
        zones: order.into_iter().map(zone_of).collect::<Option<_>>()?,
        without_column: without_column.map(|arm| arm.id.clone()).collect(),
        rivers: rivers_of(lake, &members),
        outlets: lake
            .outlets
            .iter()
            .map(|outlet| SectionOutlet {
                name: outlet.name.clone(),
                elevation_m: outlet.elevation_m,
            })
            .collect(),
    })
}

/// The zones in the order of drawing, with the side of their mouths.
fn drawing_order(layout: &Layout) -> (SectionRows, Vec<(&ZoneId, MouthSide)>) {
    let mut zones: Vec<&ZoneId> = layout.places.iter().map(|place| &place.zone).collect();
    zones.dedup();
    let (main, arms) = (zones[0], &zones[1..]);
    if arms.len() > SIDES {
        let each = zones.iter().map(|zone| (*zone, MouthSide::Left)).collect();
        return (SectionRows::EachZone, each);
    }
    let left = arms.first().map(|arm| (*arm, MouthSide::Right));
    let right = arms.get(1).map(|arm| (*arm, MouthSide::Left));
    let order = left.into_iter().chain([(main, MouthSide::Right)]).chain(right);
    (SectionRows::Together, order.collect())
}

/// One column; `None` where a number is not finite.
fn column_of<const L: usize>(
    members: &Members<'_, L>,
    (column, reach): (usize, usize),
    (level_m, full_pool_m): (f64, f64),
) -> Option<SectionColumn> {
    let place = &members.layout().places[column];
    let open: Vec<(&Column<L>, usize)> = members
        .all()
        .filter(|(network, lane)| network.closed().is_open(column, *lane))
        .map(|(network, lane)| (&network.columns()[column], lane))
        .collect();
    let (from_m, to_m, bed) = match &place.valley {
        Some(valley) => {
            let point = |(distance_m, elevation_m)| BedPoint {
                distance_m,
                elevation_m,
            };
            let bed = valley.bed_points_m().map(point).collect();
            (valley.from_m, valley.to_m, bed)
        }
        None => {
            let area_m2 = place.grid.surface_area_m2(full_pool_m).unwrap_or(0.0);
            (0.0, (LENGTH_OVER_WIDTH * area_m2).sqrt(), Vec::new())
        }
    };
    let closed = 2 * open.len() < members.count();
    let bed_m = place.bed_elevation_m;
    let (surface_elevation_m, layers) = if !closed {
        let surface_m = median_over(&open, |held, lane| held.surface_elevation_m[lane])?;
        let faces_m = place.grid.face_elevation_m();
        (Some(surface_m), layers_of(&open, faces_m, (bed_m, surface_m))?)
    } else if level_m > bed_m {
        let layers = held_layer(members, column, (bed_m, level_m));
        (Some(level_m), layers.into_iter().collect())
    } else {
        (None, Vec::new())
    };
    Some(SectionColumn {
        column,
        reach,
        from_m,
        to_m,
        bed_elevation_m: bed_m,
        bed,
        surface_elevation_m,
        closed,
        open_members: open.len(),
        layers,
    })
}

fn median_over<const L: usize>(
    open: &[(&Column<L>, usize)],
    figure: impl Fn(&Column<L>, usize) -> f64,
) -> Option<f64> {
    median(
        &open
            .iter()
            .map(|(held, lane)| figure(held, *lane))
            .collect::<Vec<_>>(),
    )
}

/// Layers of an open column, lowest first. What lies between the bed and the first face belongs to the lowest layer.
fn layers_of<const L: usize>(
    open: &[(&Column<L>, usize)],
    faces_m: &[f64],
    (bed_m, surface_m): (f64, f64),
) -> Option<Vec<SectionLayer>> {
    let mut tops: Vec<usize> = open.iter().map(|(held, lane)| held.top[*lane]).collect();
    tops.sort_unstable();
    let top = tops[(tops.len() - 1) / 2];
    let layer = |i: usize| {
        let there: Vec<(&Column<L>, usize)> = open
            .iter()
            .copied()
            .filter(|(held, lane)| held.top[*lane] >= i)
            .collect();
        Some(SectionLayer {
            bottom_elevation_m: if i == 0 { bed_m } else { faces_m[i] },
            top_elevation_m: if i == top { surface_m } else { faces_m[i + 1] },
            temp_degc: median_over(&there, |held, lane| held.temp_degc[i][lane])?,
            oxygen_mg_l: median_over(&there, |held, lane| held.oxygen_mg_l[i][lane])?,
            river_frac: median_over(&there, |held, lane| held.river_frac[i][lane])?,
        })
    };
    (0..=top).map(layer).collect()
}

/// The water of a closed column; `None` where it holds none in any member.
fn held_layer<const L: usize>(
    members: &Members<'_, L>,
    column: usize,
    (bed_m, level_m): (f64, f64),
) -> Option<SectionLayer> {
    let held: Vec<Water> = members
        .all()
        .filter(|(network, lane)| !network.closed().is_open(column, *lane))
        .map(|(network, lane)| network.closed().held(column, lane))
        .filter(|held| held.volume_m3 > 0.0)
        .map(|held| held.water)
        .collect();
    let of = |figure: fn(&Water) -> f64| median(&held.iter().map(figure).collect::<Vec<_>>());
    Some(SectionLayer {
        bottom_elevation_m: bed_m,
        top_elevation_m: level_m,
        temp_degc: of(|w| w.temp_degc)?,
        oxygen_mg_l: of(|w| w.oxygen_mg_l)?,
        river_frac: of(|w| w.river_frac)?,
    })
}
