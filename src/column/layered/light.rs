//! Sunlight into the layers, by area: what meets the bed in a layer warms that layer.

use super::grid::Grid;
use super::state::{Column, Lanes};
use crate::math::fast;
use crate::physics::radiation::LightInWater;
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// Warms the layers of each lane by the light that enters the water, `entering_w_m2`, for `step_s`.
///
/// A layer takes up `I(z_upper) A_upper - I(z_lower) A_lower`; what reaches the lowest face stays in the lowest layer.
/// So the layers together take up `I0 A_surface` and no more. Returns that heat, J.
#[inline(always)]
pub fn absorb_light<const L: usize>(
    grid: &Grid,
    column: &mut Column<L>,
    light: &[LightInWater; L],
    entering_w_m2: Lanes<L>,
    step_s: f64,
) -> Lanes<L> {
    let mut power_w: Lanes<L> =
        std::array::from_fn(|lane| entering_w_m2[lane] * column.surface_area_m2[lane]);
    let taken_j = power_w.map(|power_w| power_w * step_s);
    if entering_w_m2 == [0.0; L] {
        return taken_j;
    }
    let below_skin_w_m2: Lanes<L> =
        std::array::from_fn(|lane| entering_w_m2[lane] * (1.0 - light[lane].surface_frac));
    let extinction_per_m: Lanes<L> = std::array::from_fn(|lane| light[lane].extinction_per_m);
    let level_m = column.surface_elevation_m;
    let highest = column.top.iter().max().map_or(0, |top| top + 1);
    for layer in (0..highest).rev() {
        let mut passing_w = [0.0; L];
        if layer > 0 {
            let (face_m, area_m2) = (grid.face_elevation_m()[layer], grid.face_area_m2()[layer]);
            for lane in 0..L {
                let depth_m = level_m[lane] - face_m;
                passing_w[lane] =
                    below_skin_w_m2[lane] * fast::exp(-extinction_per_m[lane] * depth_m) * area_m2;
            }
        }
        let (volumes_m3, temps_degc) = (&column.volume_m3[layer], &mut column.temp_degc[layer]);
        for lane in 0..L {
            let is_water = volumes_m3[lane] > 0.0;
            let heat_j = (power_w[lane] - passing_w[lane]) * step_s;
            let warmed_degc = temps_degc[lane] + heat_j / (HEAT_CAPACITY_J_M3_K * volumes_m3[lane]);
            temps_degc[lane] = if is_water { warmed_degc } else { temps_degc[lane] };
            power_w[lane] = if is_water { passing_w[lane] } else { power_w[lane] };
        }
    }
    taken_j
}
