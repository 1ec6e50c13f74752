//! Weather that gives way to other weather.

use super::Weather;

/// `first` alone, over its last `fading` steps less and less of it, then `then` alone: its share falls straight from 1 to 0. Shape `[step]`, as
/// long as `then`.
pub fn giving_way(first: &[Weather], then: &[Weather], fading: usize) -> Vec<Weather> {
    let mut weather = then.to_vec();
    let reach = first.len().min(then.len());
    let fades = fading.min(reach);
    for (step, (own, given)) in weather.iter_mut().zip(first).enumerate().take(reach) {
        // Half a step in, so that the first and the last fading step lie as far from the ends.
        let left = (reach - step) as f64 - 0.5;
        let share = if fades > 0 {
            (left / fades as f64).min(1.0)
        } else {
            0.0
        };
        *own = mixed(*given, *own, share);
    }
    weather
}

/// `share` of the one and the rest of the other; a direction is that of the greater part.
pub fn mixed(one: Weather, other: Weather, share: f64) -> Weather {
    let mix = |of: fn(&Weather) -> f64| share * of(&one) + (1.0 - share) * of(&other);
    let greater = if share >= 0.5 { one } else { other };
    Weather {
        air_temp_degc: mix(|w| w.air_temp_degc),
        vapour_pressure_pa: mix(|w| w.vapour_pressure_pa),
        pressure_pa: mix(|w| w.pressure_pa),
        wind_speed_m_s: mix(|w| w.wind_speed_m_s),
        wind_from_deg: greater.wind_from_deg,
        sunlight_w_m2: mix(|w| w.sunlight_w_m2),
        sun_height_frac: greater.sun_height_frac,
        sky_longwave_w_m2: mix(|w| w.sky_longwave_w_m2),
        precipitation_m_s: match (one.precipitation_m_s, other.precipitation_m_s) {
            (Some(a), Some(b)) => Some(share * a + (1.0 - share) * b),
            (known, None) | (None, known) => known,
        },
    }
}
