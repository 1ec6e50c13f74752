//! Wind: forecast mean and gust through the trip and two hours after it, 90th percentile of the members.

use super::limits::{says, si, source};
use super::note::{Scene, caution, not_known, number};
use super::official::raised;
use super::wind_hours::{hours_of, wind_hours};
use crate::plan::{Caution, CautionLevel, Hazard};

/// The caution of the wind: by the forecast, and at its stop line where an official product says so.
pub(super) fn caution_of(scene: Scene) -> Option<Caution> {
    raised(scene, Hazard::Wind, by_forecast(scene))
}

/// The caution of the wind; `None` below all thresholds.
fn by_forecast(scene: Scene) -> Option<Caution> {
    let wind = scene.conditions.wind.as_ref();
    let mean_m_s = number(wind.map(|w| w.speed_max_m_s));
    let gust_m_s = number(wind.and_then(|w| w.gust_max_m_s));
    let limits = |level| ["mean", "gust"].map(|name| si(Hazard::Wind, level, name));
    let (of_caution, of_severe) = (limits(CautionLevel::Caution), limits(CautionLevel::Severe));
    let passes = |mean_m_s: Option<f64>, gust_m_s: Option<f64>, least_m_s: [f64; 2]| {
        mean_m_s.is_some_and(|x| x >= least_m_s[0]) || gust_m_s.is_some_and(|x| x >= least_m_s[1])
    };
    let reaches = |limits: [f64; 2]| passes(mean_m_s, gust_m_s, limits);
    let passed = |level| {
        caution(
            Hazard::Wind,
            level,
            says(Hazard::Wind, level),
            source(Hazard::Wind),
        )
    };
    let missing: Vec<String> = [("wind_speed", mean_m_s), ("wind_gust", gust_m_s)]
        .into_iter()
        .filter(|(_, figure)| figure.is_none())
        .map(|(name, _)| name.to_owned())
        .collect();
    let found = if reaches(of_severe) {
        passed(CautionLevel::Severe).with_names(missing)
    } else if reaches(of_caution) {
        passed(CautionLevel::Caution).with_names(missing)
    } else if !missing.is_empty() {
        let threshold =
            "not known: wind or gusts through the trip are not in the feeds; check an official forecast";
        not_known(Hazard::Wind, missing, threshold, source(Hazard::Wind))
    } else {
        return None;
    };
    let found = found
        .with_figure_if("wind_speed_m_s", mean_m_s)
        .with_figure_if("wind_gust_m_s", gust_m_s);
    let Some(wind) = wind else {
        return Some(found);
    };
    let limits = if reaches(of_severe) { of_severe } else { of_caution };
    let hours = wind_hours(wind);
    let (from, to) = hours_of(wind, &hours, |h| passes(h.mean_m_s, h.gust_m_s, limits));
    Some(found.between(from, to))
}

#[cfg(test)]
mod tests {
    use super::super::morning_tests::Morning;
    use super::*;
    use crate::units::M_S_PER_KT;

    fn level(mean_kt: f64, gust_kt: Option<f64>) -> Option<CautionLevel> {
        let mut morning = Morning::calm();
        morning.set_wind(mean_kt * M_S_PER_KT, gust_kt.map(|g| g * M_S_PER_KT), Some(0.0));
        morning.level_of(Hazard::Wind)
    }

    #[test]
    fn mean_wind_passes_its_thresholds_at_12_and_18_knots() {
        assert_eq!(level(11.9, Some(15.0)), None);
        assert_eq!(level(12.0, Some(15.0)), Some(CautionLevel::Caution));
        assert_eq!(level(17.9, Some(19.0)), Some(CautionLevel::Caution));
        assert_eq!(level(18.0, Some(19.0)), Some(CautionLevel::Severe));
    }

    #[test]
    fn gusts_pass_their_thresholds_at_20_and_25_knots() {
        assert_eq!(level(5.0, Some(19.9)), None);
        assert_eq!(level(5.0, Some(20.0)), Some(CautionLevel::Caution));
        assert_eq!(level(5.0, Some(24.9)), Some(CautionLevel::Caution));
        assert_eq!(level(5.0, Some(25.0)), Some(CautionLevel::Severe));
    }

    #[test]
    fn a_caution_names_the_first_and_the_last_hour_in_which_its_threshold_is_passed() {
        let mut morning = Morning::calm();
        morning.set_wind(5.0, Some(13.0), Some(0.0));
        // 25 kt is 12.86 m/s, 20 kt is 10.29 m/s (1852 m and 3600 s, exact).
        let gusts = [4.0, 11.0, 13.0, 11.0, 13.0, 4.0];
        morning.set_wind_hours(&gusts.map(|gust| (5.0, gust, Some(0.0))));
        let hours = |morning: &Morning| {
            let caution = morning.caution(Hazard::Wind).unwrap();
            let hour = |t: chrono::DateTime<chrono::Utc>| (t - morning.as_of).num_hours();
            (caution.level, caution.from.map(hour), caution.to.map(hour))
        };
        assert_eq!(hours(&morning), (CautionLevel::Severe, Some(2), Some(4)));
        // The trip's 12 m/s is 1.2 times the highest hour: 9.6 and 12 m/s, and the second alone is above 20 kt.
        morning.set_wind(5.0, Some(12.0), Some(0.0));
        morning.set_wind_hours(&[4.0, 8.0, 10.0, 4.0].map(|gust| (5.0, gust, Some(0.0))));
        assert_eq!(hours(&morning), (CautionLevel::Caution, Some(2), Some(2)));
        // Without hours, the whole trip.
        morning.set_wind(5.0, Some(12.0), Some(0.0));
        assert_eq!(hours(&morning), (CautionLevel::Caution, Some(0), Some(8)));
    }

    #[test]
    fn missing_wind_or_gusts_are_not_known_unless_the_rest_is_bad_enough() {
        assert_eq!(level(5.0, None), Some(CautionLevel::NotKnown));
        assert_eq!(level(13.0, None), Some(CautionLevel::Caution));
        assert_eq!(level(f64::NAN, Some(5.0)), Some(CautionLevel::NotKnown));
        let mut morning = Morning::calm();
        morning.conditions.wind = None;
        assert_eq!(morning.level_of(Hazard::Wind), Some(CautionLevel::NotKnown));
    }
}
