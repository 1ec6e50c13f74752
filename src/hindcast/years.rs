//! Intervals of an error figure, by resampling whole years.
//!
//! Errors of neighbouring days and depths are alike, and so are those of one summer: points drawn alone would promise
//! far too narrow an interval. Years are drawn with replacement, each with all of its points.

use std::collections::BTreeMap;

use chrono::Datelike;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::pairs::Pair;
use crate::math::quantiles::quantiles;
use crate::math::streams::{stream, uniform};

/// Fewest years of which an interval is given (project choice: with fewer, resampling shows little but its luck).
pub const FEWEST_YEARS: usize = 5;
/// Number of resamples (project choice).
const RESAMPLES: usize = 2000;
/// Seed of the draws: the same figures on every run.
const SEED: u64 = 1;
/// Ends of an interval of 80 %.
const ENDS: [f64; 2] = [0.1, 0.9];

/// An interval of 10 to 90 % of a root mean square error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RmseInterval {
    /// 10 %.
    pub low: f64,
    /// 90 %.
    pub high: f64,
    /// Years that were resampled.
    pub years: usize,
}

/// 10 and 90 % of the RMSE of `pairs[places]` over resampled calendar years; `None` with fewer than five years.
/// Percentile bootstrap (Efron 1979) of clusters.
pub fn rmse_interval(pairs: &[Pair], places: &[usize]) -> Option<RmseInterval> {
    let mut by_year: BTreeMap<i32, (f64, f64)> = BTreeMap::new();
    for place in places {
        let pair = &pairs[*place];
        let (squares, count) = by_year.entry(pair.day.year()).or_default();
        *squares += pair.difference().powi(2);
        *count += 1.0;
    }
    let years: Vec<(f64, f64)> = by_year.into_values().collect();
    if years.len() < FEWEST_YEARS {
        return None;
    }
    let mut chance = stream(SEED, "hindcast/years");
    let resampled: Vec<f64> = (0..RESAMPLES)
        .map(|_| {
            let drawn = (0..years.len()).map(|_| years[(uniform(&mut chance) * years.len() as f64) as usize]);
            let (squares, count) = drawn.fold((0.0, 0.0), |(s, n), y| (s + y.0, n + y.1));
            (squares / count).sqrt()
        })
        .collect();
    let [low, high] = quantiles(&resampled, ENDS)?;
    Some(RmseInterval {
        low,
        high,
        years: years.len(),
    })
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    fn pairs(by_year: &[f64]) -> Vec<Pair> {
        let of = |(year, error): (i32, &f64)| {
            let day = NaiveDate::from_ymd_opt(year, 7, 1).unwrap();
            Pair {
                day,
                time: day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
                depth_m: 0.0,
                observed: 10.0,
                modelled: 10.0 + error,
                ice: false,
            }
        };
        (2000..).zip(by_year).map(of).collect()
    }

    #[test]
    fn years_of_equal_error_leave_no_doubt_and_few_years_no_interval() {
        let all: Vec<usize> = (0..6).collect();
        let found = rmse_interval(&pairs(&[2.0; 6]), &all).unwrap();
        assert_eq!((found.low, found.high, found.years), (2.0, 2.0, 6));
        assert_eq!(rmse_interval(&pairs(&[2.0; 4]), &all[..4]), None);
    }

    #[test]
    fn the_interval_is_that_of_the_binomial_it_draws_from() {
        // Ten years of error 0 and ten of 1: a resample's RMSE is the root of k/20, k binomial (20, 1/2). Its 10 and
        // 90 % points are k = 7 and 13 (scipy 1.17.1, binom.ppf([0.1, 0.9], 20, 0.5)).
        let mut errors = vec![0.0; 10];
        errors.extend([1.0; 10]);
        let all: Vec<usize> = (0..20).collect();
        let found = rmse_interval(&pairs(&errors), &all).unwrap();
        assert!((found.low - (7.0f64 / 20.0).sqrt()).abs() < 1e-9, "{found:?}");
        assert!((found.high - (13.0f64 / 20.0).sqrt()).abs() < 1e-9, "{found:?}");
    }
}
