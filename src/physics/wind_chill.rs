//! What moving air takes from bare skin, as the air temperature of a calm that would take as much.

use crate::units::{M_S_PER_MPH, degc_from_degf, degf_from_degc};

/// Warmest air for which the index is defined, degF (National Weather Service, 2001).
const WARMEST_DEGF: f64 = 50.0;
/// Least wind for which it is defined, mph (same).
const LEAST_WIND_MPH: f64 = 3.0;

/// Wind chill; `None` in air above 50 degF or wind below 3 mph, where it is not defined and the air's own temperature stands.
///
/// ```text
/// W = 35.74 + 0.6215 T - 35.75 V^0.16 + 0.4275 T V^0.16
/// ```
///
/// T = `air_temp_degc` and W in degF, V = `wind_speed_m_s` at 10 m in mph; converted inside, since the formula was published so.
/// It is of the bare face of somebody who walks in open country at night: sun makes it warmer, wet skin much colder. National
/// Weather Service and Meteorological Service of Canada, 2001 (from memory).
///
/// ```
/// # use plungeline::physics::wind_chill::wind_chill_degc;
/// # use plungeline::units::{M_S_PER_MPH, degc_from_degf, degf_from_degc};
/// // The service's own example: 0 degF and 15 mph feel like -19 degF.
/// let chill = wind_chill_degc(degc_from_degf(0.0), 15.0 * M_S_PER_MPH).unwrap();
/// assert!((degf_from_degc(chill) + 19.0).abs() < 0.5);
/// ```
pub fn wind_chill_degc(air_temp_degc: f64, wind_speed_m_s: f64) -> Option<f64> {
    let (t, v) = (degf_from_degc(air_temp_degc), wind_speed_m_s / M_S_PER_MPH);
    if !(t <= WARMEST_DEGF && v >= LEAST_WIND_MPH) {
        return None;
    }
    let power = v.powf(0.16);
    Some(degc_from_degf(
        35.74 + 0.6215 * t - 35.75 * power + 0.4275 * t * power,
    ))
}

/// The colder of the air and its wind chill: a calm frosty morning counts as well.
pub fn felt_degc(air_temp_degc: f64, wind_speed_m_s: f64) -> f64 {
    wind_chill_degc(air_temp_degc, wind_speed_m_s).map_or(air_temp_degc, |chill| chill.min(air_temp_degc))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outside_its_range_there_is_none_and_the_air_stands() {
        let mph = |v: f64| v * M_S_PER_MPH;
        // Below 3 mph and above 50 degF the index is not defined.
        assert_eq!(wind_chill_degc(degc_from_degf(30.0), mph(2.9)), None);
        assert_eq!(wind_chill_degc(degc_from_degf(50.1), mph(20.0)), None);
        assert_eq!(wind_chill_degc(f64::NAN, mph(20.0)), None);
        assert!(wind_chill_degc(degc_from_degf(49.9), mph(3.1)).is_some());
        assert_eq!(felt_degc(-30.0, 0.0), -30.0);
        assert!(felt_degc(-30.0, 5.0) < -30.0);
    }
}
