//! Diffusivity below the surface layer, by how stable the water is.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::grid::Grid;
use super::parameters::{ColumnParameters, Site};
use super::state::{Column, Lanes};
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::mixing::{
    LEAST_N2_PER_S2, MOLECULAR_M2_S, background_of_area, background_of_stability, stability_of_background,
};
use crate::physics::water::water_density_kg_m3;

/// Largest lake whose area goes into the background diffusivity, km2. The published form was fitted to lakes of up to some km2
/// and is far over what the deep water of larger ones shows; held at its edge it keeps its dependence on stability, so that
/// the thermocline stays sharp and the weakly layered water below it mixes more (project choice).
const BACKGROUND_AREA_KM2: f64 = 3.0;

/// Diffusivity of every face of every lane, m2/s, shape `[layers + 1][lane]`:
/// [`background_diffusivity_m2_s`](crate::physics::mixing::background_diffusivity_m2_s) of the lake's area, which counts as 3 km2
/// at most, with the lane's factor, at most its cap and at least molecular; under ice molecular, as no wind
/// keeps the water moving there. `density_kg_m3` has shape `[layer][lane]`.
#[inline(always)]
pub fn diffusivity_m2_s<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    density_kg_m3: &[Lanes<L>],
    (parameters, site): (&[ColumnParameters; L], Site),
    into: &mut [Lanes<L>],
) {
    let area_factor = background_of_area(site.lake_area_km2.min(BACKGROUND_AREA_KM2));
    let (factor, cap_m2_s): (Lanes<L>, Lanes<L>) = (
        std::array::from_fn(|lane| parameters[lane].background_frac),
        std::array::from_fn(|lane| {
            let is_open = column.ice_m3[lane] <= 0.0;
            if is_open {
                parameters[lane].background_cap_m2_s
            } else {
                0.0
            }
        }),
    );
    // Stability under which the cap holds for certain, so that rows under it need no power.
    let capped_per_s2: Lanes<L> = std::array::from_fn(|lane| {
        let ratio = factor[lane] * area_factor / cap_m2_s[lane];
        if cap_m2_s[lane] >= MOLECULAR_M2_S {
            0.999 * stability_of_background(ratio)
        } else {
            f64::INFINITY
        }
    });
    let highest = column.top.iter().max().copied().unwrap_or(0);
    for face in 1..=highest {
        let apart_m = apart_m(grid, column, face);
        let (upper, lower) = (&density_kg_m3[face], &density_kg_m3[face - 1]);
        let into = &mut into[face];
        let mut n2_per_s2 = [0.0; L];
        let mut is_capped = true;
        for lane in 0..L {
            n2_per_s2[lane] = GRAVITY_M_S2 * (lower[lane] - upper[lane]) / (lower[lane] * apart_m[lane]);
            is_capped &= n2_per_s2[lane].max(LEAST_N2_PER_S2) < capped_per_s2[lane];
        }
        for lane in 0..L {
            into[lane] = cap_m2_s[lane].max(MOLECULAR_M2_S);
        }
        if is_capped {
            continue;
        }
        for lane in 0..L {
            let found =
                factor[lane] * (area_factor * background_of_stability(n2_per_s2[lane])).max(MOLECULAR_M2_S);
            into[lane] = found.min(cap_m2_s[lane]).max(MOLECULAR_M2_S);
        }
    }
}

/// Distance of the middles of the layers over and under a face, m; where the face is above the surface, that of full
/// layers.
#[inline(always)]
pub(super) fn apart_m<const L: usize>(grid: &Grid, column: &Column<L>, face: usize) -> Lanes<L> {
    let faces = grid.face_elevation_m();
    let full_m = 0.5 * (faces[face + 1] - faces[face - 1]);
    let mut apart_m = [full_m; L];
    if !column.top.contains(&face) {
        return apart_m;
    }
    for lane in 0..L {
        if face == column.top[lane] {
            apart_m[lane] = 0.5 * (column.surface_elevation_m[lane] - faces[face - 1]);
        }
    }
    apart_m
}

/// Density of every layer, kg/m3, shape `[layer][lane]`.
#[inline(always)]
pub fn densities_kg_m3<const L: usize>(column: &Column<L>, into: &mut [Lanes<L>]) {
    for (row, temps) in into.iter_mut().zip(&column.temp_degc) {
        for (density, temp) in row.iter_mut().zip(temps) {
            *density = water_density_kg_m3(*temp);
        }
    }
}
