//! What turns the members of an outlook into a forecast, and what the other years teach of it.
//!
//! Made as the references are (`skill::normal_date`): parameters by the greatest likelihood of the other years' intervals, with weak priors.
//! Days are counted from 1 January.

use std::collections::BTreeMap;

use crate::math::simplex::lowest;
use crate::skill::SkillError;
use crate::skill::dates::DayForecast;
use crate::skill::normal_date::{Known, LEAST_PROB, RUN_DATE_SD_DAYS, SEARCH, covered, cut, forecast_of};

/// Prior standard deviation of the shift of the members' dates, days (project choice).
const SHIFT_SPREAD_DAYS: f64 = 5.0;
/// Prior of the members' dressing: its median is that of outlooks without a past; standard deviation of its logarithm (project choice).
const DRESSING: (f64, f64) = (RUN_DATE_SD_DAYS, 0.5);

/// What turns the members' dates into a forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dressing {
    /// Added to every member's date.
    pub shift_days: f64,
    /// Standard deviation about each.
    pub sd_days: f64,
}

impl Dressing {
    /// As outlooks are dressed where no past autumn teaches anything.
    pub const UNTAUGHT: Dressing = Dressing {
        shift_days: 0.0,
        sd_days: RUN_DATE_SD_DAYS,
    };

    /// From the members of other years.
    pub fn fit(years: &[(Vec<i64>, Known)]) -> Dressing {
        // Many members share a day.
        let years: Vec<(Vec<(i64, f64)>, Known)> = years
            .iter()
            .map(|(members, known)| (shares(members), *known))
            .collect();
        let cost = |at: &[f64]| {
            let sd_days = at[1].exp();
            let likelihood: f64 = years
                .iter()
                .map(|(members, known)| {
                    let prob: f64 = members
                        .iter()
                        .map(|(day, share)| share * known.normal_prob(*day as f64 + at[0], sd_days))
                        .sum();
                    prob.max(LEAST_PROB).ln()
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

/// The days of members, each with its share of them.
fn shares(members: &[i64]) -> Vec<(i64, f64)> {
    let mut counts: BTreeMap<i64, f64> = BTreeMap::new();
    for day in members {
        *counts.entry(*day).or_insert(0.0) += 1.0 / members.len() as f64;
    }
    counts.into_iter().collect()
}

/// The members as they are, each a day.
pub(super) fn bare_forecast(members: &[i64], after_day: Option<i64>) -> Result<DayForecast, SkillError> {
    let (first, last) = covered(members.iter().copied(), after_day);
    let days = (first..=last).map(|day| members.iter().filter(|m| **m == day).count() as f64);
    cut(first, days.collect(), after_day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn members_that_are_always_ten_days_early_are_shifted() {
        let years: Vec<(Vec<i64>, Known)> = (0..20)
            .map(|k| (vec![288 + k, 290 + k, 292 + k], Known::on(300 + k)))
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
