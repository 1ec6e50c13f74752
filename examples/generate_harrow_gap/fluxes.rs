//! Heat between air and water: the bulk budget used for the lake and for the rivers.

use super::dice::{exp, pow};

/// Density of water times specific heat.
pub const WATER_HEAT_J_M3: f64 = 4.186e6;
/// Latent heat of evaporation per cubic metre of water.
pub const EVAPORATION_J_M3: f64 = 2.46e9;
const STEFAN_BOLTZMANN: f64 = 5.670_374e-8;
const EMISSIVITY: f64 = 0.97;
const AIR_HEAT_J_M3: f64 = 1.17 * 1005.0;
const AIR_LATENT_J_M3: f64 = 1.17 * 2.46e6;
/// Transfer coefficient of heat and vapour at 10 m.
const TRANSFER: f64 = 1.5e-3;

/// The air over the water.
#[derive(Clone, Copy)]
pub struct Air {
    pub temp_degc: f64,
    pub dew_point_degc: f64,
    pub wind_m_s: f64,
    pub cloud_frac: f64,
    pub pressure_hpa: f64,
    pub shortwave_w_m2: f64,
}

/// Vapour pressure of saturation over water (Magnus form of Alduchov and Eskridge 1996), hPa.
pub fn saturation_hpa(temp_degc: f64) -> f64 {
    6.1094 * exp(17.625 * temp_degc / (243.04 + temp_degc))
}

/// Heat through the surface without shortwave (positive into the water), and the latent part (positive
/// out of it), W/m2.
pub fn surface_exchange_w_m2(air: Air, water_degc: f64) -> (f64, f64) {
    let kelvin = air.temp_degc + 273.15;
    let vapour_hpa = saturation_hpa(air.dew_point_degc);
    // Brutsaert (1975) clear-sky emissivity, cloud factor 1 + 0.22 n^2.75.
    let clear = 1.24 * pow(vapour_hpa / kelvin, 1.0 / 7.0);
    let sky = (clear * (1.0 + 0.22 * pow(air.cloud_frac, 2.75))).min(1.0);
    let down = EMISSIVITY * sky * STEFAN_BOLTZMANN * pow(kelvin, 4.0);
    let up = EMISSIVITY * STEFAN_BOLTZMANN * pow(water_degc + 273.15, 4.0);
    let wind_m_s = air.wind_m_s.max(0.7);
    let sensible = AIR_HEAT_J_M3 * TRANSFER * wind_m_s * (water_degc - air.temp_degc);
    let humidity = 0.622 / air.pressure_hpa * (saturation_hpa(water_degc) - vapour_hpa);
    let latent = AIR_LATENT_J_M3 * TRANSFER * wind_m_s * humidity;
    (down - up - sensible - latent, latent)
}
