//! The columns read off as the water of the zones, member by member.

use super::ensemble::Ensemble;
use super::model::Reservoir;
use super::river_water::river_part;
use crate::column::assimilate::{WaterField, value_at_depth};
use crate::column::forcing::RiverFlow;
use crate::column::layered::Lanes;
use crate::column::quick::{ZoneShape, zone_shapes};
use crate::column::{PartKind, ProfileBasis, ZonePart, ZoneWater};
use crate::lake::{Lake, ZoneId};
use crate::math::quantiles::median;

/// Level of an ensemble: the median over its members, m. `None` of one without members.
pub fn level_of<const L: usize>(ensemble: &Ensemble<L>) -> Option<f64> {
    let levels: Vec<f64> = members(ensemble)
        .map(|(lake, lane)| lake.network().level_m(lane))
        .collect();
    median(&levels)
}

/// Every member: its lake and its lane.
pub(super) fn members<const L: usize>(
    ensemble: &Ensemble<L>,
) -> impl Iterator<Item = (&Reservoir<L>, usize)> {
    ensemble
        .lakes
        .iter()
        .flat_map(|lake| (0..L).map(move |lane| (lake, lane)))
}

/// The water of the main body and of every arm, in the order of the lake file, at the level of the ensemble.
///
/// A zone's profile is, at each depth, the mean over its open columns by their areas there; where it has several, each is a
/// [`ZonePart`] as well, so that what does not go by means (how much water suits a fish) is taken part by part. What of an
/// arm lies above a plunge line is a part of its own and holds the river (`rivers`, of the hour, in the order of the lake's
/// inflows). An arm without columns has the main body's water. A zone is closed where more than half of the members
/// have all its columns closed.
pub fn zone_waters<const L: usize>(
    lake: &Lake,
    ensemble: &Ensemble<L>,
    rivers: &[RiverFlow],
    basis: impl Fn(&ZoneId) -> ProfileBasis,
) -> Vec<ZoneWater> {
    zone_shapes(lake, level_of(ensemble))
        .into_iter()
        .filter_map(|shape| zone_water(lake, ensemble, rivers, shape, &basis))
        .collect()
}

fn zone_water<const L: usize>(
    lake: &Lake,
    ensemble: &Ensemble<L>,
    rivers: &[RiverFlow],
    shape: ZoneShape<'_>,
    basis: &impl Fn(&ZoneId) -> ProfileBasis,
) -> Option<ZoneWater> {
    let layout = ensemble.lakes.first()?.network().layout();
    let own: Vec<usize> = layout.of_zone(&shape.zone.id).collect();
    let columns = if own.is_empty() { vec![0] } else { own.clone() };
    let (mut temp_degc, mut oxygen_mg_l, mut shut) = (Vec::new(), Vec::new(), 0);
    for (reservoir, lane) in members(ensemble) {
        let closed = reservoir.network().closed();
        let open: Vec<usize> = columns
            .iter()
            .copied()
            .filter(|i| closed.is_open(*i, lane))
            .collect();
        shut += usize::from(open.is_empty());
        let field = |field: WaterField| match open.is_empty() {
            false => mean_profile(reservoir, lane, &open, field, &shape.depth_m),
            true => {
                let water = closed.held(columns[0], lane).water;
                let value = match field {
                    WaterField::Temp => water.temp_degc,
                    WaterField::Oxygen => water.oxygen_mg_l,
                    WaterField::River => water.river_frac,
                };
                vec![value; shape.depth_m.len()]
            }
        };
        temp_degc.push(field(WaterField::Temp));
        oxygen_mg_l.push(field(WaterField::Oxygen));
    }
    let parts = match &shape.area_m2 {
        Some(_) if !own.is_empty() => parts(lake, ensemble, rivers, &own, &shape.depth_m),
        _ => Vec::new(),
    };
    Some(ZoneWater {
        zone: shape.zone.id.clone(),
        closed: 2 * shut > ensemble.members(),
        depth_m: shape.depth_m,
        area_m2: shape.area_m2,
        temp_degc,
        oxygen_mg_l: Some(oxygen_mg_l),
        parts,
        max_depth_m: shape.max_depth_m,
        volume_m3: shape.volume_m3,
        basis: basis(&shape.zone.id),
    })
}

/// The reaches of a zone, and the river above the plunge line of each river into it; empty where it is one column without
/// such a river: the zone's own profile says it all.
fn parts<const L: usize>(
    lake: &Lake,
    ensemble: &Ensemble<L>,
    rivers: &[RiverFlow],
    columns: &[usize],
    depth_m: &[f64],
) -> Vec<ZonePart> {
    let Some(first) = ensemble.lakes.first() else {
        return Vec::new();
    };
    let (layout, level_m) = (first.network().layout(), level_of(ensemble).unwrap_or(f64::NAN));
    let mut parts: Vec<ZonePart> = Vec::with_capacity(columns.len() + 1);
    for &column in columns {
        let place = &layout.places[column];
        // Below its bed a column has no area.
        let area = |z: &f64| place.grid.surface_area_m2(level_m - z).unwrap_or(0.0);
        let profiles = |field: WaterField| -> Vec<Vec<f64>> {
            members(ensemble)
                .map(|(reservoir, lane)| {
                    let host = reservoir.network().closed().host(layout, column, lane);
                    mean_profile(reservoir, lane, &[host], field, depth_m)
                })
                .collect()
        };
        let reach = place.valley.as_ref().map(|v| (v.from_m, v.to_m));
        parts.push(ZonePart {
            kind: PartKind::Reach {
                from_m: reach.map(|r| r.0),
                to_m: reach.map(|r| r.1),
            },
            area_m2: depth_m.iter().map(area).collect(),
            temp_degc: profiles(WaterField::Temp),
            oxygen_mg_l: profiles(WaterField::Oxygen),
        });
    }
    for (river, flow) in rivers.iter().enumerate() {
        if let Some(part) = river_part(lake, ensemble, (river, flow), columns, &mut parts) {
            parts.push(part);
        }
    }
    if parts.len() > 1 { parts } else { Vec::new() }
}

/// Means over columns by their areas at each depth below the surface; below the lowest layer of them all the value above.
fn mean_profile<const L: usize>(
    lake: &Reservoir<L>,
    lane: usize,
    columns: &[usize],
    field: WaterField,
    depth_m: &[f64],
) -> Vec<f64> {
    let (layout, all) = (lake.network().layout(), lake.network().columns());
    let mut above = f64::NAN;
    let at = |z: &f64| {
        let (mut sum, mut weights) = (0.0, 0.0);
        for &i in columns {
            let (grid, column) = (&layout.places[i].grid, &all[i]);
            let value = value_at_depth(grid, column, lane, (field, *z));
            let area_m2 = grid
                .surface_area_m2(column.surface_elevation_m[lane] - z)
                .unwrap_or(0.0);
            if let Some(value) = value.filter(|_| area_m2 > 0.0) {
                sum += area_m2 * value;
                weights += area_m2;
            }
        }
        if weights > 0.0 {
            above = sum / weights;
        }
        above
    };
    depth_m.iter().map(at).collect()
}

/// Temperature of the main body at depths below the surface, by member. Shape `[member][depth]`.
pub fn main_body_degc<const L: usize>(ensemble: &Ensemble<L>, depth_m: &[f64]) -> Vec<Vec<f64>> {
    // The first column is the main body (`Reservoir::main`).
    members(ensemble)
        .map(|(reservoir, lane)| mean_profile(reservoir, lane, &[0], WaterField::Temp, depth_m))
        .collect()
}

/// Temperature of the main body's surface layer of every member of a block.
pub fn surface_degc<const L: usize>(lake: &Reservoir<L>) -> Lanes<L> {
    let (_, column) = lake.main();
    std::array::from_fn(|lane| column.temp_degc[column.top[lane]][lane])
}
