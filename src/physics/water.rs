//! Fresh water: density, the temperature at which it is greatest, heat, viscosity.

use super::constants::{GRAVITY_M_S2, PA_PER_BAR, ZERO_DEGC_K};

/// Temperature of greatest density at 1 atm: 3.98 degC (`temp_max_density` of the TEOS-10 library
/// gsw 3.6.23 gives 3.979; Tanaka et al. 2001 give 3.983).
pub const MAX_DENSITY_TEMP_DEGC: f64 = 3.98;

/// Density of pure water at 1 atm.
///
/// ```text
/// rho = 999.842594 + 6.793952e-2 T - 9.095290e-3 T^2 + 1.001685e-4 T^3 - 1.120083e-6 T^4 + 6.536332e-9 T^5
/// ```
///
/// T = `temp_degc`; rho in kg/m3. Valid for 0-40 degC, within 0.002 kg/m3 of IAPWS-95 over 0-30 degC;
/// outside, the polynomial runs on and is not to be trusted. Salt and suspended matter are left out.
/// Source: EOS-80, Millero & Poisson 1981; UNESCO Technical Paper 44 (Fofonoff & Millard 1983), whose
/// temperatures are IPTS-68 (at most 0.01 degC from today's scale; we do not convert).
///
/// ```
/// # use plungeline::physics::water::water_density_kg_m3;
/// // UNESCO Technical Paper 44, check value at 5 degC: 999.96675
/// assert!((water_density_kg_m3(5.0) - 999.96675).abs() < 1e-4);
/// ```
#[inline(always)]
pub fn water_density_kg_m3(temp_degc: f64) -> f64 {
    let t = temp_degc;
    let t2 = t * t;
    // Estrin's grouping: short chains.
    let high = (1.001685e-4 * t - 9.095290e-3) + t2 * (6.536332e-9 * t - 1.120083e-6);
    (999.842594 + 6.793952e-2 * t) + t2 * high
}

/// Density of water with dissolved solids at 1 atm.
///
/// ```text
/// rho = rho_w(T) + S (0.824493 - 4.0899e-3 T + 7.6438e-5 T^2 - 8.2467e-7 T^3 + 5.3875e-9 T^4)
///                + S^1.5 (-5.72466e-3 + 1.0227e-4 T - 1.6546e-6 T^2) + 4.8314e-4 S^2
/// ```
///
/// S = `solids_g_kg`, g of dissolved solids in a kg of water, 0-42; T = `temp_degc`, 0-40 degC; rho in kg/m3. Made
/// for sea salt; the salts of a lake differ by a few per cent of the excess (Chen & Millero 1986).
/// Source: EOS-80, Millero & Poisson 1981; UNESCO Technical Paper 44 (coefficients from memory, held to P1-RHO-S).
pub fn salt_water_density_kg_m3(temp_degc: f64, solids_g_kg: f64) -> f64 {
    let (t, s) = (temp_degc, solids_g_kg);
    let first = 0.824493 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)));
    let second = -5.72466e-3 + t * (1.0227e-4 - t * 1.6546e-6);
    water_density_kg_m3(t) + s * first + s * s.sqrt() * second + 4.8314e-4 * s * s
}

/// Dissolved solids from specific conductance: `S = 5.572e-4 SC + 2.02e-9 SC^2`.
///
/// SC = `conductance_us_cm`, in uS/cm at 25 degC; S in g/kg. A mean over natural fresh waters.
/// Source: relation in use at the USGS (from memory, held to P1-SC).
pub fn solids_from_conductance_g_kg(conductance_us_cm: f64) -> f64 {
    5.572e-4 * conductance_us_cm + 2.02e-9 * conductance_us_cm * conductance_us_cm
}

/// Temperature of greatest density below `depth_m` of water: `3.9839 - 1.9911e-2 p - 5.822e-6 p^2`.
///
/// p = pressure of the water above in bar, `rho g z` with 1000 kg/m3; degC. For fresh water to some 100 m.
/// Source: Chen & Millero 1986. Stability is judged at atmospheric pressure all the same, so that one density
/// holds for the whole column.
pub fn max_density_temp_degc(depth_m: f64) -> f64 {
    let pressure_bar = 1000.0 * GRAVITY_M_S2 * depth_m / PA_PER_BAR;
    3.9839 - 1.9911e-2 * pressure_bar - 5.822e-6 * pressure_bar * pressure_bar
}

/// Thermal expansivity, `alpha = -(1/rho) d rho/dT`, by differentiating [`water_density_kg_m3`].
///
/// 1/K; negative under the temperature of greatest density. 0-40 degC. Source: as of the density.
pub fn water_expansivity_per_k(temp_degc: f64) -> f64 {
    let t = temp_degc;
    let slope = 6.793952e-2
        + t * (-2.0 * 9.095290e-3
            + t * (3.0 * 1.001685e-4 + t * (-4.0 * 1.120083e-6 + t * 5.0 * 6.536332e-9)));
    -slope / water_density_kg_m3(t)
}

/// Specific heat at constant pressure, 1 atm.
///
/// ```text
/// cp = 4219.427 - 3.43502 T + 0.1241635 T^2 - 2.685762e-3 T^3 + 3.681138e-5 T^4 - 2.308661e-7 T^5
/// ```
///
/// T = `temp_degc`; J/(kg K). Fitted here to IAPWS-95 (iapws 1.5.5) at every half degree of 0-40 degC; largest
/// difference 0.02 J/(kg K). Heat budgets use one constant product instead, [`HEAT_CAPACITY_J_M3_K`].
pub fn water_specific_heat_j_kg_k(temp_degc: f64) -> f64 {
    let t = temp_degc;
    4219.427 + t * (-3.43502 + t * (0.1241635 + t * (-2.685762e-3 + t * (3.681138e-5 - t * 2.308661e-7))))
}

/// Heat that a cubic metre takes up for a kelvin, one constant for all budgets, so that they close: density
/// and specific heat at 15 degC, 999.1 kg/m3 x 4188.5 J/(kg K). Within 0.9 % of the true product over 0-30 degC.
pub const HEAT_CAPACITY_J_M3_K: f64 = 999.1 * 4188.5;

/// Latent heat of vaporisation: `Lv = 2.501e6 - 2361 T`.
///
/// T = `temp_degc`, 0-40 degC; J/kg, within 0.02 % of IAPWS. Source: Harrison 1963, as in FAO-56.
pub fn vaporisation_heat_j_kg(temp_degc: f64) -> f64 {
    2.501e6 - 2361.0 * temp_degc
}

/// Latent heat of fusion at 0 degC, J/kg (TEOS-10 library gsw 3.6.23: 333.4 kJ/kg).
pub const FUSION_HEAT_J_KG: f64 = 333.4e3;

/// Dynamic viscosity at 1 atm.
///
/// ```text
/// mu = 1e-6 (280.68 x^-1.9 + 511.45 x^-7.7 + 61.131 x^-19.6 + 0.45903 x^-40),  x = T_K / 300
/// ```
///
/// T_K in kelvin, -20 to 110 degC; Pa s. Source: IAPWS 2008, its simplified form for 0.1 MPa (coefficients from
/// memory, held to P1-MU-*).
pub fn water_viscosity_pa_s(temp_degc: f64) -> f64 {
    let x = (temp_degc + ZERO_DEGC_K) / 300.0;
    1e-6 * (280.68 * x.powf(-1.9) + 511.45 * x.powf(-7.7) + 61.131 * x.powf(-19.6) + 0.45903 * x.powf(-40.0))
}
