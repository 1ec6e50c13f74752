//! Where a river's water comes to rest, and how thick it spreads.

use super::flow::{Flow, Lake};
use super::plunge::PlungeLine;
use crate::column::layered::Water;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::inflow::overflow_thickness_m;
use crate::physics::water::water_density_kg_m3;

/// Least N2 in the thickness of an intrusion, 1/s2 (project choice): it spreads in any water within some metres.
const LEAST_N2_PER_S2: f64 = 1e-6;

/// River water on its way, with what it has taken in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Carried {
    pub volume_m3: f64,
    pub water: Water,
}

impl Carried {
    pub fn mix(&mut self, volume_m3: f64, water: Water) {
        let after_m3 = self.volume_m3 + volume_m3;
        if after_m3 <= 0.0 {
            return;
        }
        let mixed = |held: f64, new: f64| (held * self.volume_m3 + new * volume_m3) / after_m3;
        self.water = Water {
            temp_degc: mixed(self.water.temp_degc, water.temp_degc),
            oxygen_mg_l: mixed(self.water.oxygen_mg_l, water.oxygen_mg_l),
            river_frac: mixed(self.water.river_frac, water.river_frac),
        };
        self.volume_m3 = after_m3;
    }

    pub fn density_kg_m3(&self) -> f64 {
        water_density_kg_m3(self.water.temp_degc)
    }
}

/// The layer of a column's lane that holds an elevation; the surface's or the lowest outside.
pub(super) fn layer_at<const L: usize>(
    lake: &Lake<'_, L>,
    (column, lane): (usize, usize),
    elevation_m: f64,
) -> usize {
    let faces_m = lake.places[column].grid.face_elevation_m();
    let top = lake.columns[column].top[lane];
    if elevation_m >= faces_m[top] {
        return top;
    }
    faces_m[1..=top].partition_point(|face_m| *face_m <= elevation_m)
}

/// Breadth over which water spreads in a layer, m: its area over the reach's length, or the side of a square.
fn breadth_m<const L: usize>(lake: &Lake<'_, L>, (column, layer): (usize, usize)) -> f64 {
    let place = &lake.places[column];
    let area_m2 = place.grid.full_volume_m3(layer) / place.grid.thickness_m(layer);
    match &place.valley {
        Some(valley) => area_m2 / valley.length_m(),
        None => area_m2.sqrt(),
    }
}

/// Where water of a flow spreads that has come to rest, m: `(q/N)^(1/2)` thick about the layer, or from the bed up.
pub(super) fn intrusion_m<const L: usize>(
    flow: &Flow<L>,
    lake: &Lake<'_, L>,
    (lane, (column, layer)): (usize, (usize, usize)),
    flow_m3s: f64,
) -> (f64, f64) {
    let (held, grid) = (&lake.columns[column], &lake.places[column].grid);
    let (low, high) = (layer.saturating_sub(1), (layer + 1).min(held.top[lane]));
    let density = |layer: usize| flow.density_kg_m3[column][layer][lane];
    let apart_m = held.middle_m(grid, high, lane) - held.middle_m(grid, low, lane);
    let n2 = if apart_m > 0.0 {
        GRAVITY_M_S2 * (density(low) - density(high)) / (density(low) * apart_m)
    } else {
        0.0
    };
    let thick_m = (flow_m3s / breadth_m(lake, (column, layer)) / n2.max(LEAST_N2_PER_S2).sqrt()).sqrt();
    if layer == 0 {
        let bed_m = grid.face_elevation_m()[0];
        (bed_m, bed_m + thick_m)
    } else {
        let middle_m = held.middle_m(grid, layer, lane);
        (middle_m - 0.5 * thick_m, middle_m + 0.5 * thick_m)
    }
}

/// Where a river that floats spreads, m: `1.35 (q^2/g')^(1/3)` from the surface down; one that is weak stays in the
/// surface layer.
pub(super) fn floating_m<const L: usize>(
    flow: &Flow<L>,
    lake: &Lake<'_, L>,
    (lane, rest): (usize, (usize, usize)),
    (carried, line): (&Carried, PlungeLine),
    step_s: f64,
) -> (f64, f64) {
    let level_m = lake.columns[rest.0].surface_elevation_m[lane];
    let surface = flow.density_kg_m3[rest.0][rest.1][lane];
    let lighter_m_s2 = GRAVITY_M_S2 * (surface - carried.density_kg_m3()) / surface;
    if matches!(line, PlungeLine::Floats { .. }) && lighter_m_s2 > 0.0 {
        let flow_m2_s = carried.volume_m3 / step_s / breadth_m(lake, rest);
        (level_m - overflow_thickness_m(flow_m2_s, lighter_m_s2), level_m)
    } else {
        (level_m, level_m)
    }
}

/// Puts what has come to rest into the layers of a band, by the volume of theirs that lies in it; into the layer of rest
/// alone where the band is too thin. Gives the middle of that layer, m.
pub(super) fn insert<const L: usize>(
    flow: &mut Flow<L>,
    lake: &Lake<'_, L>,
    (lane, (column, layer)): (usize, (usize, usize)),
    carried: &Carried,
    (low_m, high_m): (f64, f64),
) -> f64 {
    let (held, place) = (&lake.columns[column], &lake.places[column]);
    let faces_m = place.grid.face_elevation_m();
    let within = |i: usize| {
        let top_m = if i == held.top[lane] {
            held.surface_elevation_m[lane]
        } else {
            faces_m[i + 1]
        };
        let overlap_m = (top_m.min(high_m) - faces_m[i].max(low_m)).max(0.0);
        overlap_m / (top_m - faces_m[i]) * held.volume_m3[i][lane]
    };
    let at = |elevation_m: f64| layer_at(lake, (column, lane), elevation_m);
    let layers = at(low_m)..=at(high_m);
    let sum: f64 = layers.clone().map(within).sum();
    let slot = &mut flow.slots[column];
    let mut put = |layer: usize, volume_m3: f64| {
        slot.push_in((layer, place.first_layer), lane, (volume_m3, carried.water));
    };
    if sum > 0.0 {
        for layer in layers {
            put(layer, within(layer) / sum * carried.volume_m3);
        }
    } else {
        put(layer, carried.volume_m3);
    }
    held.middle_m(&place.grid, layer, lane)
}
