//! What mixes a column of water and what keeps it apart: buoyancy flux, background diffusion, convective adjustment,
//! the work of mixing, withdrawal at an outlet, ice.

use super::constants::{GRAVITY_M_S2, VON_KARMAN};
use super::water::{FUSION_HEAT_J_KG, HEAT_CAPACITY_J_M3_K, water_density_kg_m3, water_expansivity_per_k};
use crate::math::fast;
use crate::math::powers::MINUS_0_43;

/// Diffusivity of heat in still water, m2/s: the least there is.
pub const MOLECULAR_M2_S: f64 = 1.4e-7;
/// Least N2 in the formula of the background, 1/s2 (Hondzo & Stefan 1993).
pub const LEAST_N2_PER_S2: f64 = 7.5e-5;
/// Density of ice, kg/m3.
pub const ICE_KG_M3: f64 = 917.0;
/// Conductivity of ice, W/(m K).
pub const ICE_W_M_K: f64 = 2.24;

/// Buoyancy flux of a heat flux through the surface: `B = g alpha H / (rho cp)`, m2/s3; positive where H warms water
/// over 3.98 degC. H = `heat_w_m2`.
pub fn buoyancy_flux_m2_s3(heat_w_m2: f64, temp_degc: f64) -> f64 {
    GRAVITY_M_S2 * water_expansivity_per_k(temp_degc) * heat_w_m2 / HEAT_CAPACITY_J_M3_K
}

/// Monin-Obukhov length in water under warming: `L = u*^3 / (k B)`, m: how deep the wind can mix against the heat.
/// `None` where the flux does not steady the water.
pub fn monin_obukhov_m(water_friction_m_s: f64, buoyancy_flux_m2_s3: f64) -> Option<f64> {
    (buoyancy_flux_m2_s3 > 0.0).then(|| water_friction_m_s.powi(3) / (VON_KARMAN * buoyancy_flux_m2_s3))
}

/// Background diffusivity below the mixed layer: `K = 8.17e-8 A^0.56 N2^-0.43`, m2/s.
///
/// A = `area_km2` of the whole lake; N2 at least 7.5e-5 1/s2; never under the molecular one.
/// Source: Hondzo & Stefan 1993.
#[inline]
pub fn background_diffusivity_m2_s(area_km2: f64, n2_per_s2: f64) -> f64 {
    (background_of_area(area_km2) * background_of_stability(n2_per_s2)).max(MOLECULAR_M2_S)
}

/// What the area of the lake gives to [`background_diffusivity_m2_s`]: `8.17e-8 A^0.56`.
pub fn background_of_area(area_km2: f64) -> f64 {
    8.17e-8 * area_km2.powf(0.56)
}

/// What the stability gives to [`background_diffusivity_m2_s`]: `N2^-0.43`, relative error under 2e-10 ([`MINUS_0_43`]).
#[inline(always)]
pub fn background_of_stability(n2_per_s2: f64) -> f64 {
    MINUS_0_43.of(n2_per_s2.max(LEAST_N2_PER_S2))
}

/// Share of the wind's power that reaches a small lake: `1 - exp(-0.3 A)`, A = `area_km2`.
/// Source: form of Hondzo & Stefan 1993 (from memory).
pub fn sheltering_frac(area_km2: f64) -> f64 {
    1.0 - (-0.3 * area_km2).exp()
}

/// Makes a column stable: from the surface down, layers denser than the next one below are mixed with it by volume,
/// and the pool goes on mixing upward and downward until no density falls with depth. Exact in heat; densities are
/// reckoned anew, so that water under 3.98 degC is right. Volumes in m3, surface first; both lists are of one length.
/// Source: pool of adjacent violators (Ayer et al. 1955).
pub fn convective_adjustment(volume_m3: &[f64], temp_degc: &mut [f64]) {
    // Pools: volume, temperature, and how many layers.
    let mut pools: Vec<(f64, f64, usize)> = Vec::with_capacity(temp_degc.len());
    for (volume, temp) in volume_m3.iter().zip(temp_degc.iter()) {
        let mut pool = (*volume, *temp, 1);
        while let Some(above) = pools.last().copied() {
            if water_density_kg_m3(above.1) <= water_density_kg_m3(pool.1) {
                break;
            }
            pools.pop();
            let volume = above.0 + pool.0;
            let temp = if volume > 0.0 {
                (above.0 * above.1 + pool.0 * pool.1) / volume
            } else {
                pool.1
            };
            pool = (volume, temp, above.2 + pool.2);
        }
        pools.push(pool);
    }
    let mixed = pools
        .into_iter()
        .flat_map(|(_, temp, count)| std::iter::repeat_n(temp, count));
    for (held, temp) in temp_degc.iter_mut().zip(mixed) {
        *held = temp;
    }
}

/// A layer that is to be mixed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixedLayer {
    /// Volume, m3.
    pub volume_m3: f64,
    /// Elevation of its middle, m.
    pub elevation_m: f64,
    /// Temperature, degC.
    pub temp_degc: f64,
}

/// Work that mixing layers whole takes: `g sum V (rho_after - rho_before) z`, J; by true densities, so that it holds
/// what water gains in density when it is mixed. Negative where mixing sets energy free. `None` of no water.
pub fn mixing_work_j(layers: &[MixedLayer]) -> Option<f64> {
    let volume_m3: f64 = layers.iter().map(|l| l.volume_m3).sum();
    if volume_m3 <= 0.0 {
        return None;
    }
    let mean_degc = layers.iter().map(|l| l.volume_m3 * l.temp_degc).sum::<f64>() / volume_m3;
    let after = water_density_kg_m3(mean_degc);
    let moment: f64 = layers
        .iter()
        .map(|l| l.volume_m3 * (after - water_density_kg_m3(l.temp_degc)) * l.elevation_m)
        .sum();
    Some(GRAVITY_M_S2 * moment)
}

/// Height of the layer that an outlet draws from, to one side, where density changes by `density_step_kg_m3` over it:
/// `Z = (Q pi/theta / sqrt(g drho/rho))^(2/5)`, m.
///
/// Q = `flow_m3s`, theta = `angle_rad` of withdrawal, pi on a free face. Source: form of Bohan & Grace 1973.
#[inline]
pub fn withdrawal_height_m(flow_m3s: f64, density_step_kg_m3: f64, angle_rad: f64) -> f64 {
    let pull = (GRAVITY_M_S2 * density_step_kg_m3 / 1000.0).sqrt();
    fast::powf(flow_m3s * std::f64::consts::PI / (angle_rad * pull), 0.4)
}

/// Weight of the velocity at a distance y from an outlet's level within its layer of height Z: `(1 - y drho_y / (Z drho_Z))^2`,
/// the quotient being `share_frac`; 0 beyond. Source: Bohan & Grace 1973.
#[inline(always)]
pub fn withdrawal_weight(share_frac: f64) -> f64 {
    let left = (1.0 - share_frac).max(0.0);
    left * left
}

/// Thickness of ice after frost, bare ice: `sqrt(h0^2 + 2 k/(rho L) S)`, m.
///
/// S = `frost_degc_s`, degrees below zero times seconds. Snow and wind make it 0.5-0.8 of this. Source: Stefan 1891.
pub fn ice_thickness_m(start_m: f64, frost_degc_s: f64) -> f64 {
    (start_m * start_m + 2.0 * ICE_W_M_K / (ICE_KG_M3 * FUSION_HEAT_J_KG) * frost_degc_s).sqrt()
}
