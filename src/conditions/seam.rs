//! Bias of one series against another of the same quantity, and one daily series of several without a step
//! where they meet.
//!
//! Only quantities that an addition can correct are joined so: temperatures and elevations. Wind is left as
//! it is (its errors are more of a factor than of a difference, and no figure joins its past to its
//! forecast), and so are flows and volumes: two gauges of one river measure two catchments.

use std::collections::BTreeMap;

use chrono::{DateTime, Days, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use crate::clock::LakeClock;
use crate::lake::SeriesId;
use crate::math::quantiles::median;
use crate::quantity::Quantity;
use crate::series::Daily;

/// Days before today that a bias is learned from (project choice): a month holds the season's bias, a year
/// would smear it.
pub const BIAS_DAYS: u64 = 30;
/// Fewest days with both series from which a bias is believed (project choice): with 1.5 degC between two
/// single days the median of 10 is known to about 0.6 degC.
pub const BIAS_FEWEST_DAYS: usize = 10;
/// Share of a day's 24 h that a pair of hourly runs must have in common (as for a daily mean).
const PAIRED_H: f64 = 18.0;
/// Spread of a normal law over its median distance from the median, and standard error of its median over
/// that of its mean: sqrt(pi / 2).
const SPREAD_OF_MEDIAN_DISTANCE: f64 = 1.4826;
const MEDIAN_ERROR: f64 = 1.2533;
const HOUR_S: i64 = 3600;

/// How one series reads against another.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Bias {
    /// Median of the differences, series less reference: above 0 it reads high. SI unit of the quantity.
    pub reads_high: f64,
    /// Spread of a single day's difference: 1.4826 times the median distance from the median.
    pub spread: f64,
    /// Days with both.
    pub days: usize,
}

impl Bias {
    /// The bias of daily differences; `None` for fewer than [`BIAS_FEWEST_DAYS`] finite ones.
    ///
    /// ```text
    /// b = median(d_i),   s = 1.4826 median |d_i - b|,   d_i = series_i - reference_i
    /// ```
    ///
    /// The median, so that a single false day of either series does not move it (project choice; the
    /// factors are those of the normal law).
    pub fn of(differences: &[f64]) -> Option<Bias> {
        let finite: Vec<f64> = differences.iter().copied().filter(|d| d.is_finite()).collect();
        if finite.len() < BIAS_FEWEST_DAYS {
            return None;
        }
        let reads_high = median(&finite)?;
        let apart: Vec<f64> = finite.iter().map(|d| (d - reads_high).abs()).collect();
        Some(Bias {
            reads_high,
            spread: SPREAD_OF_MEDIAN_DISTANCE * median(&apart)?,
            days: finite.len(),
        })
    }

    /// Standard error of the bias, were the days independent: `1.2533 s / sqrt(n)`. Neighbouring days are
    /// alike, so that it is a lower bound.
    pub fn error(&self) -> f64 {
        MEDIAN_ERROR * self.spread / (self.days.max(1) as f64).sqrt()
    }
}

/// Whether an addition can correct a quantity.
pub fn is_additive(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::AirTemp
            | Quantity::DewPoint
            | Quantity::WaterTemp
            | Quantity::RiverTemp
            | Quantity::PoolElevation
    )
}

/// Differences, `series` less `reference`, on those of the `days` days up to `last` on which both were
/// measured, oldest first.
pub fn daily_differences(series: &Daily, reference: &Daily, last: NaiveDate, days: u64) -> Vec<f64> {
    let Some(first) = last.checked_sub_days(Days::new(days.saturating_sub(1))) else {
        return Vec::new();
    };
    let measured = |daily: &Daily, date| {
        let i = daily.index(date).filter(|&i| daily.is_measured(i))?;
        daily.value[i]
    };
    let dates = first.iter_days().take_while(|date| *date <= last);
    dates
        .filter_map(|date| Some(measured(series, date)? - measured(reference, date)?))
        .collect()
}

/// Values by hour since 1970, each of which stands for `step_h` hours.
#[derive(Debug, Clone, PartialEq)]
pub struct Hours {
    /// Value by hour.
    pub value: BTreeMap<i64, f64>,
    /// Hours that one value stands for.
    pub step_h: f64,
}

/// The hour since 1970 that holds `time`.
pub fn hour_of(time: DateTime<Utc>) -> i64 {
    time.timestamp().div_euclid(HOUR_S)
}

/// Differences of the means of each standard day over the hours that both have, `series` less `reference`;
/// a day counts with 18 such hours. Means of a day, so that a bias that changes from day to night is not
/// taken for that of the hours that happen to be paired.
pub fn hourly_differences(series: &Hours, reference: &Hours, clock: &LakeClock) -> Vec<f64> {
    let mut days: BTreeMap<NaiveDate, (f64, u32)> = BTreeMap::new();
    for (hour, value) in &series.value {
        let Some(time) = DateTime::from_timestamp(hour * HOUR_S, 0) else {
            continue;
        };
        if let Some(other) = reference.value.get(hour) {
            let slot = days.entry(clock.standard_day(time)).or_default();
            *slot = (slot.0 + value - other, slot.1 + 1);
        }
    }
    let step_h = series.step_h.max(reference.step_h);
    let whole = days
        .into_values()
        .filter(|(_, hours)| f64::from(*hours) * step_h >= PAIRED_H);
    whole.map(|(sum, hours)| sum / f64::from(hours)).collect()
}

/// `base`, and on the days that it lacks the first of `others` that has them, less how high each reads
/// against the base. Those days are marked suspect; a day that none has stays a gap.
pub fn join(base: &Daily, others: &[(&Daily, f64)]) -> Daily {
    let all = || std::iter::once(base).chain(others.iter().map(|(daily, _)| *daily));
    let first = all().filter(|d| d.last().is_some()).map(|d| d.first).min();
    let last = all().filter_map(Daily::last).max();
    let (Some(first), Some(last)) = (first, last) else {
        return base.clone();
    };
    let days: Vec<NaiveDate> = first.iter_days().take_while(|d| *d <= last).collect();
    let mut joined = Daily::new(first, vec![None; days.len()]);
    for (i, date) in days.into_iter().enumerate() {
        if let Some(k) = base.index(date).filter(|&k| base.value[k].is_some()) {
            joined.value[i] = base.value[k];
            joined.filled[i] = base.filled[k];
            joined.suspect[i] = base.suspect[k];
            continue;
        }
        let found = others.iter().find_map(|(daily, reads_high)| {
            let k = daily.index(date)?;
            Some((daily.value[k]? - reads_high, daily.filled[k]))
        });
        if let Some((value, filled)) = found {
            joined.value[i] = Some(value);
            joined.filled[i] = filled;
            joined.suspect[i] = true;
        }
    }
    joined
}

/// How a source of air temperature was fitted to the one that the rest is measured by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Seam {
    /// Series that was joined.
    pub series: SeriesId,
    /// Its past, or its forecast.
    pub part: SeamPart,
    /// Series that it is measured by.
    pub against: SeriesId,
    /// Station of that series; empty where it goes by position or file.
    pub against_station: String,
    /// What the bias rests on; `None` where too few days have both.
    pub basis: Option<SeamBasis>,
    /// Median of the daily differences, above 0 where the series reads warm. `None`: not known, and nothing
    /// was corrected.
    pub reads_high_degc: Option<f64>,
    /// Spread of a day's difference.
    pub spread_degc: Option<f64>,
    /// Days with both.
    pub days: usize,
    /// Days that are needed.
    pub days_wanted: usize,
    /// Days looked at.
    pub of_days: u64,
    /// What was made of it.
    pub outcome: SeamOutcome,
}

/// Which part of a series is joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SeamPart {
    /// Values of the past.
    Past,
    /// The forecast.
    Forecast,
}

/// What a bias rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SeamBasis {
    /// Daily values of both.
    DailyValues,
    /// Forecasts as they were issued, up to 24 h ahead.
    IssuedForecasts,
    /// Hours of the same forecast that have passed.
    PassedHours,
    /// The past of the same series, a model's as the forecast is.
    SamePast,
}

/// What was made of a bias.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SeamOutcome {
    /// Its values are corrected by it.
    Corrected,
    /// The values are used as they are: the bias is not known.
    AsIssued,
    /// The series is not used: the bias is not known.
    NotUsed,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::streams::{normal, stream};

    fn day(back: u64) -> NaiveDate {
        NaiveDate::from_ymd_opt(2025, 7, 24).unwrap() - Days::new(back)
    }

    /// A summer of air temperature, 60 days up to 23 July, its days 2.5 degC apart or so.
    fn truth() -> Daily {
        let mut numbers = stream(3, "air");
        Daily::new(
            day(60),
            (0..60)
                .map(|_| Some(24.0 + 2.5 / 2.0_f64.sqrt() * normal(&mut numbers)))
                .collect(),
        )
    }

    fn read_by(truth: &Daily, bias: f64, error: f64) -> Daily {
        let mut numbers = stream(4, "error");
        let value = |v: &Option<f64>| v.map(|v| v + bias + error * normal(&mut numbers));
        Daily::new(truth.first, truth.value.iter().map(value).collect())
    }

    #[test]
    fn a_bias_of_two_degrees_is_found_within_its_sampling_error() {
        let truth = truth();
        let bias = Bias::of(&daily_differences(
            &read_by(&truth, 2.0, 1.0),
            &truth,
            day(1),
            BIAS_DAYS,
        ))
        .unwrap();
        assert_eq!(bias.days, 30);
        // Standard error of a median of 30 draws of spread 1: 1.2533 / sqrt(30) = 0.23; three of them.
        assert!((bias.reads_high - 2.0).abs() < 0.69, "{bias:?}");
        // The spread itself is 1, give or take 0.21 (relative error of 1.4826 MAD: 1.17 / sqrt(30)).
        assert!((bias.spread - 1.0).abs() < 0.64, "{bias:?}");
    }

    #[test]
    fn ten_false_days_in_thirty_move_the_bias_by_less_than_their_third() {
        let truth = truth();
        let mut series = read_by(&truth, 2.0, 0.5);
        (30..40).for_each(|i| series.value[i] = series.value[i].map(|v| v + 20.0));
        let bias = Bias::of(&daily_differences(&series, &truth, day(1), BIAS_DAYS)).unwrap();
        // The mean would be 2 + 20 / 3.
        assert!((bias.reads_high - 2.0).abs() < 1.0, "{bias:?}");
    }

    #[test]
    fn nine_days_are_too_few_and_no_number_is_no_day() {
        assert_eq!(Bias::of(&[1.0; 9]), None);
        assert_eq!(Bias::of(&[[1.0; 9].as_slice(), &[f64::NAN]].concat()), None);
        assert_eq!(Bias::of(&[1.0; 10]).unwrap().reads_high, 1.0);
    }

    #[test]
    fn only_the_last_thirty_days_count_and_filled_ones_do_not() {
        let truth = truth();
        let mut series = read_by(&truth, 2.0, 0.0);
        (0..30).for_each(|i| series.value[i] = series.value[i].map(|v| v + 50.0));
        (50..60).for_each(|i| series.filled[i] = true);
        let differences = daily_differences(&series, &truth, day(1), BIAS_DAYS);
        assert_eq!(differences.len(), 20);
        assert!(differences.iter().all(|d| (d - 2.0).abs() < 1e-9));
    }

    #[test]
    fn the_joined_series_has_no_step_at_its_seam_and_gaps_stay_gaps() {
        let truth = truth();
        let mut station = truth.clone();
        // The station begins 20 days ago, and has a hole that the model shares.
        (0..40).for_each(|i| station.value[i] = None);
        let mut model = read_by(&truth, 2.0, 0.2);
        (station.value[50], model.value[50]) = (None, None);
        station.value[45] = None;
        let bias = Bias::of(&daily_differences(&model, &station, day(1), BIAS_DAYS)).unwrap();
        let joined = join(&station, &[(&model, bias.reads_high)]);
        assert_eq!((joined.first, joined.value.len()), (truth.first, 60));
        assert_eq!(joined.value[50], None);
        assert_eq!(joined.value[59], station.value[59]);
        // The model's own error, 0.2, and that of the bias: far below 2.
        for i in (0..60).filter(|i| *i != 50) {
            assert!(
                (joined.value[i].unwrap() - truth.value[i].unwrap()).abs() < 0.9,
                "{i}"
            );
        }
        let step = |i: usize| joined.value[i].unwrap() - joined.value[i - 1].unwrap();
        let true_step = truth.value[40].unwrap() - truth.value[39].unwrap();
        assert!((step(40) - true_step).abs() < 0.9);
        assert!(joined.suspect[39] && joined.suspect[45] && !joined.suspect[40]);
    }

    #[test]
    fn hours_are_paired_by_the_day_and_a_day_needs_eighteen_of_them() {
        let clock = LakeClock::new(chrono_tz::UTC);
        let hours = |from: i64, to: i64, value: &dyn Fn(i64) -> f64| Hours {
            value: (from..to).map(|h| (480_000 + h, value(h))).collect(),
            step_h: 1.0,
        };
        // 480000 h since 1970 is a midnight (20000 days).
        let observed = hours(0, 60, &|h| 15.0 + (h % 24) as f64 / 2.0);
        // Two degrees warm by day, right by night: one degree over the day.
        let run = hours(0, 60, &|h| {
            15.0 + (h % 24) as f64 / 2.0 + if h % 24 < 12 { 2.0 } else { 0.0 }
        });
        let found = hourly_differences(&run, &observed, &clock);
        assert_eq!(found.len(), 2);
        assert!(found.iter().all(|d| (d - 1.0).abs() < 1e-9), "{found:?}");
        let three_hourly = Hours {
            value: run.value.into_iter().filter(|(h, _)| h % 3 == 0).collect(),
            step_h: 3.0,
        };
        assert_eq!(hourly_differences(&three_hourly, &observed, &clock).len(), 2);
    }
}
