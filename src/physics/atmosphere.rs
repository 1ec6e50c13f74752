//! Air over the lake: pressure, vapour, density, wind by height.

use super::constants::{DRY_AIR_J_KG_K, STANDARD_ATMOSPHERE_PA, WATER_TO_AIR_MASS, ZERO_DEGC_K};
use crate::math::fast;

/// Pressure of the standard atmosphere at a height: `101325 (1 - 2.25577e-5 z)^5.25588`.
///
/// z = `elevation_m`, -500 to 11 000 m above sea level; Pa. Weather moves the true one by about 2 %.
/// Source: ISO 2533 (International Standard Atmosphere).
pub fn standard_pressure_pa(elevation_m: f64) -> f64 {
    STANDARD_ATMOSPHERE_PA * (1.0 - 2.25577e-5 * elevation_m).powf(5.25588)
}

/// Pressure at a height as in FAO-56, its equation 7: `101.3 ((293 - 0.0065 z)/293)^5.26` kPa.
///
/// z = `elevation_m`; Pa. For what follows FAO-56; elsewhere [`standard_pressure_pa`].
pub fn fao_pressure_pa(elevation_m: f64) -> f64 {
    101_300.0 * ((293.0 - 0.0065 * elevation_m) / 293.0).powf(5.26)
}

/// Saturation vapour pressure over fresh water: `0.6108 exp(17.27 T/(T + 237.3))` kPa.
///
/// T = `temp_degc`, -20 to 50 degC; Pa. Source: Tetens 1930, as in FAO-56, equation 11. The 2 % that codes of the
/// sea take off for salt do not belong here.
pub fn saturation_vapour_pressure_pa(temp_degc: f64) -> f64 {
    610.8 * fast::exp(17.27 * temp_degc / (temp_degc + 237.3))
}

/// Slope of [`saturation_vapour_pressure_pa`]: `4098 e / (T + 237.3)^2`, Pa/K. Source: FAO-56, equation 13.
pub fn saturation_slope_pa_k(temp_degc: f64) -> f64 {
    4098.0 * saturation_vapour_pressure_pa(temp_degc) / (temp_degc + 237.3).powi(2)
}

/// Psychrometric constant: `0.665e-3 P`, Pa/K. P = `pressure_pa`. Source: FAO-56, equation 8.
pub fn psychrometric_constant_pa_k(pressure_pa: f64) -> f64 {
    0.665e-3 * pressure_pa
}

/// Vapour pressure from a ventilated psychrometer: `e(T_wet) - 0.000662 P (T_dry - T_wet)`, Pa.
///
/// Source: FAO-56, equations 15 and 16.
pub fn psychrometer_vapour_pressure_pa(dry_degc: f64, wet_degc: f64, pressure_pa: f64) -> f64 {
    saturation_vapour_pressure_pa(wet_degc) - 0.000662 * pressure_pa * (dry_degc - wet_degc)
}

/// Specific humidity: `q = 0.622 e / (P - 0.378 e)`, kg of vapour in a kg of moist air.
pub fn specific_humidity_kg_kg(vapour_pressure_pa: f64, pressure_pa: f64) -> f64 {
    WATER_TO_AIR_MASS * vapour_pressure_pa / (pressure_pa - (1.0 - WATER_TO_AIR_MASS) * vapour_pressure_pa)
}

/// Density of moist air: `P / (R T_K (1 + 0.61 q))`, kg/m3.
pub fn air_density_kg_m3(temp_degc: f64, humidity_kg_kg: f64, pressure_pa: f64) -> f64 {
    pressure_pa / (DRY_AIR_J_KG_K * (temp_degc + ZERO_DEGC_K) * (1.0 + 0.61 * humidity_kg_kg))
}

/// Factor that brings a wind from one height to another by the logarithmic law: `ln(z2/z0) / ln(z1/z0)`.
///
/// `from_m`, `to_m` and the roughness length `roughness_m` (2e-4 m over water, 0.03 m over grass) above the same
/// ground, both heights above the roughness. Neutral air.
pub fn wind_height_factor(from_m: f64, to_m: f64, roughness_m: f64) -> f64 {
    (to_m / roughness_m).ln() / (from_m / roughness_m).ln()
}

/// Wind at 2 m over grass from one at `height_m`: `4.87 U / ln(67.8 z - 5.42)`. Source: FAO-56, equation 47.
pub fn fao_wind_2m_m_s(wind_speed_m_s: f64, height_m: f64) -> f64 {
    wind_speed_m_s * 4.87 / (67.8 * height_m - 5.42).ln()
}
