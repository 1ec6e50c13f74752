//! Longwave radiation of the sky and of the water.

use super::constants::{STEFAN_BOLTZMANN_W_M2_K4, WATER_EMISSIVITY, ZERO_DEGC_K};
use crate::units::PA_PER_HPA;

/// Formula of the emissivity of a clear sky.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClearSky {
    /// `0.52 + 0.065 sqrt(e)`. Brunt 1932.
    Brunt,
    /// `1.24 (e/T)^(1/7)`. Brutsaert 1975.
    Brutsaert,
    /// `9.365e-6 T^2`. Swinbank 1963.
    Swinbank,
    /// `1 - (1 + w) exp(-sqrt(1.2 + 3 w))`, `w = 46.5 e/T`. Prata 1996.
    Prata,
    /// `La = 59.38 + 113.7 (T/273.16)^6 + 96.96 sqrt(w/2.5)`. Dilley & O'Brien 1998.
    Dilley,
}

/// Formula of what cloud adds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CloudSky {
    /// `c + (1 - c) eps`, c the share of the clear sky's sunlight that is missing. Crawford & Duchon 1999.
    CrawfordDuchon,
    /// `(1 - 0.84 c) eps + 0.84 c`, c the cloud fraction. Unsworth & Monteith 1975.
    UnsworthMonteith,
}

/// Emissivity of a clear sky; e = `vapour_pressure_pa` in hPa and T = `air_temp_degc` in K, both near the ground.
/// The formulas differ by 10-25 W/m2, about 1 degC of surface temperature.
pub fn clear_sky_emissivity(form: ClearSky, air_temp_degc: f64, vapour_pressure_pa: f64) -> f64 {
    let kelvin = air_temp_degc + ZERO_DEGC_K;
    let e = vapour_pressure_pa / PA_PER_HPA;
    let w = 46.5 * e / kelvin;
    match form {
        ClearSky::Brunt => 0.52 + 0.065 * e.sqrt(),
        ClearSky::Brutsaert => 1.24 * (e / kelvin).powf(1.0 / 7.0),
        ClearSky::Swinbank => 9.365e-6 * kelvin * kelvin,
        ClearSky::Prata => 1.0 - (1.0 + w) * (-(1.2 + 3.0 * w).sqrt()).exp(),
        ClearSky::Dilley => {
            let flux = 59.38 + 113.7 * (kelvin / 273.16).powi(6) + 96.96 * (w / 2.5).sqrt();
            flux / (STEFAN_BOLTZMANN_W_M2_K4 * kelvin.powi(4))
        }
    }
}

/// Emissivity of a sky with cloud, from that of the clear one.
pub fn cloudy_emissivity(form: CloudSky, clear_emissivity: f64, cloud_frac: f64) -> f64 {
    match form {
        CloudSky::CrawfordDuchon => cloud_frac + (1.0 - cloud_frac) * clear_emissivity,
        CloudSky::UnsworthMonteith => (1.0 - 0.84 * cloud_frac) * clear_emissivity + 0.84 * cloud_frac,
    }
}

/// Longwave radiation that a sky of an emissivity sends down: `eps sigma T^4`, W/m2.
pub fn sky_longwave_w_m2(emissivity: f64, air_temp_degc: f64) -> f64 {
    emissivity * STEFAN_BOLTZMANN_W_M2_K4 * (air_temp_degc + ZERO_DEGC_K).powi(4)
}

/// Longwave radiation that water sends up: `0.97 sigma T^4`, W/m2.
pub fn water_longwave_w_m2(water_temp_degc: f64) -> f64 {
    WATER_EMISSIVITY * STEFAN_BOLTZMANN_W_M2_K4 * (water_temp_degc + ZERO_DEGC_K).powi(4)
}
