//! The network of columns: geometry, exchange, rivers, closed arms, budgets.

mod exchange;
mod layout;

use plungeline::column::layered::Water;
use plungeline::column::network::Part;
use plungeline::lake::{Hypsography, ZoneId};

pub fn water(temp_degc: f64, river_frac: f64) -> Water {
    Water {
        temp_degc,
        oxygen_mg_l: 9.0,
        river_frac,
    }
}

/// A basin with upright sides between two elevations, joined to an earlier one by a face of one width.
pub fn prism((bed_m, top_m): (f64, f64), area_m2: f64, toward_lake: Option<(usize, f64)>) -> Part {
    Part {
        zone: ZoneId::new("basin"),
        hypsography: Hypsography::from_areas(vec![bed_m, top_m], vec![area_m2, area_m2]),
        toward_lake: toward_lake.map(|(next, width_m)| (next, vec![(bed_m, width_m)])),
        valley: None,
    }
}

/// Faces a metre apart, or another step.
pub fn faces_m(bed_m: f64, top_m: f64, step_m: f64) -> Vec<f64> {
    let count = ((top_m - bed_m) / step_m).round() as usize;
    (0..=count).map(|i| bed_m + step_m * i as f64).collect()
}
