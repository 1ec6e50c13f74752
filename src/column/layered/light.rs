//! Sunlight into the layers, by area: what meets the bed in a layer warms that layer.

use super::grid::Grid;
use super::state::{Column, Lanes};
use crate::physics::radiation::LightInWater;
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// Warms the layers of each lane by the light that enters the water, `entering_w_m2`, for `step_s`.
///
/// A layer takes up `I(z_upper) A_upper - I(z_lower) A_lower`; what reaches the lowest face stays in the lowest layer.
/// So the layers together take up `I0 A_surface` and no more. Returns that heat, J.
pub fn absorb_light<const L: usize>(
    grid: &Grid,
    column: &mut Column<L>,
    light: &[LightInWater; L],
    entering_w_m2: Lanes<L>,
    step_s: f64,
) -> Lanes<L> {
    let mut taken_j = [0.0; L];
    for lane in 0..L {
        let (top, level_m) = (column.top[lane], column.surface_elevation_m[lane]);
        let mut power_w = entering_w_m2[lane] * column.surface_area_m2[lane];
        taken_j[lane] = power_w * step_s;
        for layer in (0..=top).rev() {
            let passing_w = if layer == 0 {
                0.0
            } else {
                let depth_m = level_m - grid.face_elevation_m()[layer];
                light[lane].at_depth_w_m2(entering_w_m2[lane], depth_m) * grid.face_area_m2()[layer]
            };
            let heat_j = (power_w - passing_w) * step_s;
            column.temp_degc[layer][lane] += heat_j / (HEAT_CAPACITY_J_M3_K * column.volume_m3[layer][lane]);
            power_w = passing_w;
        }
    }
    taken_j
}
