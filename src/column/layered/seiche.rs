//! Mixing by internal waves: the motion that the tilted lake takes back from its surface layer is lost again at the bed.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::background::apart_m;
use super::grid::Grid;
use super::parameters::ColumnParameters;
use super::state::{Column, Lanes};

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
/// `n2_per_s2` of [`stability_per_s2`](super::stability_per_s2), and `stability_per_s` is room for N, shapes `[layers + 1][lane]`.
#[inline(always)]
pub fn add_waves<const L: usize>(
    (grid, column): (&Grid, &Column<L>),
    n2_per_s2: &[Lanes<L>],
    (power_w_m2, parameters): (&Lanes<L>, &[ColumnParameters; L]),
    stability_per_s: &mut [Lanes<L>],
    into: &mut [Lanes<L>],
) {
    if *power_w_m2 == [0.0; L] {
        return;
    }
    let (lowest, highest) = column.tops();
    // Faces between layers that are full in all lanes, and the few about the surfaces.
    let (inner, outer) = (1..lowest.max(1), lowest.max(1)..highest + 1);
    let (beds_m2, aparts_m) = (
        &grid.face_bed_m2()[inner.clone()],
        &grid.face_apart_m()[inner.clone()],
    );
    for (stability, n2_per_s2) in stability_per_s.iter_mut().zip(n2_per_s2).take(highest + 1) {
        for lane in 0..L {
            stability[lane] = n2_per_s2[lane].max(LEAST_N2_PER_S2).sqrt();
        }
    }
    let mut sum = [0.0; L];
    for (stability, bed_m2) in stability_per_s[inner.clone()].iter().zip(beds_m2) {
        for lane in 0..L {
            sum[lane] += bed_m2 * stability[lane];
        }
    }
    for face in outer.clone() {
        let bed_m2 = bed_around_m2(grid, column, face);
        for lane in 0..L {
            sum[lane] += bed_m2[lane] * stability_per_s[face][lane];
        }
    }
    let mut work_w = [0.0; L];
    for lane in 0..L {
        let power_w = MIXING_FRAC * power_w_m2[lane] * column.surface_area_m2[lane];
        let share = parameters[lane].background_frac * power_w / (WATER_KG_M3 * sum[lane]);
        work_w[lane] = if sum[lane] > 0.0 { share } else { 0.0 };
    }
    let wave = |lane: usize, share_m2_m3: f64, stability: f64, held_m2_s: f64| {
        let waves_m2_s = work_w[lane] * share_m2_m3 / stability;
        f64::max(held_m2_s, f64::min(held_m2_s + waves_m2_s, MOST_M2_S))
    };
    let areas_m2 = grid.face_area_m2();
    let places = beds_m2.iter().zip(aparts_m).zip(&areas_m2[inner.clone()]);
    let rows = into[inner.clone()].iter_mut().zip(&stability_per_s[inner]);
    for ((into, stability), ((bed_m2, apart_m), area_m2)) in rows.zip(places) {
        let share = bed_m2 / (area_m2 * apart_m);
        for lane in 0..L {
            into[lane] = wave(lane, share, stability[lane], into[lane]);
        }
    }
    for face in outer {
        let (apart_m, bed_m2) = (apart_m(grid, column, face), bed_around_m2(grid, column, face));
        for lane in 0..L {
            let share = bed_m2[lane] / (areas_m2[face] * apart_m[lane]);
            into[face][lane] = wave(lane, share, stability_per_s[face][lane], into[face][lane]);
        }
    }
}

/// Bed between the middles of the layers over and under a face, m2, lane by lane. None above the surface.
#[inline(always)]
fn bed_around_m2<const L: usize>(grid: &Grid, column: &Column<L>, face: usize) -> Lanes<L> {
    let mut bed_m2 = [0.0; L];
    for lane in 0..L {
        let around_m2 = if face == column.top[lane] {
            grid.bed_around_m2(face, column.surface_area_m2[lane])
        } else {
            grid.face_bed_m2()[face]
        };
        bed_m2[lane] = if face <= column.top[lane] { around_m2 } else { 0.0 };
    }
    bed_m2
}
