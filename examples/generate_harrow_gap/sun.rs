//! Clear-sky shortwave from the position of the sun.

use super::dice::{cos, exp, sin};
use super::hours::{LATITUDE_DEG, Season};

/// Cosine of the sun's zenith distance (declination by Cooper 1969, equation of time left out).
pub fn cos_zenith(day_of_year: f64, solar_hour: f64) -> f64 {
    let declination =
        (23.45f64).to_radians() * sin(2.0 * std::f64::consts::PI * (284.0 + day_of_year + 1.0) / 365.0);
    let latitude = LATITUDE_DEG.to_radians();
    let hour_angle = (15.0 * (solar_hour - 12.0)).to_radians();
    sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * cos(hour_angle)
}

/// Clear-sky shortwave on a level surface, W/m2: `1098 c exp(-0.057 / c)` (Haurwitz 1945), mean of the
/// hour whose middle is `season`, from six instants.
pub fn clear_sky_w_m2(season: Season) -> f64 {
    let mut sum = 0.0;
    for step in 0..6 {
        let shift_h = (f64::from(step) - 2.5) / 6.0;
        let c = cos_zenith(season.day_of_year, season.solar_hour + shift_h);
        if c > 0.01 {
            sum += 1098.0 * c * exp(-0.057 / c);
        }
    }
    sum / 6.0
}

/// Part of the clear-sky shortwave that cloud lets through: `1 - 0.75 n^3.4` (Kasten and Czeplak 1980).
pub fn cloud_transmission(cloud_frac: f64) -> f64 {
    1.0 - 0.75 * libm::pow(cloud_frac, 3.4)
}
