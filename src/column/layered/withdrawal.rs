//! Selective withdrawal: from which layers an outlet draws.

use super::grid::Grid;
use super::state::Column;
use crate::physics::mixing::{withdrawal_height_m, withdrawal_weight};
use crate::physics::water::water_density_kg_m3;

/// Angle from which an outlet in a free face of a dam draws, rad.
const FREE_FACE_RAD: f64 = std::f64::consts::PI;
/// Least density step over the layer of withdrawal, kg/m3: in water of one density the outlet draws from all of it.
const LEAST_STEP_KG_M3: f64 = 1e-6;

/// Shares of an outlet's flow by layer of a lane, into `share_frac`, which has a place for each layer of the grid.
///
/// To each side of the outlet the limit Z is where `Q = (theta/pi) Z^2.5 sqrt(g drho/rho)` with drho from the outlet to
/// the limit; velocity falls off by `(1 - y drho_y/(Z drho_Z))^2` (Bohan & Grace 1973), and a layer gives that times its
/// thickness. Surface and bed cut the layer off. An outlet above the surface draws nothing: `false`, all shares 0.
#[must_use]
pub fn withdrawal_shares<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    lane: usize,
    (outlet_elevation_m, flow_m3s): (f64, f64),
    share_frac: &mut [f64],
) -> bool {
    share_frac.fill(0.0);
    let top = column.top[lane];
    let faces = grid.face_elevation_m();
    if outlet_elevation_m >= column.surface_elevation_m[lane] || flow_m3s <= 0.0 {
        return false;
    }
    let holds = |layer: &usize| column.volume_m3[*layer][lane] > 0.0;
    let lowest = (0..=top).find(holds).unwrap_or(top);
    let outlet = (lowest..=top)
        .find(|layer| *layer == top || faces[layer + 1] > outlet_elevation_m)
        .unwrap_or(top);
    let density = |layer: usize| water_density_kg_m3(column.temp_degc[layer][lane]);
    let at_outlet = density(outlet);
    let away_m = |layer: usize| (column.middle_m(grid, layer, lane) - outlet_elevation_m).abs();
    share_frac[outlet] = 1.0;
    for upward in [true, false] {
        let side = |k: usize| {
            if upward {
                Some(outlet + k).filter(|layer| *layer <= top)
            } else {
                outlet.checked_sub(k).filter(|layer| *layer >= lowest)
            }
        };
        // The limit: the first layer that is farther than its density step lets the outlet reach.
        let (mut reach_m, mut step) = (f64::INFINITY, LEAST_STEP_KG_M3);
        for layer in (1..).map_while(side) {
            step = (density(layer) - at_outlet).abs().max(LEAST_STEP_KG_M3);
            let height_m = withdrawal_height_m(flow_m3s, step, FREE_FACE_RAD);
            if height_m <= away_m(layer) {
                reach_m = away_m(layer);
                break;
            }
            reach_m = height_m;
        }
        for layer in (1..).map_while(side) {
            if away_m(layer) >= reach_m {
                break;
            }
            let density_frac = (density(layer) - at_outlet).abs() / step;
            share_frac[layer] = withdrawal_weight(away_m(layer), reach_m, density_frac);
        }
    }
    let mut sum = 0.0;
    for (layer, share) in share_frac.iter_mut().enumerate().take(top + 1) {
        *share *= column.volume_m3[layer][lane];
        sum += *share;
    }
    share_frac.iter_mut().for_each(|share| *share /= sum);
    true
}
