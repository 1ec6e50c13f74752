//! Diffusivity below the surface layer, by how stable the water is.

use super::grid::Grid;
use super::parameters::{ColumnParameters, Site};
use super::state::{Column, Lanes};
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::mixing::{MOLECULAR_M2_S, background_diffusivity_m2_s};
use crate::physics::water::water_density_kg_m3;

/// Largest lake whose area goes into the background diffusivity, km2. The published form was fitted to lakes of up to some km2
/// and is far over what the deep water of larger ones shows; held at its edge it keeps its dependence on stability, so that
/// the thermocline stays sharp and the weakly layered water below it mixes more (project choice).
const BACKGROUND_AREA_KM2: f64 = 4.0;

/// Diffusivity of every face of every lane, m2/s, shape `[layers + 1][lane]`: [`background_diffusivity_m2_s`] of the
/// lake's area, which counts as 4 km2 at most, with the lane's factor, at most its cap and at least molecular. `density_kg_m3` has shape `[layer][lane]`.
pub fn diffusivity_m2_s<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    density_kg_m3: &[Lanes<L>],
    (parameters, site): (&[ColumnParameters; L], Site),
    into: &mut [Lanes<L>],
) {
    let area_km2 = site.lake_area_km2.min(BACKGROUND_AREA_KM2);
    for face in 1..grid.layers() {
        for lane in 0..L {
            if face > column.top[lane] {
                continue;
            }
            let apart_m = column.middle_m(grid, face, lane) - column.middle_m(grid, face - 1, lane);
            let (upper, lower) = (density_kg_m3[face][lane], density_kg_m3[face - 1][lane]);
            let n2_per_s2 = GRAVITY_M_S2 / lower * (lower - upper) / apart_m;
            let own = &parameters[lane];
            into[face][lane] = (own.background_frac * background_diffusivity_m2_s(area_km2, n2_per_s2))
                .min(own.background_cap_m2_s)
                .max(MOLECULAR_M2_S);
        }
    }
}

/// Density of every layer, kg/m3, shape `[layer][lane]`.
pub fn densities_kg_m3<const L: usize>(column: &Column<L>, into: &mut [Lanes<L>]) {
    for (row, temps) in into.iter_mut().zip(&column.temp_degc) {
        for (density, temp) in row.iter_mut().zip(temps) {
            *density = water_density_kg_m3(*temp);
        }
    }
}
