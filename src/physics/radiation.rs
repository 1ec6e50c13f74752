//! Sunlight: what comes to the top of the air, what reaches the lake, what the surface sends back, and what is
//! left at a depth.

use std::f64::consts::{PI, TAU};

use super::constants::STEFAN_BOLTZMANN_W_M2_K4;
use crate::math::fast;

/// Solar constant of FAO-56, W/m2: 0.0820 MJ/m2 a minute.
const FAO_SOLAR_CONSTANT_W_M2: f64 = 0.0820e6 / 60.0;

/// Inverse relative distance of earth and sun on a day of the year: `1 + 0.033 cos(2 pi J/365)`.
/// Source: FAO-56, equation 23.
pub fn inverse_relative_distance(day_of_year: f64) -> f64 {
    1.0 + 0.033 * (TAU * day_of_year / 365.0).cos()
}

/// Declination of the sun: `0.409 sin(2 pi J/365 - 1.39)`, rad. Source: FAO-56, equation 24.
pub fn declination_rad(day_of_year: f64) -> f64 {
    0.409 * (TAU * day_of_year / 365.0 - 1.39).sin()
}

/// Hour angle at sunset: `acos(-tan(phi) tan(delta))`, rad; 0 where the sun stays down all day, pi where it stays up.
///
/// phi of `latitude_deg`. The horizon is that of geometry, so the day is some 10 min shorter than from sunrise to
/// sunset. Source: FAO-56, equation 25.
pub fn sunset_hour_angle_rad(latitude_deg: f64, day_of_year: f64) -> f64 {
    let cosine = -latitude_deg.to_radians().tan() * declination_rad(day_of_year).tan();
    if cosine >= 1.0 {
        0.0
    } else if cosine <= -1.0 {
        PI
    } else {
        cosine.acos()
    }
}

/// Radiation on a level plane at the top of the air, mean of a day.
///
/// ```text
/// Ra = (G dr / pi) (ws sin phi sin delta + cos phi cos delta sin ws)
/// ```
///
/// W/m2. The mean of a year is right to 0.5 %. Source: FAO-56, equation 21.
pub fn extraterrestrial_w_m2(latitude_deg: f64, day_of_year: f64) -> f64 {
    let (phi, delta) = (latitude_deg.to_radians(), declination_rad(day_of_year));
    let ws = sunset_hour_angle_rad(latitude_deg, day_of_year);
    FAO_SOLAR_CONSTANT_W_M2 * inverse_relative_distance(day_of_year) / PI
        * (ws * phi.sin() * delta.sin() + phi.cos() * delta.cos() * ws.sin())
}

/// Length of the day: `24 ws / pi`, h. Source: FAO-56, equation 34.
pub fn daylight_h(latitude_deg: f64, day_of_year: f64) -> f64 {
    24.0 * sunset_hour_angle_rad(latitude_deg, day_of_year) / PI
}

/// Radiation from hours of sunshine: `(0.25 + 0.50 n/N) Ra`; n of `sunshine_h`, N of `daylight_h`.
/// W/m2. Source: FAO-56, equation 35.
pub fn from_sunshine_w_m2(extraterrestrial_w_m2: f64, sunshine_h: f64, daylight_h: f64) -> f64 {
    (0.25 + 0.50 * sunshine_h / daylight_h) * extraterrestrial_w_m2
}

/// Radiation of a cloudless day: `(0.75 + 2e-5 z) Ra`, z = `elevation_m`. W/m2. Source: FAO-56, equation 37.
pub fn clear_sky_daily_w_m2(extraterrestrial_w_m2: f64, elevation_m: f64) -> f64 {
    (0.75 + 2e-5 * elevation_m) * extraterrestrial_w_m2
}

/// Radiation of a cloudless hour: `1098 cos Z exp(-0.059 / cos Z)`; 0 with the sun at or below the horizon.
///
/// Z = `zenith_deg`; W/m2. Source: Haurwitz 1945 with the exponent of pvlib 0.16.1; the print has 0.057, 0.2-1 % more.
pub fn clear_sky_hourly_w_m2(zenith_deg: f64) -> f64 {
    let cosine = zenith_deg.to_radians().cos();
    if cosine <= 0.0 {
        return 0.0;
    }
    1098.0 * cosine * (-0.059 / cosine).exp()
}

/// Share of the clear sky's radiation that comes through cloud: `1 - 0.75 N^3.4`.
///
/// N = `cloud_frac`. Source: Kasten & Czeplak 1980, Hamburg.
pub fn cloud_transmission(cloud_frac: f64) -> f64 {
    1.0 - 0.75 * cloud_frac.powf(3.4)
}

/// Cloud from the share of the clear sky's radiation that comes through: the inverse of [`cloud_transmission`],
/// 0 for a share of 1 or more, 1 for 0.25 or less, which is as dark as that form goes.
pub fn cloud_from_transmission(transmission_frac: f64) -> f64 {
    if transmission_frac >= 1.0 {
        0.0
    } else if transmission_frac <= 0.25 {
        1.0
    } else {
        ((1.0 - transmission_frac) / 0.75).powf(1.0 / 3.4)
    }
}

/// Relative air mass: `1 / (cos Z + 0.50572 (96.07995 - Z)^-1.6364)`; `None` under the horizon.
///
/// Z = `zenith_deg`. Source: Kasten & Young 1989.
pub fn relative_air_mass(zenith_deg: f64) -> Option<f64> {
    (zenith_deg <= 90.0)
        .then(|| 1.0 / (zenith_deg.to_radians().cos() + 0.50572 * (96.07995 - zenith_deg).powf(-1.6364)))
}

/// A day as FAO-56 reckons its net longwave radiation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaoDay {
    /// Highest temperature of the air, degC.
    pub max_degc: f64,
    /// Lowest temperature of the air, degC.
    pub min_degc: f64,
    /// Vapour pressure, Pa.
    pub vapour_pressure_pa: f64,
    /// Radiation over that of a clear sky, at most 1.
    pub clearness_frac: f64,
}

/// Net longwave loss of grass.
///
/// ```text
/// Rnl = sigma (Tmax^4 + Tmin^4)/2 (0.34 - 0.14 sqrt(e)) (1.35 Rs/Rso - 0.35)
/// ```
///
/// T in K (with 273.16, as FAO-56 has it), e in kPa; W/m2. A check of the parts, not the lake's budget.
/// Source: FAO-56, equation 39.
pub fn fao_net_longwave_w_m2(day: FaoDay) -> f64 {
    let fourth = |degc: f64| (degc + 273.16).powi(4);
    let black = STEFAN_BOLTZMANN_W_M2_K4 * 0.5 * (fourth(day.max_degc) + fourth(day.min_degc));
    black * (0.34 - 0.14 * (day.vapour_pressure_pa / 1000.0).sqrt()) * (1.35 * day.clearness_frac - 0.35)
}

/// Albedo of water for the direct beam of an hour: `0.026/(m^1.7 + 0.065) + 0.15 (m - 0.1)(m - 0.5)(m - 1)`.
///
/// m = cos of `zenith_deg`, above the horizon. Source: Briegleb et al. 1986.
pub fn direct_albedo(zenith_deg: f64) -> f64 {
    direct_albedo_of_height(zenith_deg.to_radians().cos())
}

/// [`direct_albedo`] by m, the cosine of the zenith: positive.
#[inline(always)]
pub fn direct_albedo_of_height(sun_height_frac: f64) -> f64 {
    let m = sun_height_frac;
    0.026 / (fast::powf(m, 1.7) + 0.065) + 0.15 * (m - 0.1) * (m - 0.5) * (m - 1.0)
}

/// Albedo of water, mean of a day north of the equator: `0.08 + 0.02 cos(2 pi d/365)`.
/// Source: form of Hamilton & Schladow 1997 (from memory).
pub fn daily_albedo(day_of_year: f64) -> f64 {
    0.08 + 0.02 * (TAU * day_of_year / 365.0).cos()
}

/// Reflectance of a smooth surface at right angles: `((n - 1)/(n + 1))^2`, n the refractive index (water 1.333).
pub fn normal_reflectance(refractive_index: f64) -> f64 {
    ((refractive_index - 1.0) / (refractive_index + 1.0)).powi(2)
}

/// Extinction of light from the Secchi depth: `Kd = 1.7 / S`, 1/m. Source: Poole & Atkins 1929; 1.44 in turbid
/// water (Holmes 1970), 1.1-2.0 at large.
pub fn extinction_per_m(secchi_m: f64) -> f64 {
    1.7 / secchi_m
}

/// How sunlight goes down into water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightInWater {
    /// Share taken up at the surface (near infrared), 0.45 usually.
    pub surface_frac: f64,
    /// Extinction of the rest, 1/m.
    pub extinction_per_m: f64,
}

impl LightInWater {
    /// Sunlight at a depth: `I(z) = I0 (1 - beta) exp(-Kd z)`, I0 what enters the water; at the surface all of it.
    #[inline]
    pub fn at_depth_w_m2(&self, entering_w_m2: f64, depth_m: f64) -> f64 {
        if depth_m <= 0.0 {
            return entering_w_m2;
        }
        entering_w_m2 * (1.0 - self.surface_frac) * fast::exp(-self.extinction_per_m * depth_m)
    }

    /// Power that a cubic metre takes up at a depth below the skin: `-dI/dz`, W/m3.
    pub fn absorbed_w_m3(&self, entering_w_m2: f64, depth_m: f64) -> f64 {
        self.extinction_per_m
            * entering_w_m2
            * (1.0 - self.surface_frac)
            * (-self.extinction_per_m * depth_m).exp()
    }
}
