//! A river into a column: it plunges, draws lake water in on its way down, and comes to rest where it is as dense as the
//! lake.

use super::grid::Grid;
use super::state::{Column, Water};
use super::transport::LayerSource;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::inflow::{TriangularChannel, WEAK_DIFFERENCE_KG_M3, reduced_gravity_m_s2};
use crate::physics::water::water_density_kg_m3;

/// Surface water that a plunging river takes along, as a share of its own (0-0.3, Akiyama & Stefan 1984, from memory).
pub const PLUNGE_ENTRAINMENT_FRAC: f64 = 0.15;
/// Most of a layer that one river takes along in a step.
const MOST_OF_LAYER_FRAC: f64 = 0.2;

/// A river on its way down a column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entering {
    /// Its water.
    pub water: Water,
    /// Its volume in the step, m3.
    pub volume_m3: f64,
}

impl Entering {
    #[inline]
    fn take(&mut self, water: Water, volume_m3: f64) {
        let whole_m3 = self.volume_m3 + volume_m3;
        let share_frac = volume_m3 / whole_m3;
        let mixed = |own: f64, other: f64| own + share_frac * (other - own);
        self.water = Water {
            temp_degc: mixed(self.water.temp_degc, water.temp_degc),
            oxygen_mg_l: mixed(self.water.oxygen_mg_l, water.oxygen_mg_l),
            river_frac: mixed(self.water.river_frac, water.river_frac),
        };
        self.volume_m3 = whole_m3;
    }
}

/// Lets a river into a lane as sources for the transport, added to `sources`.
///
/// Lighter than the surface, or hardly denser (0.05 kg/m3), it stays in the surface layer. Denser, it takes
/// [`PLUNGE_ENTRAINMENT_FRAC`] of its volume along from the surface layer, and from each layer that it passes what the
/// underflow of a triangular channel draws in over the height of the layer (`Q = Q0 (h/h0)^(5/3)`, Imberger & Patterson
/// 1981). It comes to rest above the first layer that is denser, over a thickness `(q/N)^(1/2)` with q the flow per metre
/// of `width_m` and N of the layers there; denser than all, on the bed. What it draws in is taken out of the layers
/// here and comes back with the sources, so heat and what the water carries are kept.
pub fn river_sources<const L: usize>(
    grid: &Grid,
    column: &mut Column<L>,
    lane: usize,
    (river, channel): (Entering, TriangularChannel),
    (width_m, step_s): (f64, f64),
    sources: &mut Vec<LayerSource>,
) {
    let density = |column: &Column<L>, layer: usize| water_density_kg_m3(column.temp_degc[layer][lane]);
    river_sources_by_density(
        grid,
        (column, lane, &density),
        (river, channel),
        (width_m, step_s),
        sources,
    );
}

/// [`river_sources`] with the density of the layers of the lane given, kg/m3.
pub fn river_sources_by_density<const L: usize>(
    grid: &Grid,
    (column, lane, density): (&mut Column<L>, usize, &impl Fn(&Column<L>, usize) -> f64),
    (mut river, channel): (Entering, TriangularChannel),
    (width_m, step_s): (f64, f64),
    sources: &mut Vec<LayerSource>,
) {
    let top = column.top[lane];
    if river.volume_m3 <= 0.0 {
        return;
    }
    let surface = density(column, top);
    let dense = water_density_kg_m3(river.water.temp_degc);
    if dense <= surface + WEAK_DIFFERENCE_KG_M3 {
        sources.push(LayerSource {
            layer: top,
            volume_m3: river.volume_m3,
            water: river.water,
        });
        return;
    }
    let underflow = channel.underflow(river.volume_m3 / step_s, reduced_gravity_m_s2(dense, surface));
    draw_in(column, (top, lane), &mut river, PLUNGE_ENTRAINMENT_FRAC);
    let lowest = lowest_layer(column, lane);
    let mut neutral = top;
    let level_m = column.surface_elevation_m[lane];
    let way_m = |elevation_m: f64| (level_m - elevation_m).max(0.0) / channel.slope;
    let dilution_at = |face: usize| underflow.map(|u| u.dilution(way_m(grid.face_elevation_m()[face])));
    let mut upper = dilution_at(top);
    while neutral > lowest {
        let below = neutral - 1;
        if density(column, below) >= water_density_kg_m3(river.water.temp_degc) {
            break;
        }
        let lower = dilution_at(below);
        if let (Some(upper), Some(lower)) = (upper, lower) {
            draw_in(column, (below, lane), &mut river, lower / upper - 1.0);
        }
        (neutral, upper) = (below, lower);
    }
    let density = |layer: usize| density(column, layer);
    spread(
        grid,
        (column, &density),
        (neutral, lane),
        (river, width_m, step_s),
        sources,
    );
}

fn lowest_layer<const L: usize>(column: &Column<L>, lane: usize) -> usize {
    let top = column.top[lane];
    (0..=top)
        .find(|layer| column.volume_m3[*layer][lane] > 0.0)
        .unwrap_or(top)
}

/// Takes a share of the river's volume out of a layer and into the river.
fn draw_in<const L: usize>(
    column: &mut Column<L>,
    (layer, lane): (usize, usize),
    river: &mut Entering,
    share_frac: f64,
) {
    let held_m3 = column.volume_m3[layer][lane];
    let taken_m3 = (share_frac * river.volume_m3).min(MOST_OF_LAYER_FRAC * held_m3);
    column.volume_m3[layer][lane] = held_m3 - taken_m3;
    river.take(column.water(layer, lane), taken_m3);
}

/// Lets the river come to rest about a layer.
fn spread<const L: usize>(
    grid: &Grid,
    (column, density): (&Column<L>, &impl Fn(usize) -> f64),
    (neutral, lane): (usize, usize),
    (river, width_m, step_s): (Entering, f64, f64),
    sources: &mut Vec<LayerSource>,
) {
    let (lowest, top) = (lowest_layer(column, lane), column.top[lane]);
    let middle_m = column.middle_m(grid, neutral, lane);
    let (under, over) = (neutral.max(lowest + 1) - 1, (neutral + 1).min(top));
    let apart_m = column.middle_m(grid, over, lane) - column.middle_m(grid, under, lane);
    let thick_m = if apart_m > 0.0 {
        let n2_per_s2 = GRAVITY_M_S2 * (density(under) - density(over)).max(0.0) / 1000.0 / apart_m;
        // N of 1e-4 1/s: water of one density, over which a river spreads as far as it likes.
        (river.volume_m3 / step_s / width_m / n2_per_s2.sqrt().max(1e-4)).sqrt()
    } else {
        0.0
    };
    let within = |layer: usize| (column.middle_m(grid, layer, lane) - middle_m).abs() <= 0.5 * thick_m;
    let (mut first, mut last) = (neutral, neutral);
    while first > lowest && within(first - 1) {
        first -= 1;
    }
    while last < top && within(last + 1) {
        last += 1;
    }
    let held_m3: f64 = (first..=last).map(|layer| column.volume_m3[layer][lane]).sum();
    for layer in first..=last {
        sources.push(LayerSource {
            layer,
            volume_m3: river.volume_m3 * column.volume_m3[layer][lane] / held_m3,
            water: river.water,
        });
    }
}
