//! Vertical diffusion, implicit in time: all lanes and all that is carried in one pass.

use super::grid::Grid;
use super::state::{Column, Lanes};

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
    into.fill([0.0; L]);
    let areas = grid.face_area_m2();
    for face in 1..grid.layers() {
        for lane in 0..L {
            if face <= column.top[lane] {
                let apart_m = column.middle_m(grid, face, lane) - column.middle_m(grid, face - 1, lane);
                into[face][lane] = step_s * areas[face] * diffusivity_m2_s[face][lane] / apart_m;
            }
        }
    }
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
        let layers = volume_m3.len();
        for i in 0..layers {
            let (below, above) = (conductance_m3[i], conductance_m3[i + 1]);
            for lane in 0..L {
                let volume = volume_m3[i][lane];
                let before = if i == 0 { 0.0 } else { self.factor[i - 1][lane] };
                let diagonal = if volume > 0.0 {
                    volume + below[lane] + above[lane]
                } else {
                    1.0
                };
                // The row before has -above/pivot as its factor.
                let inverse = 1.0 / (diagonal + below[lane] * before);
                self.inverse[i][lane] = inverse;
                self.factor[i][lane] = -above[lane] * inverse;
            }
        }
        for field in fields.iter_mut() {
            for i in 0..layers {
                for lane in 0..L {
                    let weight = if volume_m3[i][lane] > 0.0 {
                        volume_m3[i][lane]
                    } else {
                        1.0
                    };
                    let before = if i == 0 {
                        0.0
                    } else {
                        conductance_m3[i][lane] * field[i - 1][lane]
                    };
                    field[i][lane] = (weight * field[i][lane] + before) * self.inverse[i][lane];
                }
            }
            for i in (0..layers - 1).rev() {
                for lane in 0..L {
                    field[i][lane] -= self.factor[i][lane] * field[i + 1][lane];
                }
            }
        }
    }
}
