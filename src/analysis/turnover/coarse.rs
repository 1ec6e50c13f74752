//! The analysed water on fewer, thicker columns.

use crate::analysis::LANES;
use crate::column::layered::{Lanes, Water};
use crate::column::reservoir::{Ensemble, Reservoir, ReservoirSetup};
use crate::lake::ZoneId;

/// Thickness of the layers of a season's runs, m (project choice: half the layers of a brief).
pub const COARSE_LAYER_M: f64 = 2.0;
/// Samples over a coarse layer.
const SAMPLES: usize = 8;

/// A block of runs on the columns of `setup`, each with the water, level and factors of a member of `fine`: of every coarse layer
/// the mean of what the zone's columns hold there, by their areas. `None` where a member is not there, or its level outside the layers.
pub fn poured(
    setup: &ReservoirSetup,
    fine: &Ensemble<LANES>,
    members: [usize; LANES],
) -> Option<Reservoir<LANES>> {
    let of = |member: usize| Some((fine.lakes.get(member / LANES)?, member % LANES));
    let mut found = Vec::with_capacity(LANES);
    for member in members {
        found.push(of(member)?);
    }
    let level_m: Lanes<LANES> = std::array::from_fn(|lane| found[lane].0.network().level_m(found[lane].1));
    let factors = std::array::from_fn(|lane| found[lane].0.factors()[found[lane].1]);
    Reservoir::filled(setup, factors, level_m, |column, elevation_m, lane| {
        let place = &setup.layout.places[column];
        let faces_m = place.grid.face_elevation_m();
        let above = faces_m
            .partition_point(|face| *face <= elevation_m)
            .clamp(1, faces_m.len() - 1);
        let top_m = faces_m[above].min(level_m[lane]);
        // Columns cut alike are poured one into one.
        let alike = found[lane].0.network().columns().len() == setup.layout.places.len();
        let only = alike.then_some(column);
        mean_water(
            found[lane],
            (&place.zone, only),
            (faces_m[above - 1].min(top_m), top_m),
        )
    })
}

/// Mean of what a zone's open columns hold between two elevations, by their areas; what the lowest layer of the first holds where none has
/// water there. A zone that is closed throughout has the main body's.
fn mean_water(
    (fine, lane): (&Reservoir<LANES>, usize),
    (zone, only): (&ZoneId, Option<usize>),
    (from_m, to_m): (f64, f64),
) -> Water {
    let network = fine.network();
    let (layout, columns) = (network.layout(), network.columns());
    let open = |column: &usize| network.closed().is_open(*column, lane);
    let of_zone = layout
        .of_zone(zone)
        .filter(|column| only.is_none_or(|only| only == *column));
    let mut own: Vec<usize> = of_zone.filter(open).collect();
    if own.is_empty() {
        own.push(0);
    }
    let (mut sum, mut weights) = ([0.0; 3], 0.0);
    for sample in 0..SAMPLES {
        let elevation_m = from_m + (to_m - from_m) * (sample as f64 + 0.5) / SAMPLES as f64;
        for column in &own {
            let faces_m = layout.places[*column].grid.face_elevation_m();
            let above = faces_m.partition_point(|face| *face <= elevation_m);
            let area_m2 = layout.places[*column]
                .grid
                .surface_area_m2(elevation_m)
                .unwrap_or(0.0);
            let Some(layer) = above.checked_sub(1).filter(|_| area_m2 > 0.0) else {
                continue;
            };
            let held = columns[*column].water(layer.min(columns[*column].top[lane]), lane);
            for (sum, value) in sum
                .iter_mut()
                .zip([held.temp_degc, held.oxygen_mg_l, held.river_frac])
            {
                *sum += area_m2 * value;
            }
            weights += area_m2;
        }
    }
    if weights > 0.0 {
        let [temp_degc, oxygen_mg_l, river_frac] = sum.map(|sum| sum / weights);
        Water {
            temp_degc,
            oxygen_mg_l,
            river_frac,
        }
    } else {
        columns[own[0]].water(0, lane)
    }
}
