//! Mixing by internal waves: the motion that the tilted lake takes back from its surface layer is lost again at the bed.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::background::apart_m;
use super::grid::Grid;
use super::parameters::ColumnParameters;
use super::state::{Column, Lanes};
use crate::physics::constants::GRAVITY_M_S2;

/// Share of the power of the waves that goes into mixing against buoyancy, chosen on recorded lakes. Friction at a bed mixes
/// with an efficiency of 0.01 to 0.15 (Wuest & Lorke 2003, from memory), and a part of the waves breaks in mixed water.
const MIXING_FRAC: f64 = 0.0075;
/// Least N2, 1/s2, and the most diffusivity that waves are let make, m2/s (project choices; weaker layering is mixed by the
/// wind itself).
const LEAST_N2_PER_S2: f64 = 1e-6;
const MOST_M2_S: f64 = 1e-4;
/// Density of water in the work of mixing, kg/m3.
const WATER_KG_M3: f64 = 1000.0;

/// Adds to the diffusivity of every face what the waves of each lane make of their power, W/m2 of the surface.
///
/// ```text
/// K = b P A_s w / (rho A dz N2 sum w),  w = A_bed N
/// ```
///
/// A_s area of the surface, A and A_bed area of the face and of the bed around it, dz between the middles of its layers: the work
/// `rho K N2 A dz` of all faces together is b P A_s. Source: internal seiche of Goudsmit, Burchard, Peeters & Wuest 2002 (loss at
/// the bed in proportion to its area and to `N^(2(1-q))`, here q = 1/2, from memory), without their store of energy: waves are
/// lost as they are made.
///
/// `stability_per_s` is room for N, shapes `[layers + 1][lane]`, densities `[layer][lane]`.
#[inline(always)]
pub fn add_waves<const L: usize>(
    (grid, column): (&Grid, &Column<L>),
    density_kg_m3: &[Lanes<L>],
    (power_w_m2, parameters): (&Lanes<L>, &[ColumnParameters; L]),
    stability_per_s: &mut [Lanes<L>],
    into: &mut [Lanes<L>],
) {
    if *power_w_m2 == [0.0; L] {
        return;
    }
    let highest = column.top.iter().max().copied().unwrap_or(0);
    let mut sum = [0.0; L];
    for face in 1..=highest {
        let (apart_m, bed_m2) = (apart_m(grid, column, face), bed_around_m2(grid, column, face));
        let (upper, lower) = (&density_kg_m3[face], &density_kg_m3[face - 1]);
        let stability = &mut stability_per_s[face];
        for lane in 0..L {
            let n2_per_s2 = GRAVITY_M_S2 * (lower[lane] - upper[lane]) / (lower[lane] * apart_m[lane]);
            stability[lane] = n2_per_s2.max(LEAST_N2_PER_S2).sqrt();
            sum[lane] += bed_m2[lane] * stability[lane];
        }
    }
    let work_w: Lanes<L> = std::array::from_fn(|lane| {
        let power_w = MIXING_FRAC * power_w_m2[lane] * column.surface_area_m2[lane];
        let share = parameters[lane].background_frac * power_w / (WATER_KG_M3 * sum[lane]);
        if sum[lane] > 0.0 { share } else { 0.0 }
    });
    for face in 1..=highest {
        let (apart_m, bed_m2) = (apart_m(grid, column, face), bed_around_m2(grid, column, face));
        let (area_m2, stability, into) = (grid.face_area_m2()[face], &stability_per_s[face], &mut into[face]);
        for lane in 0..L {
            let waves_m2_s = work_w[lane] * bed_m2[lane] / (area_m2 * apart_m[lane] * stability[lane]);
            into[lane] = f64::max(into[lane], (into[lane] + waves_m2_s).min(MOST_M2_S));
        }
    }
}

/// Bed between the middles of the layers over and under a face, m2; the whole bed under the lowest middle with it. None above
/// the surface.
#[inline(always)]
fn bed_around_m2<const L: usize>(grid: &Grid, column: &Column<L>, face: usize) -> Lanes<L> {
    let areas = grid.face_area_m2();
    let under_m2 = if face == 1 {
        0.0
    } else {
        areas[face - 1] + areas[face]
    };
    let mut bed_m2 = [0.0; L];
    for lane in 0..L {
        let over_m2 = if face == column.top[lane] {
            column.surface_area_m2[lane]
        } else {
            areas[face + 1]
        };
        let around_m2 = 0.5 * (areas[face] + over_m2 - under_m2).max(0.0);
        bed_m2[lane] = if face <= column.top[lane] { around_m2 } else { 0.0 };
    }
    bed_m2
}
