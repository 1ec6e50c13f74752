//! Sunlight into the layers, by area: what meets the bed in a layer warms that layer.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::grid::Grid;
use super::state::{Column, Lanes};
use crate::math::fast;
use crate::physics::radiation::LightInWater;
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// Layers whose thicknesses differ by less let the same share of light through, m: faces are sums that round.
const SAME_M: f64 = 1e-10;

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
    let (mut below_skin_w_m2, mut extinction_per_m) = ([0.0; L], [0.0; L]);
    for lane in 0..L {
        below_skin_w_m2[lane] = entering_w_m2[lane] * (1.0 - light[lane].surface_frac);
        extinction_per_m[lane] = light[lane].extinction_per_m;
    }
    let (level_m, faces_m) = (column.surface_elevation_m, grid.face_elevation_m());
    let (lowest, highest) = column.tops();
    let (mut top_m, mut under_top_w_m2) = ([0.0; L], [0.0; L]);
    for lane in 0..L {
        top_m[lane] = level_m[lane] - faces_m[column.top[lane]];
    }
    let through_top_frac = through(&extinction_per_m, &top_m);
    for lane in 0..L {
        under_top_w_m2[lane] = below_skin_w_m2[lane] * through_top_frac[lane];
    }
    // What is left at the face under a layer, and what a layer as thick as the last one lets through.
    let (mut left_w_m2, mut through_frac, mut thick_m) = ([0.0; L], [1.0; L], 0.0);
    for layer in (0..=highest).rev() {
        let own_m = grid.thickness_m(layer);
        if f64::abs(own_m - thick_m) > SAME_M {
            thick_m = own_m;
            through_frac = through(&extinction_per_m, &[thick_m; L]);
        }
        for lane in 0..L {
            left_w_m2[lane] *= through_frac[lane];
        }
        if layer >= lowest {
            for lane in (0..L).filter(|lane| layer == column.top[*lane]) {
                left_w_m2[lane] = under_top_w_m2[lane];
            }
        }
        // What reaches the lowest face stays.
        let area_m2 = if layer > 0 {
            grid.face_area_m2()[layer]
        } else {
            0.0
        };
        let (volumes_m3, temps_degc) = (&column.volume_m3[layer], &mut column.temp_degc[layer]);
        let (mut passing_w, mut warmed_degc) = ([0.0; L], [0.0; L]);
        for lane in 0..L {
            passing_w[lane] = left_w_m2[lane] * area_m2;
            let warmth = (power_w[lane] - passing_w[lane]) * (step_s / HEAT_CAPACITY_J_M3_K);
            warmed_degc[lane] = temps_degc[lane] + warmth / volumes_m3[lane];
        }
        for lane in 0..L {
            let is_water = volumes_m3[lane] > 0.0;
            temps_degc[lane] = if is_water {
                warmed_degc[lane]
            } else {
                temps_degc[lane]
            };
            power_w[lane] = if is_water { passing_w[lane] } else { power_w[lane] };
        }
    }
    taken_j
}

/// Share of the light under the skin that water lets through, lane by lane.
#[inline(always)]
fn through<const L: usize>(extinction_per_m: &Lanes<L>, thick_m: &Lanes<L>) -> Lanes<L> {
    let mut through_frac = [0.0; L];
    for lane in 0..L {
        through_frac[lane] = fast::exp(-extinction_per_m[lane] * thick_m[lane]);
    }
    through_frac
}
