//! Where the rivers go: the plunge line of each, the depth at which it comes to rest, and what of an arm it fills.

use super::ensemble::Ensemble;
use super::zone_water::members;
use crate::column::forcing::RiverFlow;
use crate::column::layered::saturated_mg_l;
use crate::column::network::{Layout, PlungeLine, RiverPath};
use crate::column::{PartKind, RiverWay, WayKind, WayOfMember, ZonePart};
use crate::lake::Lake;
use crate::physics::atmosphere::standard_pressure_pa;

/// Less of every reach than this is no part worth telling (project choice).
const LEAST_SHARE_FRAC: f64 = 0.01;

/// The part of a zone that a river fills above its plunge line, whose area it takes from the reaches; `None` where it fills
/// next to nothing. The share of a reach is the mean over members; in it the river's water stands at every depth.
pub(super) fn river_part<const L: usize>(
    lake: &Lake,
    ensemble: &Ensemble<L>,
    (river, flow): (usize, &RiverFlow),
    columns: &[usize],
    reaches: &mut [ZonePart],
) -> Option<ZonePart> {
    let inflow = lake.inflows.get(river)?;
    let first = ensemble.lakes.first()?;
    let entry = *first.river_columns().get(river)?;
    let count = ensemble.members();
    let shares: Vec<f64> = columns
        .iter()
        .map(|column| {
            let of = members(ensemble).map(|(reservoir, lane)| {
                let network = reservoir.network();
                let path = network.paths().get(river).and_then(|lanes| lanes[lane]);
                path.map_or(0.0, |path| {
                    path.river_share_frac((network.layout(), network.columns()), lane, *column, entry)
                })
            });
            of.sum::<f64>() / count as f64
        })
        .collect();
    if !shares.iter().any(|share| *share >= LEAST_SHARE_FRAC) {
        return None;
    }
    let mut area_m2 = vec![0.0; reaches.first()?.area_m2.len()];
    for (reach, share) in reaches.iter_mut().zip(&shares) {
        for (sum_m2, own_m2) in area_m2.iter_mut().zip(&mut reach.area_m2) {
            *sum_m2 += share * *own_m2;
            *own_m2 *= 1.0 - share;
        }
    }
    let oxygen_mg_l = flow
        .oxygen_mg_l
        .unwrap_or_else(|| saturated_mg_l(flow.temp_degc, standard_pressure_pa(lake.full_pool_elevation_m)));
    let points = area_m2.len();
    Some(ZonePart {
        kind: PartKind::River {
            inflow: inflow.id.clone(),
        },
        area_m2,
        temp_degc: vec![vec![flow.temp_degc; points]; count],
        oxygen_mg_l: vec![vec![oxygen_mg_l; points]; count],
    })
}

/// The way of every river in the last step, member by member.
pub fn river_ways<const L: usize>(lake: &Lake, ensemble: &Ensemble<L>) -> Vec<RiverWay> {
    let inflows = lake.inflows.iter().enumerate();
    inflows
        .map(|(river, inflow)| RiverWay {
            inflow: inflow.id.clone(),
            members: members(ensemble)
                .filter_map(|(reservoir, lane)| {
                    let network = reservoir.network();
                    let path = network.paths().get(river)?[lane]?;
                    let level_m = network.level_m(lane);
                    Some(way_of(network.layout(), level_m, &path))
                })
                .collect(),
        })
        .collect()
}

fn way_of(layout: &Layout, level_m: f64, path: &RiverPath) -> WayOfMember {
    let zone = |column: usize| layout.places[column].zone.clone();
    let (rests_in, rests_m) = path.rests_at;
    WayOfMember {
        kind: match path.line {
            PlungeLine::Floats { .. } => WayKind::Floats,
            PlungeLine::Weak { .. } => WayKind::Weak,
            PlungeLine::Sinks { .. } => WayKind::Sinks,
        },
        line_zone: zone(path.line.column()),
        line_m: path.line.distance_m(),
        band_m: path.band.map(|line| {
            let same = layout.places[line.column()].zone == layout.places[path.line.column()].zone;
            line.distance_m().filter(|_| same)
        }),
        rests_zone: zone(rests_in),
        rests_depth_m: (level_m - rests_m).max(0.0),
        on_the_bed: path.on_the_bed,
    }
}
