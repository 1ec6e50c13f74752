//! A step in a daily series that has lasted: not a trend, not a spike.

use chrono::NaiveDate;

use crate::math::change_point::{least_squares_split, pettitt};
use crate::math::least_squares::line_hac;
use crate::series::Daily;

/// Days looked at, days needed of them, days a step must have lasted on both sides (project choices).
const WINDOW_DAYS: usize = 28;
const MIN_DAYS: usize = 20;
const PERSISTENCE_DAYS: usize = 3;
/// How far back a step is still news, days (project choice).
const NEWS_DAYS: i64 = 14;
/// Pettitt's probability below which there is a change, and the share of the squares about a straight line that
/// two levels may leave (project choices): the first alone would call every trend a step.
const PETTITT_P: f64 = 0.05;
const SQUARES_FRAC: f64 = 0.5;

/// A step: its first day, and the mean after less the mean before, in the unit of what `scaled` returns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    pub date: NaiveDate,
    pub height: f64,
}

/// The step of the last 14 days in the measured values of the last 28, each taken through `scaled`; `None`
/// where there is none of at least `least`, or too few values.
pub(super) fn step_within_14_days(
    daily: &Daily,
    today: NaiveDate,
    least: f64,
    scaled: impl Fn(f64) -> Option<f64>,
) -> Option<Step> {
    let end = daily.newest_measured(today)?;
    let from = (end + 1).saturating_sub(WINDOW_DAYS);
    let (index, y): (Vec<usize>, Vec<f64>) = (from..=end)
        .filter(|i| daily.is_measured(*i))
        .filter_map(|i| Some((i, scaled(daily.value[i]?)?)))
        .unzip();
    if y.len() < MIN_DAYS || pettitt(&y)?.p >= PETTITT_P {
        return None;
    }
    let split = least_squares_split(&y, PERSISTENCE_DAYS)?;
    let x: Vec<f64> = index.iter().map(|i| *i as f64).collect();
    let line = line_hac(&x, &y, 0)?;
    let beside_line: f64 = x
        .iter()
        .zip(&y)
        .map(|(x, y)| (y - line.intercept - line.slope * x).powi(2))
        .sum();
    let date = daily.date(index[split.first_after]);
    let is_step = split.square_after < SQUARES_FRAC * beside_line && split.step.abs() >= least;
    let is_news = (today - date).num_days() <= NEWS_DAYS;
    (is_step && is_news).then_some(Step {
        date,
        height: split.step,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn daily(value: impl Fn(i32) -> f64) -> (Daily, NaiveDate) {
        let first = NaiveDate::from_ymd_opt(2025, 7, 1).unwrap();
        let series = Daily::new(first, (0..28).map(|i| Some(value(i))).collect());
        (series, NaiveDate::from_ymd_opt(2025, 7, 29).unwrap())
    }

    /// A saw of a tenth, so that nothing is exact.
    fn saw(i: i32) -> f64 {
        f64::from(i % 3) * 0.1
    }

    #[test]
    fn a_step_of_two_degrees_ten_days_ago_is_found_and_a_trend_is_none() {
        let (series, today) = daily(|i| saw(i) + if i < 18 { 20.0 } else { 18.0 });
        let step = step_within_14_days(&series, today, 1.0, Some).unwrap();
        assert_eq!(step.date, series.date(18));
        assert!((step.height + 2.0).abs() < 0.1, "{step:?}");
        let (series, today) = daily(|i| saw(i) - 0.2 * f64::from(i));
        assert_eq!(step_within_14_days(&series, today, 1.0, Some), None);
    }

    #[test]
    fn an_old_step_a_small_one_and_a_spike_are_no_news() {
        let (series, today) = daily(|i| saw(i) + if i < 9 { 20.0 } else { 18.0 });
        assert_eq!(
            step_within_14_days(&series, today, 1.0, Some),
            None,
            "19 days ago"
        );
        let (series, today) = daily(|i| saw(i) + if i < 18 { 20.0 } else { 19.4 });
        assert_eq!(step_within_14_days(&series, today, 1.0, Some), None, "0.6 degC");
        let (series, today) = daily(|i| saw(i) + if i == 27 { 30.0 } else { 18.0 });
        assert_eq!(step_within_14_days(&series, today, 1.0, Some), None, "one day");
    }
}
