//! Scores of a forecast of a date: probabilities of whole days.

use super::SkillError;
use super::checks::distribution;
use super::log_score::{LogScore, log_score};

/// Probabilities of the days on which something may happen once, such as the autumn turnover.
#[derive(Debug, Clone, PartialEq)]
pub struct DayForecast {
    first_day: i64,
    day_prob: Vec<f64>,
}

impl DayForecast {
    /// Probabilities of `first_day` and the days after it; days in any count that goes up by one a day.
    ///
    /// # Errors
    /// [`SkillError`] when they do not add up to 1 (to within 1e-6) or one is outside 0 to 1.
    pub fn new(first_day: i32, day_prob: Vec<f64>) -> Result<DayForecast, SkillError> {
        distribution("probabilities of days", &day_prob)?;
        Ok(DayForecast {
            first_day: i64::from(first_day),
            day_prob,
        })
    }

    /// Last day with a probability of its own.
    fn last_day(&self) -> i64 {
        self.first_day + self.day_prob.len() as i64 - 1
    }

    /// Probability that it happens after `after_day` and up to the end of `by_day`.
    fn between_prob(&self, after_day: i64, by_day: i64) -> f64 {
        let sum: f64 = (self.first_day..)
            .zip(&self.day_prob)
            .filter(|(day, _)| *day > after_day && *day <= by_day)
            .map(|(_, p)| p)
            .sum();
        // The sum of all may be off 1 by what the constructor lets pass; a probability is never more than 1.
        sum.min(1.0)
    }

    /// CRPS in days, `sum_t (F(t) - H(t))^2` over all days `t`: `F(t)` is the probability up to the end of day
    /// `t`, `H(t)` is 1 from `observed_day` on. For a forecast of one certain day it is the error in days.
    ///
    /// Source: the sum in place of the integral of Hersbach 2000, which it equals for whole days.
    pub fn crps_days(&self, observed_day: i64) -> f64 {
        let end = self.last_day().max(observed_day);
        self.squares_days(Some(observed_day), end)
    }

    /// CRPS in days that counts the days up to the end of `last_day` only (threshold-weighted with weight 1
    /// up to it and 0 after): for seasons in which nobody looked any longer, or in which it had not happened
    /// by then (`observed_day` none, or later).
    ///
    /// Source: Gneiting & Ranjan 2011, with whole days.
    pub fn crps_to_days(&self, observed_day: Option<i64>, last_day: i64) -> f64 {
        self.squares_days(observed_day, last_day)
    }

    /// CRPS in days of a season of which only an interval is known: it happened after the end of `after_day` and by the end of
    /// `by_day`. `sum_t (F(t) - H(t))^2` over the days up to `after_day`, on which `H` is 0, and from `by_day` on, on which it is
    /// 1; the days between say nothing and do not count (threshold-weighted with weight 0 there). Of an interval of
    /// one day it is [`DayForecast::crps_days`] of that day; of a wider one never more than that of any day in it.
    ///
    /// Source: Gneiting & Ranjan 2011, with whole days.
    ///
    /// # Errors
    /// [`SkillError::Undefined`] when the interval holds no day.
    pub fn interval_crps_days(&self, after_day: i64, by_day: i64) -> Result<f64, SkillError> {
        if by_day <= after_day {
            return Err(SkillError::Undefined {
                what: "the CRPS of an interval of days",
                wanted: "an interval that ends after its beginning",
            });
        }
        let before_days = self.squares_days(None, after_day);
        // From the interval's last day on: all that counts with that day observed, less what comes before it.
        let until_days = self.squares_days(None, by_day.saturating_sub(1));
        Ok(before_days + (self.crps_days(by_day) - until_days).max(0.0))
    }

    /// First day by whose end the probability has come to `prob`; the last day with a probability of its own where it never does.
    pub fn quantile_day(&self, prob: f64) -> i64 {
        let mut sum_prob = 0.0;
        (self.first_day..)
            .zip(&self.day_prob)
            .find(|(_, p)| {
                sum_prob += **p;
                sum_prob >= prob
            })
            .map_or(self.last_day(), |(day, _)| day)
    }

    fn squares_days(&self, observed_day: Option<i64>, end: i64) -> f64 {
        let happened = |day: i64| observed_day.is_some_and(|o| day >= o);
        // Before the first day F is 0, so that each day from the observed one on counts whole.
        let before = observed_day.map_or(0, |o| {
            (self.first_day.min(end.saturating_add(1)).saturating_sub(o)).max(0)
        });
        let (mut sum_prob, mut squares) = (0.0, before as f64);
        for (day, p) in (self.first_day..).zip(&self.day_prob) {
            if day > end {
                return squares;
            }
            sum_prob += p;
            squares += (sum_prob - f64::from(u8::from(happened(day)))).powi(2);
        }
        // After the last day F is 1: each day up to the observed one, or the end, counts whole.
        let until = observed_day.map_or(end, |o| end.min(o.saturating_sub(1)));
        squares + until.saturating_sub(self.last_day()).max(0) as f64
    }

    /// Log score in nats of the day on which it happened, `-ln P(T = observed_day)`, with the floor of
    /// [`log_score`].
    ///
    /// # Errors
    /// None for a forecast that was made by [`DayForecast::new`].
    pub fn log_score(&self, observed_day: i64) -> Result<LogScore, SkillError> {
        log_score(self.between_prob(observed_day.saturating_sub(1), observed_day))
    }

    /// Log score of a season that was censored on the right: it had not happened by the end of `last_day`,
    /// `-ln P(T > last_day)`.
    ///
    /// # Errors
    /// As [`DayForecast::log_score`].
    pub fn censored_log_score(&self, last_day: i64) -> Result<LogScore, SkillError> {
        log_score(self.between_prob(last_day, i64::MAX))
    }

    /// Log score of a season of which only an interval is known: it happened after the end of `after_day` and
    /// by the end of `by_day`, `-ln P(after_day < T <= by_day)`.
    ///
    /// # Errors
    /// [`SkillError::Undefined`] when the interval holds no day.
    pub fn interval_log_score(&self, after_day: i64, by_day: i64) -> Result<LogScore, SkillError> {
        if by_day <= after_day {
            return Err(SkillError::Undefined {
                what: "the log score of an interval of days",
                wanted: "an interval that ends after its beginning",
            });
        }
        log_score(self.between_prob(after_day, by_day))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn certain(day: i32) -> DayForecast {
        DayForecast::new(day, vec![1.0]).unwrap()
    }

    #[test]
    fn of_a_certain_day_the_score_is_the_error_in_days() {
        for observed in 290..310 {
            assert_eq!(
                certain(300).crps_days(observed),
                (observed - 300).abs() as f64,
                "{observed}"
            );
        }
    }

    #[test]
    fn days_after_the_last_do_not_count() {
        // By hand: certain of day 300, nothing by the end of day 305: days 300 to 305, each wholly wrong.
        assert_eq!(certain(300).crps_to_days(None, 305), 6.0);
        // Certain of day 310: nothing said yet about days up to 305.
        assert_eq!(certain(310).crps_to_days(None, 305), 0.0);
        // It happened on day 303 and was expected on day 310: days 303 to 305.
        assert_eq!(certain(310).crps_to_days(Some(303), 305), 3.0);
        // It happened after the last day: the same as not at all.
        assert_eq!(
            certain(300).crps_to_days(Some(320), 305),
            certain(300).crps_to_days(None, 305)
        );
        // The end lies before the first day.
        assert_eq!(certain(310).crps_to_days(Some(320), 305), 0.0);
    }

    #[test]
    fn an_interval_of_one_day_is_that_day() {
        let forecast = DayForecast::new(300, vec![0.25, 0.5, 0.25]).unwrap();
        assert_eq!(forecast.interval_log_score(300, 301), forecast.log_score(301));
        assert!(matches!(
            forecast.interval_log_score(301, 301),
            Err(SkillError::Undefined { .. })
        ));
        assert!(forecast.log_score(400).unwrap().floored);
        assert!(forecast.censored_log_score(302).unwrap().floored);
        assert_eq!(forecast.censored_log_score(299).unwrap().log_score, 0.0);
    }

    #[test]
    fn inside_an_interval_days_do_not_count() {
        let forecast = DayForecast::new(300, vec![0.25, 0.5, 0.25]).unwrap();
        // By hand: F is 0.25, 0.75, 1 on days 300 to 302. It happened on 301 or 302: 0.25^2 of day 300, nothing of day 301.
        assert_eq!(forecast.interval_crps_days(300, 302).unwrap(), 0.0625);
        // On 303 or 304: 0.25^2 + 0.75^2 + 1 of the days up to 302.
        assert_eq!(forecast.interval_crps_days(302, 304).unwrap(), 1.625);
        // On 297 to 299, one of them: from 299 on, 1 + 0.75^2 + 0.25^2.
        assert_eq!(forecast.interval_crps_days(296, 299).unwrap(), 1.625);
        for day in 290..310 {
            let one_day = forecast.interval_crps_days(day - 1, day).unwrap();
            // Sums of a few squares, taken apart and put together.
            assert!((one_day - forecast.crps_days(day)).abs() < 1e-12, "{day}");
        }
        assert!(forecast.interval_crps_days(300, 300).is_err());
    }

    #[test]
    fn a_quantile_is_the_day_by_whose_end_it_is_reached() {
        let forecast = DayForecast::new(300, vec![0.25, 0.5, 0.25]).unwrap();
        let days = [0.1, 0.25, 0.5, 0.9, 1.0].map(|prob| forecast.quantile_day(prob));
        assert_eq!(days, [300, 300, 301, 302, 302]);
    }

    #[test]
    fn what_is_no_distribution_is_refused() {
        assert!(DayForecast::new(1, vec![]).is_err());
        assert!(DayForecast::new(1, vec![0.5, 0.4]).is_err());
        assert!(DayForecast::new(1, vec![f64::NAN]).is_err());
    }
}
