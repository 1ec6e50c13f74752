//! Diffusivity below the surface layer, by how stable the water is.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::grid::Grid;
use super::parameters::{ColumnParameters, Site};
use super::state::{Column, Lanes};
use crate::math::fast;
use crate::math::powers::MINUS_0_43;
use crate::physics::constants::GRAVITY_M_S2;
use crate::physics::mixing::{LEAST_N2_PER_S2, MOLECULAR_M2_S, background_of_area};
use crate::physics::water::water_density_kg_m3;

/// Largest lake whose area goes into the background diffusivity, km2. The published form was fitted to lakes of up to some km2
/// and is far over what the deep water of larger ones shows; held at its edge it keeps its dependence on stability, so that
/// the thermocline stays sharp and the weakly layered water below it mixes more (project choice).
const BACKGROUND_AREA_KM2: f64 = 3.0;

/// Stability of every face of every lane, N2 in 1/s2, shape `[layers + 1][lane]`: `g drho / (rho dz)`, dz from middle to middle.
/// Of faces above the surface it says nothing. `density_kg_m3` has shape `[layer][lane]`.
#[inline(always)]
pub fn stability_per_s2<const L: usize>(
    grid: &Grid,
    column: &Column<L>,
    density_kg_m3: &[Lanes<L>],
    into: &mut [Lanes<L>],
) {
    let (lowest, highest) = column.tops();
    let find = |apart_m: f64, (upper, lower): (f64, f64)| GRAVITY_M_S2 * (lower - upper) / (lower * apart_m);
    let inner = 1..lowest.max(1);
    let pairs = density_kg_m3[inner.clone()].iter().zip(density_kg_m3);
    let rows = into[inner.clone()].iter_mut().zip(&grid.face_apart_m()[inner]);
    for ((into, apart_m), (upper, lower)) in rows.zip(pairs) {
        for lane in 0..L {
            into[lane] = find(*apart_m, (upper[lane], lower[lane]));
        }
    }
    for face in lowest.max(1)..=highest {
        let apart_m = apart_m(grid, column, face);
        for lane in 0..L {
            let pair = (density_kg_m3[face][lane], density_kg_m3[face - 1][lane]);
            into[face][lane] = find(apart_m[lane], pair);
        }
    }
}

/// Diffusivity of every face of every lane, m2/s, shape `[layers + 1][lane]`:
/// [`background_diffusivity_m2_s`](crate::physics::mixing::background_diffusivity_m2_s) of the lake's area, which counts as 3 km2
/// at most, with the lane's factor, at most its cap and at least molecular; under ice molecular, as no wind
/// keeps the water moving there. `n2_per_s2` of [`stability_per_s2`].
#[inline(always)]
pub fn diffusivity_m2_s<const L: usize>(
    column: &Column<L>,
    n2_per_s2: &[Lanes<L>],
    (parameters, site): (&[ColumnParameters; L], Site),
    into: &mut [Lanes<L>],
) {
    let area_factor = background_of_area(site.lake_area_km2.min(BACKGROUND_AREA_KM2));
    let (mut factor, mut cap_m2_s) = ([0.0; L], [0.0; L]);
    for lane in 0..L {
        factor[lane] = parameters[lane].background_frac;
        let is_open = column.ice_m3[lane] <= 0.0;
        let cap = if is_open {
            parameters[lane].background_cap_m2_s
        } else {
            0.0
        };
        cap_m2_s[lane] = cap.max(MOLECULAR_M2_S);
    }
    let from_power = |power: &Lanes<L>| {
        let mut found = [0.0; L];
        for lane in 0..L {
            let background = factor[lane] * fast::higher(area_factor * power[lane], MOLECULAR_M2_S);
            found[lane] = fast::higher(fast::lower(background, cap_m2_s[lane]), MOLECULAR_M2_S);
        }
        found
    };
    let (_, highest) = column.tops();
    let rows = 1..highest + 1;
    // All values in one row, however many lanes they are of.
    let (n2_per_s2, powers) = (&n2_per_s2[rows.clone()], &mut into[rows.clone()]);
    MINUS_0_43.of_all(
        n2_per_s2.as_flattened(),
        LEAST_N2_PER_S2,
        powers.as_flattened_mut(),
    );
    for row in &mut into[rows] {
        *row = from_power(row);
    }
}

/// Distance of the middles of the layers over and under a face, m; where the face is above the surface, that of full
/// layers.
#[inline(always)]
pub(super) fn apart_m<const L: usize>(grid: &Grid, column: &Column<L>, face: usize) -> Lanes<L> {
    let faces = grid.face_elevation_m();
    let mut apart_m = [grid.face_apart_m()[face]; L];
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
    densities_of_kg_m3(&column.temp_degc, into);
}

/// Density of layers of a temperature, kg/m3, shapes `[layer][lane]`.
#[inline(always)]
pub(super) fn densities_of_kg_m3<const L: usize>(temp_degc: &[Lanes<L>], into: &mut [Lanes<L>]) {
    for (row, temps) in into.iter_mut().zip(temp_degc) {
        for lane in 0..L {
            row[lane] = water_density_kg_m3(temps[lane]);
        }
    }
}
