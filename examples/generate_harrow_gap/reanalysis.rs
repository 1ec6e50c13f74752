//! What the weather service holds of the past: the truth with small errors.

use super::dice::{Dice, Memory, exp};
use super::weather::Weather;

/// A copy of the truth with the errors of an analysis; `scale` 1 for the archive. `from` is the first hour
/// that is asked for; hours before it are left as they are.
pub fn analysed(weather: &Weather, stream: u64, scale: f64, from: usize) -> Weather {
    let mut dice = Dice::new(stream);
    let mut errors: Vec<Memory> = [30.0, 30.0, 12.0, 10.0, 24.0, 8.0]
        .iter()
        .map(|time_h| Memory::new(*time_h, &mut dice))
        .collect();
    let mut copy = Weather {
        temp_degc: weather.temp_degc.clone(),
        dew_point_degc: weather.dew_point_degc.clone(),
        wind_m_s: weather.wind_m_s.clone(),
        gust_m_s: weather.gust_m_s.clone(),
        direction_deg: weather.direction_deg.clone(),
        cloud_frac: weather.cloud_frac.clone(),
        pressure_hpa: weather.pressure_hpa.clone(),
        rain_mm: weather.rain_mm.clone(),
        shortwave_w_m2: weather.shortwave_w_m2.clone(),
        wicket_share: weather.wicket_share.clone(),
    };
    for hour in from..copy.temp_degc.len() {
        let mut error = |k: usize| scale * errors[k].step(&mut dice);
        copy.temp_degc[hour] += 0.45 * error(0);
        let dew = copy.dew_point_degc[hour] + 0.5 * error(1);
        copy.dew_point_degc[hour] = dew.min(copy.temp_degc[hour] - 0.05);
        let wind = exp(0.10 * error(2));
        copy.wind_m_s[hour] *= wind;
        copy.gust_m_s[hour] *= wind;
        let cloud = copy.cloud_frac[hour];
        copy.cloud_frac[hour] = (cloud + 0.06 * error(3) * 4.0 * cloud * (1.0 - cloud)).clamp(0.0, 1.0);
        copy.pressure_hpa[hour] += 0.3 * error(4);
        let sun = error(5);
        copy.shortwave_w_m2[hour] *= (1.0 + 0.03 * sun).max(0.0);
        copy.rain_mm[hour] *= exp(0.12 * sun);
        copy.direction_deg[hour] = (copy.direction_deg[hour] + 5.0 * sun + 360.0) % 360.0;
    }
    copy
}
