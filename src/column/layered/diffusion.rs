//! Vertical diffusion, implicit in time: all lanes and all that is carried in one pass.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::background::apart_m;
use super::grid::Grid;
use super::state::{Column, Lanes};
use crate::math::wide::wide;

/// Conductance of the faces: `dt A K / dz`, m3, dz from middle to middle; 0 at the bed, at the surface and above.
///
/// `diffusivity_m2_s` and `into` have shape `[face][lane]`, `layers + 1` faces.
pub fn conductance_m3<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    diffusivity_m2_s: &[Lanes<L>],
    step_s: f64,
    into: &mut [Lanes<L>],
) {
    wide(
        #[inline(always)]
        || conductances_m3(grid, column, diffusivity_m2_s, step_s, into),
    );
}

#[inline(always)]
fn conductances_m3<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    diffusivity_m2_s: &[Lanes<L>],
    step_s: f64,
    into: &mut [Lanes<L>],
) {
    let areas = grid.face_area_m2();
    let (lowest, highest) = column.tops();
    let inner = 1..lowest.max(1);
    let places = areas[inner.clone()]
        .iter()
        .zip(&grid.face_apart_m()[inner.clone()]);
    let rows = into[inner.clone()].iter_mut().zip(&diffusivity_m2_s[inner]);
    for ((into, diffusivity), (area_m2, apart_m)) in rows.zip(places) {
        let along_s_m = step_s * area_m2 / apart_m;
        for lane in 0..L {
            into[lane] = along_s_m * diffusivity[lane];
        }
    }
    for face in lowest.max(1)..=highest {
        let apart_m = apart_m(grid, column, face);
        for lane in 0..L {
            let along_s_m = step_s * areas[face] / apart_m[lane];
            let found_m3 = along_s_m * diffusivity_m2_s[face][lane];
            let is_under = face <= column.top[lane];
            into[face][lane] = if is_under { found_m3 } else { 0.0 };
        }
    }
    into[0] = [0.0; L];
    into[highest + 1..].fill([0.0; L]);
}

/// The solver, with its working memory.
#[derive(Debug, Clone)]
pub struct Diffusion<const L: usize> {
    /// Elimination factors by layer.
    factor: Vec<Lanes<L>>,
    /// Inverse pivots by layer.
    inverse: Vec<Lanes<L>>,
}

impl<const L: usize> Diffusion<L> {
    /// For a number of layers.
    pub fn new(layers: usize) -> Self {
        Diffusion {
            factor: vec![[0.0; L]; layers],
            inverse: vec![[0.0; L]; layers],
        }
    }

    /// Carries `fields` through one step of implicit Euler:
    /// `-a_i x_(i-1) + (V_i + a_i + a_(i+1)) x_i - a_(i+1) x_(i+1) = V_i x_i(old)`, a the conductances.
    ///
    /// Every conductance enters its two layers with opposite sign, so the content is kept; the scheme is stable at
    /// any step. Layers without volume stay as they are. The factors are found once for all fields.
    /// Shapes `[layer][lane]`, conductances `[layers + 1]`.
    pub fn step(
        &mut self,
        volume_m3: &[Lanes<L>],
        conductance_m3: &[Lanes<L>],
        fields: &mut [&mut [Lanes<L>]],
    ) {
        wide(
            #[inline(always)]
            || self.solve(volume_m3, conductance_m3, fields),
        );
    }

    #[inline(always)]
    fn solve(&mut self, volume_m3: &[Lanes<L>], conductance_m3: &[Lanes<L>], fields: &mut [&mut [Lanes<L>]]) {
        let layers = volume_m3.len();
        let mut before = [0.0; L];
        for i in 0..layers {
            let (volume, below, above) = (&volume_m3[i], &conductance_m3[i], &conductance_m3[i + 1]);
            let (inverses, factors) = (&mut self.inverse[i], &mut self.factor[i]);
            for lane in 0..L {
                // A layer without volume keeps what it has.
                let weight = if volume[lane] > 0.0 { volume[lane] } else { 1.0 };
                // The row before has -above/pivot as its factor.
                let inverse = 1.0 / (weight + below[lane] + above[lane] + below[lane] * before[lane]);
                inverses[lane] = inverse;
                before[lane] = -above[lane] * inverse;
                factors[lane] = before[lane];
            }
        }
        // Three at once, as they come: one after the other each would wait for its own last row.
        let mut threes = fields.chunks_exact_mut(3);
        for three in &mut threes {
            if let [a, b, c] = three {
                self.sweep(volume_m3, conductance_m3, [&mut **a, &mut **b, &mut **c]);
            }
        }
        for field in threes.into_remainder() {
            self.sweep(volume_m3, conductance_m3, [&mut **field]);
        }
    }

    /// Down and up through fields side by side, with the factors found.
    #[inline(always)]
    fn sweep<const N: usize>(
        &self,
        volume_m3: &[Lanes<L>],
        conductance_m3: &[Lanes<L>],
        fields: [&mut [Lanes<L>]; N],
    ) {
        let layers = volume_m3.len();
        let mut before = [[0.0; L]; N];
        for i in 0..layers {
            let (volume, below, inverses) = (&volume_m3[i], &conductance_m3[i], &self.inverse[i]);
            let (mut own, mut from_below) = ([0.0; L], [0.0; L]);
            for lane in 0..L {
                let weight = if volume[lane] > 0.0 { volume[lane] } else { 1.0 };
                own[lane] = weight * inverses[lane];
                from_below[lane] = below[lane] * inverses[lane];
            }
            for field in 0..N {
                let (values, mut after) = (&mut fields[field][i], [0.0; L]);
                for lane in 0..L {
                    after[lane] = own[lane] * values[lane] + from_below[lane] * before[field][lane];
                }
                (*values, before[field]) = (after, after);
            }
        }
        for i in (0..layers - 1).rev() {
            let factors = &self.factor[i];
            for field in 0..N {
                let (values, mut after) = (&mut fields[field][i], [0.0; L]);
                for lane in 0..L {
                    after[lane] = values[lane] - factors[lane] * before[field][lane];
                }
                (*values, before[field]) = (after, after);
            }
        }
    }
}
