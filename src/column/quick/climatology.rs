//! Means by day of the year.

use chrono::{Datelike, NaiveDate};

use crate::series::Daily;

/// Half-width of the window of days that a day-of-year mean takes in (common practice, no source).
const WINDOW_DAYS: usize = 15;
/// Entries of the table: 29 February has its own.
const TABLE: usize = 366;
/// Fewest pairs of days a week apart for their correlation (project choice).
const FEWEST_PAIRS: usize = 365;
/// Fewest values in a window for a mean.
const FEWEST: usize = 10;

/// Share of the year gone at the middle of `date`.
pub(in crate::column) fn year_frac(date: NaiveDate) -> f64 {
    let days = if date.leap_year() { 366.0 } else { 365.0 };
    (f64::from(date.ordinal0()) + 0.5) / days
}

/// The place of `date` in a table of the year, 1 March always at one place.
fn place(date: NaiveDate) -> usize {
    let after_february = !date.leap_year() && date.month() > 2;
    date.ordinal0() as usize + usize::from(after_february)
}

/// Mean and spread of a daily series of temperatures by day of the year.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Climatology {
    mean_degc: Vec<f64>,
    /// Standard deviation of a day about the mean of its date, all year.
    pub spread_degc: f64,
    /// Correlation of a day's anomaly with that of the day before, by the one a week apart: `r7^(1/7)`, so that
    /// the anomaly of a week ahead is as uncertain as the record shows. `None` without a year of such pairs, or where
    /// a week leaves nothing of an anomaly.
    pub persistence: Option<f64>,
}

impl Climatology {
    /// The climatology of a series: the mean over all years within 15 days of the date. `None` unless
    /// every date has at least ten values in its window.
    pub fn of(series: &Daily) -> Option<Climatology> {
        let (mut sum, mut count) = ([0.0; TABLE], [0usize; TABLE]);
        let dated = || {
            let days = series.first.iter_days().zip(&series.value);
            days.filter_map(|(date, value)| value.map(|v| (place(date), v)))
        };
        for (at, value) in dated() {
            sum[at] += value;
            count[at] += 1;
        }
        let windowed = |at: usize| {
            let places = (0..=2 * WINDOW_DAYS).map(|off| (at + TABLE + off - WINDOW_DAYS) % TABLE);
            let (s, n) = places.fold((0.0, 0), |(s, n), p| (s + sum[p], n + count[p]));
            (n >= FEWEST).then(|| s / n as f64)
        };
        let mean_degc: Vec<f64> = (0..TABLE).map(windowed).collect::<Option<_>>()?;
        let (squares, values) = dated().fold((0.0, 0usize), |(s, n), (at, value)| {
            (s + (value - mean_degc[at]).powi(2), n + 1)
        });
        let persistence = week_persistence(series, &mean_degc);
        Some(Climatology {
            mean_degc,
            spread_degc: (squares / values as f64).sqrt(),
            persistence,
        })
    }

    /// Mean for a date.
    pub fn at(&self, date: NaiveDate) -> f64 {
        self.mean_degc[place(date)]
    }
}

fn week_persistence(series: &Daily, mean_degc: &[f64]) -> Option<f64> {
    let anomaly: Vec<Option<f64>> = series
        .first
        .iter_days()
        .zip(&series.value)
        .map(|(date, value)| value.map(|v| v - mean_degc[place(date)]))
        .collect();
    let pairs = || {
        let later = anomaly.iter().skip(7);
        anomaly
            .iter()
            .zip(later)
            .filter_map(|(a, b)| Some(((*a)?, (*b)?)))
    };
    let (product, before, after) = pairs().fold((0.0, 0.0, 0.0), |(p, x, y), (a, b)| {
        (p + a * b, x + a * a, y + b * b)
    });
    let correlation = product / (before * after).sqrt();
    (pairs().count() >= FEWEST_PAIRS && correlation > 0.0).then(|| correlation.powf(1.0 / 7.0))
}

/// RMSE of day-of-year climatology over the measured days of `series`, each day judged by the mean of
/// the **other** years within 15 days of its date. `None` when no day has such a mean.
pub(super) fn climatology_rmse(series: &Daily) -> Option<f64> {
    let years: Vec<(i32, Vec<Option<f64>>)> = by_year(series);
    let (mut squares, mut judged) = (0.0, 0usize);
    for (year, own) in &years {
        // Running sums over the other years, so that a window costs two look-ups.
        let (mut sums, mut counts) = (vec![0.0; 3 * TABLE + 1], vec![0usize; 3 * TABLE + 1]);
        for at in 0..3 * TABLE {
            let others = years
                .iter()
                .filter(|(y, _)| y != year)
                .filter_map(|(_, v)| v[at % TABLE]);
            let (s, n) = others.fold((0.0, 0), |(s, n), v| (s + v, n + 1));
            sums[at + 1] = sums[at] + s;
            counts[at + 1] = counts[at] + n;
        }
        for (at, value) in own.iter().enumerate().filter_map(|(at, v)| v.map(|v| (at, v))) {
            let (low, high) = (at + TABLE - WINDOW_DAYS, at + TABLE + WINDOW_DAYS + 1);
            let n = counts[high] - counts[low];
            if n >= FEWEST {
                squares += (value - (sums[high] - sums[low]) / n as f64).powi(2);
                judged += 1;
            }
        }
    }
    (judged > 0).then(|| (squares / judged as f64).sqrt())
}

fn by_year(series: &Daily) -> Vec<(i32, Vec<Option<f64>>)> {
    let mut years: Vec<(i32, Vec<Option<f64>>)> = Vec::new();
    for (date, value) in series.first.iter_days().zip(&series.value) {
        if years.last().is_none_or(|(year, _)| *year != date.year()) {
            years.push((date.year(), vec![None; TABLE]));
        }
        if let Some((_, table)) = years.last_mut() {
            table[place(date)] = *value;
        }
    }
    years
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    #[test]
    fn the_first_of_march_has_one_place_in_every_year() {
        assert_eq!(place(day(2024, 3, 1)), place(day(2025, 3, 1)));
        assert_eq!(place(day(2024, 12, 31)), 365);
        assert_eq!(place(day(2025, 12, 31)), 365);
    }

    #[test]
    fn three_flat_years_are_each_judged_by_the_other_two() {
        // Years at 9, 10 and 11: the other two have means 10.5, 10 and 9.5, off by 1.5, 0 and 1.5.
        let first = day(2021, 1, 1);
        let value = (0..3 * 365).map(|i| Some(9.0 + f64::from(i / 365))).collect();
        let rmse = climatology_rmse(&Daily::new(first, value)).unwrap();
        assert!((rmse - 1.5f64.sqrt()).abs() < 1e-9, "{rmse}");
    }

    #[test]
    fn one_year_alone_cannot_be_judged() {
        assert_eq!(
            climatology_rmse(&Daily::new(day(2021, 1, 1), vec![Some(1.0); 365])),
            None
        );
    }

    #[test]
    fn the_persistence_of_an_anomaly_is_found_again() {
        // An AR(1) series about a flat year: 20 years of daily values with 0.9 from day to day. The standard error of
        // a correlation near 0.48 from 7300 values that are alike over some 20 days is about 0.04, that of its
        // seventh root 0.012; three of them.
        let mut numbers = crate::math::streams::stream(3, "persistence");
        let mut anomaly = 0.0;
        let value = (0..20 * 365)
            .map(|_| {
                anomaly = 0.9 * anomaly + crate::math::streams::normal(&mut numbers);
                Some(15.0 + anomaly)
            })
            .collect();
        let found = Climatology::of(&Daily::new(day(2001, 1, 1), value))
            .unwrap()
            .persistence
            .unwrap();
        assert!((found - 0.9).abs() < 0.036, "{found}");
        let flat = Daily::new(day(2001, 1, 1), vec![Some(15.0); 3 * 365]);
        assert_eq!(
            Climatology::of(&flat).unwrap().persistence,
            None,
            "no anomaly at all"
        );
    }

    #[test]
    fn a_record_with_an_empty_season_has_no_climatology() {
        assert_eq!(
            Climatology::of(&Daily::new(day(2021, 1, 1), vec![Some(1.0); 200])),
            None
        );
        let whole = Climatology::of(&Daily::new(day(2021, 1, 1), vec![Some(7.0); 365])).unwrap();
        assert_eq!((whole.at(day(2024, 2, 29)), whole.spread_degc), (7.0, 0.0));
    }
}
