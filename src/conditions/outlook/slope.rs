//! The fallback: the level goes on as over the last week, with a spread from how such guesses missed before.

use crate::math::slopes::theil_sen;
use crate::series::Daily;

/// Days of the slope, and levels needed of them.
const SLOPE_DAYS: usize = 7;
const SLOPE_MIN_DAYS: usize = 5;
/// Past days whose guesses are judged, and guesses needed for a spread (project choices).
const JUDGED_DAYS: usize = 730;
const MIN_GUESSES: usize = 60;

/// The fallback at one morning.
#[derive(Debug, Clone, PartialEq)]
pub struct SlopeModel {
    /// Theil-Sen slope of the last 7 daily levels.
    pub slope_m_per_day: f64,
    /// Standard deviation of the guess by days ahead, from 0. Shape `[lead]`; never falls with the lead.
    pub sd_m: Vec<f64>,
}

impl SlopeModel {
    /// The model at entry `end` of daily levels, `leads` days ahead: the slope there, and for each lead the root
    /// mean square of `h(t + k) - h(t) - k slope(t)` over the last two years before. `None` without a slope, or
    /// with fewer than 60 guesses at any lead.
    pub fn fit(level_m: &Daily, end: usize, leads: usize) -> Option<SlopeModel> {
        let slope_m_per_day = slope_at(level_m, end)?;
        let from = end.saturating_sub(JUDGED_DAYS);
        let slopes: Vec<Option<f64>> = (from..=end).map(|i| slope_at(level_m, i)).collect();
        let mut sd_m = vec![0.0_f64];
        for lead in 1..=leads {
            let missed_m: Vec<f64> = (from..=end.checked_sub(lead)?)
                .filter(|i| level_m.is_measured(*i) && level_m.is_measured(i + lead))
                .filter_map(|i| {
                    let guess_m = level_m.value[i]? + lead as f64 * slopes[i - from]?;
                    Some(level_m.value[i + lead]? - guess_m)
                })
                .collect();
            if missed_m.len() < MIN_GUESSES {
                return None;
            }
            let sd = crate::math::quantiles::root_mean_square(&missed_m)?;
            let before = *sd_m.last()?;
            sd_m.push(sd.max(before));
        }
        Some(SlopeModel {
            slope_m_per_day,
            sd_m,
        })
    }
}

/// Theil-Sen slope of the last 7 measured daily levels up to entry `end`, which must be one of them.
fn slope_at(level_m: &Daily, end: usize) -> Option<f64> {
    let earliest = (end + 1).saturating_sub(SLOPE_DAYS);
    let (x, y): (Vec<f64>, Vec<f64>) = (earliest..=end)
        .filter(|i| level_m.is_measured(*i))
        .filter_map(|i| Some((i as f64, level_m.value[i]?)))
        .unzip();
    if x.len() < SLOPE_MIN_DAYS || !level_m.is_measured(end) {
        return None;
    }
    theil_sen(&x, &y, 0.8).map(|line| line.slope)
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    #[test]
    fn a_lake_that_falls_evenly_is_guessed_without_error_and_one_that_turns_is_not() {
        let first = NaiveDate::from_ymd_opt(2024, 1, 1).unwrap();
        let even: Vec<Option<f64>> = (0..200).map(|i| Some(300.0 - 0.1 * f64::from(i))).collect();
        let model = SlopeModel::fit(&Daily::new(first, even), 199, 16).unwrap();
        assert!((model.slope_m_per_day + 0.1).abs() < 1e-9);
        assert!(model.sd_m.iter().all(|sd| *sd < 1e-6), "{:?}", model.sd_m);
        let wave = |i: usize| Some(300.0 + (i as f64 / 10.0).sin());
        let waves = Daily::new(first, (0..200).map(wave).collect());
        let model = SlopeModel::fit(&waves, 199, 16).unwrap();
        assert!(model.sd_m[16] > 0.5 && model.sd_m.is_sorted(), "{:?}", model.sd_m);
        assert!(
            SlopeModel::fit(&waves, 70, 16).is_none(),
            "54 guesses are too few"
        );
    }
}
