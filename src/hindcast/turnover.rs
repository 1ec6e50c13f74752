//! Dates of the autumn turnover, modelled and observed.
//!
//! What counts as turned over, `column::turnover` says.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::observed::ObservedProfile;
use super::pairs::ModelledDay;
pub use crate::column::turnover::{Hemisphere, Mixing};
use crate::column::turnover::{MixDay, deep_columns, mixings};

/// One year's turnover.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TurnoverYear {
    /// Year of the summer before.
    pub year: i32,
    /// Observed: between two profiles; `None` where no profile tells.
    pub observed: Option<Mixing>,
    /// Modelled; `None` where the model did not turn over, or was not run so long.
    pub modelled: Option<NaiveDate>,
    /// Modelled less the middle of the observed interval; `None` where that is longer than 10 days, or a date is
    /// missing.
    pub error_days: Option<f64>,
}

/// All years.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TurnoverReport {
    /// By year.
    pub years: Vec<TurnoverYear>,
    /// Years scored.
    pub scored: usize,
    /// Mean size of the error over them.
    pub mean_absolute_days: Option<f64>,
    /// Mean error: positive where the model is late.
    pub bias_days: Option<f64>,
}

/// Columns of the profiles that reach near the bottom.
pub(super) fn observed_columns(profiles: &[ObservedProfile]) -> Vec<MixDay> {
    deep_columns(
        profiles
            .iter()
            .map(|p| (p.day, p.depth_m.as_slice(), p.value.as_slice())),
    )
}

/// Turnover year by year. An observed date is the interval from the last stratified to the first mixed profile, scored
/// against its middle and only where it is no longer than 10 days.
pub fn turnover_report(
    profiles: &[ObservedProfile],
    days: &[ModelledDay],
    hemisphere: Hemisphere,
) -> TurnoverReport {
    let seen = mixings(&observed_columns(profiles), hemisphere);
    let modelled_columns: Vec<MixDay> = days
        .iter()
        .filter_map(|d| MixDay::of(d.day, &d.depth_m, &d.temp_degc))
        .collect();
    let modelled = mixings(&modelled_columns, hemisphere);
    let of = |list: &[(i32, Mixing)], year: i32| list.iter().find(|m| m.0 == year).map(|m| m.1);
    let mut years: Vec<i32> = modelled_columns
        .iter()
        .map(|c| hemisphere.year_of(c.day))
        .collect();
    years.dedup();
    let years: Vec<TurnoverYear> = years
        .into_iter()
        .map(|year| {
            let (observed, modelled) = (of(&seen, year), of(&modelled, year).map(|m| m.first_mixed));
            TurnoverYear {
                year,
                observed,
                modelled,
                error_days: observed.zip(modelled).and_then(|(o, m)| error_days(o, m)),
            }
        })
        .collect();
    let errors: Vec<f64> = years.iter().filter_map(|y| y.error_days).collect();
    let mean = |of: fn(f64) -> f64| {
        let sum: f64 = errors.iter().map(|e| of(*e)).sum();
        (!errors.is_empty()).then(|| sum / errors.len() as f64)
    };
    TurnoverReport {
        scored: errors.len(),
        mean_absolute_days: mean(f64::abs),
        bias_days: mean(|e| e),
        years,
    }
}

fn error_days(observed: Mixing, modelled: NaiveDate) -> Option<f64> {
    let since = (modelled - observed.last_stratified).num_days();
    let middle_days = since as f64 - 0.5 * observed.gap_days() as f64;
    observed.date().map(|_| middle_days)
}

/// Days on which the columns of a run of mixed days begin; for a picture.
pub fn modelled_turnovers(days: &[ModelledDay], hemisphere: Hemisphere) -> Vec<NaiveDate> {
    turnover_report(&[], days, hemisphere)
        .years
        .iter()
        .filter_map(|y| y.modelled)
        .collect()
}

#[cfg(test)]
mod tests {
    use chrono::{Datelike as _, Days};

    use super::*;

    /// 25 degC at the top on 1 August, a quarter of a degree less each day either way, over 5 degC from 10 m on.
    fn day(day: NaiveDate) -> ModelledDay {
        let summer = NaiveDate::from_ymd_opt(day.year(), 8, 1).unwrap();
        let away = (day - summer).num_days().abs() as f64;
        let top = (25.0 - 0.25 * away).max(5.0);
        ModelledDay {
            day,
            depth_m: vec![0.0, 2.0, 10.0, 20.0],
            temp_degc: vec![top, top, 5.0, 5.0],
            oxygen_mg_l: None,
            surface_elevation_m: 0.0,
            ice_m: 0.0,
        }
    }

    fn year_of_days() -> Vec<ModelledDay> {
        let first = NaiveDate::from_ymd_opt(2020, 1, 1).unwrap();
        first.iter_days().take(366).map(day).collect()
    }

    fn profiles(every: u64, from: NaiveDate, count: usize) -> Vec<ObservedProfile> {
        (0..count)
            .map(|i| day(from + Days::new(every * i as u64)))
            .map(|d| ObservedProfile {
                day: d.day,
                time: d.day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
                depth_m: d.depth_m,
                value: d.temp_degc,
            })
            .collect()
    }

    #[test]
    fn the_day_on_which_density_is_even_is_found() {
        let report = turnover_report(&[], &year_of_days(), Hemisphere::North);
        // By hand: 0.1 kg/m3 over 5 degC is about 2.7 degC (between 3.58 over 4 and 2.13 over 6 degC, rows P5-DT-4 and
        // P5-DT-6), so the top must fall to 7.7 degC: 17.3 / 0.25 = 69.2 days after 1 August, 10 October.
        let found = report.years[0].modelled.unwrap();
        let wanted = NaiveDate::from_ymd_opt(2020, 10, 10).unwrap();
        // The bisection of 2.7 is good to 0.2 degC: a day.
        assert!((found - wanted).num_days().abs() <= 1, "{found}");
        assert_eq!(report.scored, 0);
    }

    #[test]
    fn a_turnover_between_near_profiles_is_scored_and_between_far_ones_is_not() {
        let from = NaiveDate::from_ymd_opt(2020, 6, 1).unwrap();
        let near = turnover_report(&profiles(7, from, 25), &year_of_days(), Hemisphere::North);
        let error_days = near.years[0].error_days.unwrap();
        // The same water, seen every 7 days: within half of that.
        assert!(error_days.abs() <= 3.5, "{error_days}");
        assert_eq!(
            (near.scored, near.mean_absolute_days),
            (1, Some(error_days.abs()))
        );
        let far = turnover_report(&profiles(21, from, 9), &year_of_days(), Hemisphere::North);
        assert!(far.years[0].observed.is_some() && far.scored == 0);
    }

    #[test]
    fn a_lake_that_never_stratifies_has_no_turnover() {
        let mut days = year_of_days();
        days.iter_mut().for_each(|d| d.temp_degc = vec![10.0; 4]);
        let report = turnover_report(&[], &days, Hemisphere::North);
        assert_eq!(report.years.len(), 1);
        assert_eq!(report.years[0].modelled, None);
    }

    #[test]
    fn a_short_mixing_in_a_stratified_spell_is_no_turnover() {
        let mut days = year_of_days();
        let storm = NaiveDate::from_ymd_opt(2020, 9, 1).unwrap();
        for d in days.iter_mut().filter(|d| d.day == storm) {
            d.temp_degc = vec![9.0; 4];
        }
        let report = turnover_report(&[], &days, Hemisphere::North);
        assert_eq!(report.years[0].modelled.unwrap().month(), 10);
    }

    #[test]
    fn in_the_south_the_year_begins_in_july() {
        let day = |month| NaiveDate::from_ymd_opt(2020, month, 1).unwrap();
        assert_eq!(Hemisphere::South.year_of(day(12)), 2021);
        assert_eq!(Hemisphere::South.year_of(day(4)), 2020);
        assert_eq!(Hemisphere::North.year_of(day(12)), 2020);
    }
}
