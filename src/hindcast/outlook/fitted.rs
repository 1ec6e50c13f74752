//! Distributions of a date by whole days, and what the other years teach of them.
//!
//! All three forecasts are made alike: parameters by the greatest likelihood of the other years' intervals, with weak priors;
//! days that were known to be stratified at the issue taken away; the rest scaled to 1. Days are counted from 1 January.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::hindcast::turnover::LONGEST_GAP_DAYS;
use crate::math::simplex::{SimplexSearch, lowest};
use crate::skill::SkillError;
use crate::skill::dates::DayForecast;

/// Days that a distribution covers: from the November before to the summer after.
const FIRST_DAY: i64 = -60;
const LAST_DAY: i64 = 560;
/// Prior of a date's standard deviation: median, days, and standard deviation of its logarithm (project choice: years differ by a
/// week or so; wide).
const CLIMATE_SPREAD: (f64, f64) = (8.0, 1.0);
/// Prior standard deviation of what a surface 1 degC warmer does to the date, days (project choice, wide).
const SLOPE_SPREAD_DAYS: f64 = 5.0;
/// Prior standard deviation of the shift of the members' dates, days (project choice).
const SHIFT_SPREAD_DAYS: f64 = 5.0;
/// Prior of the members' dressing: median, days, and standard deviation of its logarithm (project choice).
const DRESSING: (f64, f64) = (3.0, 0.5);
/// Least probability of an interval that a fit reckons with: one year that nothing explains is not to turn all others round.
const LEAST_PROB: f64 = 1e-12;
const SEARCH: SimplexSearch = SimplexSearch {
    evaluations: 600,
    value_within: 1e-6,
    corner_within: 1e-3,
};

/// What is known of a year's date: after the end of one day and by the end of another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Known {
    pub after_day: i64,
    pub by_day: i64,
}

impl Known {
    pub fn gap_days(self) -> i64 {
        self.by_day - self.after_day
    }

    /// Whether the interval counts as a single day.
    pub fn is_date(self) -> bool {
        self.gap_days() <= LONGEST_GAP_DAYS
    }

    /// As it is scored: the middle day of an interval of at most ten, else the interval.
    pub fn scored(self) -> Known {
        match self.is_date() {
            true => {
                let by_day = self.after_day + (self.gap_days() + 1) / 2;
                Known {
                    after_day: by_day - 1,
                    by_day,
                }
            }
            false => self,
        }
    }

    /// Probability of a normal date with this mean and spread.
    fn normal_prob(self, mean_days: f64, sd_days: f64) -> f64 {
        let at = |day: i64| Normal::standard().cdf((day as f64 + 0.5 - mean_days) / sd_days);
        at(self.by_day) - at(self.after_day)
    }
}

/// A normal date whose mean may go with a number known at the issue.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct NormalDate {
    /// Mean, logarithm of the standard deviation, and days a unit of the number where it is used.
    at: Vec<f64>,
    years: usize,
}

impl NormalDate {
    /// From other years, each with the number; `None` of fewer than three.
    pub fn fit(years: &[(f64, Known)], with_slope: bool) -> Option<NormalDate> {
        if years.len() < 3 {
            return None;
        }
        let middle = |known: &Known| 0.5 * (known.after_day + known.by_day + 1) as f64;
        let start_days = years.iter().map(|(_, known)| middle(known)).sum::<f64>() / years.len() as f64;
        let cost = |at: &[f64]| {
            let slope_days = at.get(2).copied().unwrap_or(0.0);
            let sd_days = at[1].exp();
            let likelihood: f64 = years
                .iter()
                .map(|(x, known)| {
                    known
                        .normal_prob(at[0] + slope_days * x, sd_days)
                        .max(LEAST_PROB)
                        .ln()
                })
                .sum();
            let spread = (at[1] - CLIMATE_SPREAD.0.ln()) / CLIMATE_SPREAD.1;
            0.5 * (spread.powi(2) + (slope_days / SLOPE_SPREAD_DAYS).powi(2)) - likelihood
        };
        let (mut start, mut step) = (vec![start_days, CLIMATE_SPREAD.0.ln()], vec![5.0, 0.5]);
        if with_slope {
            start.push(0.0);
            step.push(1.0);
        }
        let found = lowest(cost, &start, &step, SEARCH)?;
        Some(NormalDate {
            at: found.at,
            years: years.len(),
        })
    }

    /// Mean of the date without the number.
    pub fn mean_days(&self) -> f64 {
        self.at[0]
    }

    /// The forecast where the number is `x`. The spread is widened by `sqrt((n + 1) / (n - p))`, with p = the parameters of the
    /// mean: a few years do not know it better.
    pub fn forecast(&self, x: f64, after_day: Option<i64>) -> Result<DayForecast, SkillError> {
        let mean_days = self.at[0] + self.at.get(2).copied().unwrap_or(0.0) * x;
        let (n, of_mean) = (self.years as f64, (self.at.len() - 1) as f64);
        let sd_days = self.at[1].exp() * ((n + 1.0) / (n - of_mean)).sqrt();
        forecast_of(&[mean_days], sd_days, after_day)
    }
}

/// What turns the members' dates into a forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dressing {
    /// Added to every member's date.
    pub shift_days: f64,
    /// Standard deviation about each.
    pub sd_days: f64,
}

impl Dressing {
    /// From the members of other years.
    pub fn fit(years: &[(Vec<i64>, Known)]) -> Dressing {
        let cost = |at: &[f64]| {
            let sd_days = at[1].exp();
            let likelihood: f64 = years
                .iter()
                .map(|(members, known)| {
                    let prob: f64 = members
                        .iter()
                        .map(|day| known.normal_prob(*day as f64 + at[0], sd_days))
                        .sum();
                    (prob / members.len().max(1) as f64).max(LEAST_PROB).ln()
                })
                .sum();
            let spread = (at[1] - DRESSING.0.ln()) / DRESSING.1;
            0.5 * ((at[0] / SHIFT_SPREAD_DAYS).powi(2) + spread.powi(2)) - likelihood
        };
        let found = lowest(cost, &[0.0, DRESSING.0.ln()], &[3.0, 0.3], SEARCH);
        // The search begins where the function is finite, so that it always finds something.
        let at = found.map_or(vec![0.0, DRESSING.0.ln()], |found| found.at);
        Dressing {
            shift_days: at[0],
            sd_days: at[1].exp(),
        }
    }

    /// The forecast of members so dressed.
    pub fn forecast(&self, members: &[i64], after_day: Option<i64>) -> Result<DayForecast, SkillError> {
        let moved: Vec<f64> = members.iter().map(|day| *day as f64 + self.shift_days).collect();
        forecast_of(&moved, self.sd_days, after_day)
    }
}

/// The members as they are, each a day.
pub(super) fn bare_forecast(members: &[i64], after_day: Option<i64>) -> Result<DayForecast, SkillError> {
    let days = (FIRST_DAY..=LAST_DAY).map(|day| members.iter().filter(|m| **m == day).count() as f64);
    cut(days.collect(), after_day)
}

/// An even mixture of normal dates.
fn forecast_of(mean_days: &[f64], sd_days: f64, after_day: Option<i64>) -> Result<DayForecast, SkillError> {
    let of_day = |day: i64| {
        let one = Known {
            after_day: day - 1,
            by_day: day,
        };
        mean_days
            .iter()
            .map(|mean| one.normal_prob(*mean, sd_days))
            .sum::<f64>()
    };
    cut((FIRST_DAY..=LAST_DAY).map(of_day).collect(), after_day)
}

/// Takes away the days up to `after_day` and scales the rest to 1. Where nothing is left, the next day has it all: what was
/// foreseen is over, and did not come.
fn cut(mut weight: Vec<f64>, after_day: Option<i64>) -> Result<DayForecast, SkillError> {
    let gone = after_day.map_or(0, |day| usize::try_from(day + 1 - FIRST_DAY).unwrap_or(0));
    let gone = gone.min(weight.len() - 1);
    weight[..gone].fill(0.0);
    let sum: f64 = weight.iter().sum();
    if sum > LEAST_PROB {
        weight.iter_mut().for_each(|w| *w /= sum);
    } else {
        weight.fill(0.0);
        weight[gone] = 1.0;
    }
    DayForecast::new(FIRST_DAY as i32, weight)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(day: i64) -> Known {
        Known {
            after_day: day - 1,
            by_day: day,
        }
    }

    #[test]
    fn a_short_interval_is_its_middle_day_and_a_long_one_stays() {
        let scored = |after_day, by_day| Known { after_day, by_day }.scored();
        assert_eq!(scored(299, 300), day(300));
        // By hand: of the days 301 to 310 the middle is 305 or 306.
        assert_eq!(scored(300, 310), day(305));
        assert_eq!(
            scored(300, 311),
            Known {
                after_day: 300,
                by_day: 311
            }
        );
    }

    #[test]
    fn dates_known_to_the_day_give_their_mean_and_a_surface_its_slope() {
        // Three days later for each degree.
        let years: Vec<(f64, Known)> = (-8..=8)
            .map(|k| (0.5 * f64::from(k), day(300 + (1.5 * f64::from(k)).round() as i64)))
            .collect();
        let plain = NormalDate::fit(&years, false).unwrap();
        // By symmetry the mean is 300.
        assert!((plain.mean_days() - 300.0).abs() < 0.05, "{plain:?}");
        let sloped = NormalDate::fit(&years, true).unwrap();
        let warm = sloped.forecast(2.0, None).unwrap();
        // By construction 6 days later, to the rounding of whole days.
        assert!((warm.quantile_day(0.5) - 306).abs() <= 1, "{sloped:?}");
        assert_eq!(NormalDate::fit(&years[..2], false), None);
    }

    #[test]
    fn members_that_are_always_ten_days_early_are_shifted() {
        let years: Vec<(Vec<i64>, Known)> = (0..20)
            .map(|k| (vec![288 + k, 290 + k, 292 + k], day(300 + k)))
            .collect();
        let found = Dressing::fit(&years);
        // The prior of 5 days holds it back by little against twenty years.
        assert!((found.shift_days - 10.0).abs() < 1.0, "{found:?}");
        let forecast = found.forecast(&[288, 290, 292], None).unwrap();
        assert!((forecast.quantile_day(0.5) - 300).abs() <= 1);
    }

    #[test]
    fn what_is_known_to_be_stratified_has_no_probability() {
        let forecast = bare_forecast(&[290, 300, 310, 310], Some(295)).unwrap();
        // By hand: 300 a third, 310 two thirds.
        assert!((forecast.log_score(300).unwrap().log_score - 3f64.ln()).abs() < 1e-12);
        assert_eq!(forecast.quantile_day(0.01), 300);
        assert_eq!(bare_forecast(&[290], Some(295)).unwrap().quantile_day(0.5), 296);
    }
}
