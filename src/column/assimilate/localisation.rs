//! How far an observation reaches: in depth, and from column to column.

use crate::column::layered::Column;
use crate::column::layered::Grid;
use crate::math::ensemble::localisation_weight;
use crate::physics::water::water_density_kg_m3;

/// A surface layer ends where the water is this much denser than at the surface, kg/m3 (Woolway et al. 2021, from memory).
const MIXED_KG_M3: f64 = 0.1;

/// Weights of observations by distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Localisation {
    /// Half-width in depth, m: an observation reaches twice as far. Depth within the surface layer counts nothing, because
    /// the wind mixes that layer as one: a surface reading corrects all of it, and what lies below by the distance to its
    /// base (project choice).
    pub depth_m: f64,
    /// Weight from column to column, 1 with itself, shape `[place][place]`.
    pub place_weight: Vec<Vec<f64>>,
}

impl Localisation {
    /// A lake of one column.
    pub fn of_one(depth_m: f64) -> Self {
        Localisation {
            depth_m,
            place_weight: vec![vec![1.0]],
        }
    }

    /// Several columns, from the way through the water between their middles, m, shape `[place][place]`, and the half-width
    /// along it, m.
    pub fn of_places(depth_m: f64, apart_m: &[Vec<f64>], half_width_m: f64) -> Self {
        let weights = |row: &Vec<f64>| {
            row.iter()
                .map(|m| localisation_weight(m / half_width_m))
                .collect()
        };
        Localisation {
            depth_m,
            place_weight: apart_m.iter().map(weights).collect(),
        }
    }

    /// Lets nothing reach the places that are not open.
    pub fn cut_off(&mut self, open: &[bool]) {
        for row in &mut self.place_weight {
            for (weight, _) in row.iter_mut().zip(open).filter(|(_, open)| !**open) {
                *weight = 0.0;
            }
        }
    }

    /// Whether the table is square, one row a place, and every weight from 0 to 1.
    pub(super) fn fits(&self, places: usize) -> bool {
        let row_fits = |row: &Vec<f64>| row.len() == places && row.iter().all(|w| (0.0..=1.0).contains(w));
        self.place_weight.len() == places && self.place_weight.iter().all(row_fits) && self.depth_m > 0.0
    }

    /// Weight between two depths, each in a column with a surface layer of its own, m: `(depth, surface layer)`.
    pub(super) fn depth_weight(&self, at: (f64, f64), from: (f64, f64)) -> f64 {
        let below_m = |(depth_m, mixed_m): (f64, f64)| (depth_m - mixed_m).max(0.0);
        localisation_weight((below_m(at) - below_m(from)) / self.depth_m)
    }
}

/// Depth of the surface layer of a lane, m: down to the first face under which the water is 0.1 kg/m3 denser than at the
/// surface; to the bed where there is none.
pub fn mixed_depth_m<const L: usize>(grid: &Grid, column: &Column<L>, lane: usize) -> f64 {
    let top = column.top[lane];
    let surface = water_density_kg_m3(column.temp_degc[top][lane]);
    let denser = |layer: &usize| water_density_kg_m3(column.temp_degc[*layer][lane]) - surface >= MIXED_KG_M3;
    let face = (0..top).rev().find(denser).map_or(0, |layer| layer + 1);
    column.surface_elevation_m[lane] - grid.face_elevation_m()[face]
}
