//! Distributions of a date by whole days, and what other years teach of them. Days are counted in any count that goes up by one a day.
//!
//! Parameters are those of the greatest likelihood of the other years' intervals, with weak priors; days that were known to be
//! stratified at the issue are taken away; the rest is scaled to 1.

use statrs::distribution::{ContinuousCDF, Normal};

use super::SkillError;
use super::dates::DayForecast;
use super::log_score::LogScore;
use crate::column::turnover::LONGEST_GAP_DAYS;
use crate::math::quantiles::mean;
use crate::math::simplex::{SimplexSearch, lowest};

/// Days that a distribution covers before the earliest and after the latest mean that it is made of (project choice: a date is not off by
/// half a year).
const COVERED_DAYS: i64 = 200;
/// Prior of a date's standard deviation: median, days, and standard deviation of its logarithm (project choice: years differ by a
/// week or so; wide).
const CLIMATE_SPREAD: (f64, f64) = (8.0, 1.0);
/// Prior standard deviation of what a surface 1 degC warmer does to the date, days (project choice, wide).
const SLOPE_SPREAD_DAYS: f64 = 5.0;
/// Least probability of an interval that a fit reckons with: one year that nothing explains is not to turn all others round.
pub const LEAST_PROB: f64 = 1e-12;
/// Standard deviation of what the date of a run misses beside its weather and its member of the water at the issue, where no past autumn tells
/// of it, days (project choice).
pub const RUN_DATE_SD_DAYS: f64 = 3.0;
/// Fewest years that tell of a date.
pub const LEAST_YEARS: usize = 3;
/// How a fit searches.
pub const SEARCH: SimplexSearch = SimplexSearch {
    evaluations: 600,
    value_within: 1e-6,
    corner_within: 1e-3,
};

/// What is known of a year's date: after the end of one day and by the end of another, or not yet by the last profile that there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Known {
    /// Last day at whose end it had not happened.
    pub after_day: i64,
    /// Day by whose end it had; `None` where profiles end, or ice comes, before one shows the lake mixed: censored on the right.
    pub by_day: Option<i64>,
}

impl Known {
    /// Of a date known to the day.
    pub fn on(day: i64) -> Known {
        Known {
            after_day: day - 1,
            by_day: Some(day),
        }
    }

    /// Days between; `None` of an interval without an end.
    pub fn gap_days(self) -> Option<i64> {
        self.by_day.map(|by_day| by_day - self.after_day)
    }

    /// Whether the interval counts as a single day.
    pub fn is_date(self) -> bool {
        self.gap_days().is_some_and(|days| days <= LONGEST_GAP_DAYS)
    }

    /// The middle day; `None` of an interval without an end.
    pub fn middle_day(self) -> Option<i64> {
        self.gap_days().map(|days| self.after_day + (days + 1) / 2)
    }

    /// As it is scored: the middle day of an interval of at most ten, else the interval.
    pub fn scored(self) -> Known {
        match self.middle_day().filter(|_| self.is_date()) {
            Some(day) => Known::on(day),
            None => self,
        }
    }

    /// CRPS of a forecast, days: over the days on which it is known whether it had happened.
    ///
    /// # Errors
    /// [`SkillError`] when the interval holds no day.
    pub fn crps_days(self, forecast: &DayForecast) -> Result<f64, SkillError> {
        match self.by_day {
            Some(by_day) => forecast.interval_crps_days(self.after_day, by_day),
            None => Ok(forecast.crps_to_days(None, self.after_day)),
        }
    }

    /// Log score of a forecast: of the interval, or of all that comes after its beginning.
    ///
    /// # Errors
    /// [`SkillError`] when the interval holds no day.
    pub fn log_score(self, forecast: &DayForecast) -> Result<LogScore, SkillError> {
        match self.by_day {
            Some(by_day) => forecast.interval_log_score(self.after_day, by_day),
            None => forecast.censored_log_score(self.after_day),
        }
    }

    /// Probability of a normal date with this mean and spread.
    pub fn normal_prob(self, mean_days: f64, sd_days: f64) -> f64 {
        let until_sds = |day: i64| (day as f64 + 0.5 - mean_days) / sd_days;
        let up_to = |day: i64| Normal::standard().cdf(until_sds(day));
        match self.by_day {
            Some(by_day) => up_to(by_day) - up_to(self.after_day),
            // The upper tail by itself: 1 less the lower one loses a small probability in rounding.
            None => Normal::standard().cdf(-until_sds(self.after_day)),
        }
    }
}

/// A normal date whose mean may go with a number known at the issue.
#[derive(Debug, Clone, PartialEq)]
pub struct NormalDate {
    /// Mean, logarithm of the standard deviation, and days a unit of the number where it is used.
    at: Vec<f64>,
    years: usize,
}

impl NormalDate {
    /// From other years, each with the number; `None` of fewer than three that were seen to end. A year that was not says that its
    /// date is later than its last profile.
    pub fn fit(years: &[(f64, Known)], with_slope: bool) -> Option<NormalDate> {
        let middles = years.iter().filter_map(|(_, known)| known.middle_day());
        let middles: Vec<f64> = middles.map(|day| day as f64).collect();
        let start_days = mean(&middles).filter(|_| middles.len() >= LEAST_YEARS)?;
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
            years: middles.len(),
        })
    }

    /// Mean of the date without the number.
    pub fn mean_days(&self) -> f64 {
        self.at[0]
    }

    /// The forecast where the number is `x`, without days up to `after_day`. The spread is widened by `sqrt((n + 1) / (n - p))`, with p = the parameters of the
    /// mean: a few years do not know it better.
    ///
    /// # Errors
    /// None for a fit of finite numbers.
    pub fn forecast(&self, x: f64, after_day: Option<i64>) -> Result<DayForecast, SkillError> {
        let mean_days = self.at[0] + self.at.get(2).copied().unwrap_or(0.0) * x;
        let (n, of_mean) = (self.years as f64, (self.at.len() - 1) as f64);
        let sd_days = self.at[1].exp() * ((n + 1.0) / (n - of_mean)).sqrt();
        forecast_of(&[mean_days], sd_days, after_day)
    }
}

/// An even mixture of normal dates, without the days up to `after_day`.
///
/// # Errors
/// None for finite numbers.
pub fn forecast_of(
    mean_days: &[f64],
    sd_days: f64,
    after_day: Option<i64>,
) -> Result<DayForecast, SkillError> {
    let of_day = |day: i64| {
        mean_days
            .iter()
            .map(|mean| Known::on(day).normal_prob(*mean, sd_days))
            .sum::<f64>()
    };
    // A mean is a day of a calendar, far within.
    let (first, last) = covered(mean_days.iter().map(|mean| mean.round() as i64), after_day);
    cut(first, (first..=last).map(of_day).collect(), after_day)
}

/// First and last day of a distribution about these, with one day at least after `after_day`.
pub fn covered(days: impl Iterator<Item = i64>, after_day: Option<i64>) -> (i64, i64) {
    let about = |(low, high): (i64, i64), day: i64| (low.min(day), high.max(day));
    let (low, high) = days
        .map(|day| (day, day))
        .reduce(|all, (day, _)| about(all, day))
        .unwrap_or((0, 0));
    let last = after_day.map_or(high, |after_day| high.max(after_day + 1));
    (low - COVERED_DAYS, last + COVERED_DAYS)
}

/// Takes away the days up to `after_day` and scales the rest to 1. Where nothing is left, the next day has it all: what was
/// foreseen is over, and did not come. The first weight is that of `first_day`.
///
/// # Errors
/// None for weights that are finite and not negative.
pub fn cut(first_day: i64, mut weight: Vec<f64>, after_day: Option<i64>) -> Result<DayForecast, SkillError> {
    let gone = after_day.map_or(0, |day| usize::try_from(day + 1 - first_day).unwrap_or(0));
    let gone = gone.min(weight.len() - 1);
    weight[..gone].fill(0.0);
    let sum: f64 = weight.iter().sum();
    if sum > LEAST_PROB {
        weight.iter_mut().for_each(|w| *w /= sum);
    } else {
        weight.fill(0.0);
        weight[gone] = 1.0;
    }
    // Days of a calendar are far within.
    DayForecast::new(first_day.clamp(i32::MIN.into(), i32::MAX.into()) as i32, weight)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_interval_is_its_middle_day_and_a_long_or_open_one_stays() {
        let known = |after_day, by_day| Known { after_day, by_day };
        assert_eq!(known(299, Some(300)).scored(), Known::on(300));
        // By hand: of the days 301 to 310 the middle is 305 or 306.
        assert_eq!(known(300, Some(310)).scored(), Known::on(305));
        for stays in [known(300, Some(311)), known(300, None)] {
            assert_eq!(stays.scored(), stays);
            assert!(!stays.is_date());
        }
    }

    #[test]
    fn an_open_interval_has_the_scores_of_the_closed_form() {
        let (mean_days, sd_days) = (300.0, 8.0);
        let forecast = forecast_of(&[mean_days], sd_days, None).unwrap();
        let normal = Normal::standard();
        for last in [280, 295, 300, 307, 330] {
            let known = Known {
                after_day: last,
                by_day: None,
            };
            let crps_days = known.crps_days(&forecast).unwrap();
            // Closed form of the integral of the squared normal distribution function up to c (Gradshteyn & Ryzhik; by parts):
            // c F(c)^2 + 2 f(c) F(c) - F(sqrt(2) c) / sqrt(pi), here in standard deviations.
            let c = (last as f64 + 1.0 - mean_days) / sd_days;
            let (f, whole) = (
                (-0.5 * c * c).exp() / (2.0 * std::f64::consts::PI).sqrt(),
                normal.cdf(c),
            );
            let root = std::f64::consts::PI.sqrt();
            let wanted = sd_days * (c * whole * whole + 2.0 * f * whole - normal.cdf(2f64.sqrt() * c) / root);
            // Whole days are the midpoint rule of that integral, off by a twenty-fourth of the slope at its end, and less than that again.
            let slope = 2.0 * f * whole / sd_days;
            assert!(
                (crps_days - wanted).abs() <= slope / 24.0 + 1e-3,
                "{last} {crps_days} {wanted}"
            );
            let log = -(1.0 - normal.cdf((last as f64 + 0.5 - mean_days) / sd_days)).ln();
            // The distribution is cut 200 days off, 25 standard deviations.
            let floor = crate::skill::log_score::FLOOR_PROB;
            assert!(
                (known.log_score(&forecast).unwrap().log_score - log.min(-floor.ln())).abs() < 1e-9,
                "{last}"
            );
        }
    }

    #[test]
    fn open_intervals_move_the_mean_by_what_is_known_of_them() {
        let dates: Vec<(f64, Known)> = (-6..=6).map(|k| (0.0, Known::on(300 + 2 * k))).collect();
        let plain = NormalDate::fit(&dates, false).unwrap();
        let with = |after_day: i64| {
            let mut dates = dates.clone();
            dates.extend(
                [(
                    0.0,
                    Known {
                        after_day,
                        by_day: None,
                    },
                ); 4],
            );
            NormalDate::fit(&dates, false).unwrap().mean_days()
        };
        // After a day long before all dates: nothing is known. After one later than most of them: the date is late.
        assert!((with(200) - plain.mean_days()).abs() < 0.1);
        assert!(with(308) > plain.mean_days() + 2.0, "{}", with(308));
        let open = [(
            0.0,
            Known {
                after_day: 300,
                by_day: None,
            },
        ); 5];
        assert_eq!(NormalDate::fit(&open, false), None);
    }

    #[test]
    fn dates_known_to_the_day_give_their_mean_and_a_surface_its_slope() {
        // Three days later for each degree.
        let years: Vec<(f64, Known)> = (-8..=8)
            .map(|k| {
                (
                    0.5 * f64::from(k),
                    Known::on(300 + (1.5 * f64::from(k)).round() as i64),
                )
            })
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
}
