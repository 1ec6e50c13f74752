//! The release of the days ahead: as planned where the operator has said so, else as it stands, with a spread that
//! grows.

use chrono::NaiveDate;
use rand_chacha::ChaCha12Rng;

use super::climate::{day_of_year, is_same_season};
use crate::lake::PlannedRelease;
use crate::math::quantiles::quantiles;
use crate::math::streams::normal;
use crate::series::Daily;

/// Days over which changes of the release are measured, and either side of the day of the year (project choices).
const CHANGE_DAYS: usize = 7;
const SEASON_DAYS: usize = 30;
/// Changes needed (project choice).
pub const RELEASE_MIN_CHANGES: usize = 30;
/// Deviation of what is released from what was planned (common practice, no source: operators change plans).
const PLAN_SD_FRAC: f64 = 0.05;
/// Distance of the 10 % and 90 % quantiles of a normal distribution, in standard deviations.
const TEN_TO_NINETY_SD: f64 = 2.563_103;

/// The model of one morning: `R_k = max(0, R_(k-1) + s z_k)`; on planned days `R_k = P_k (1 + 0.05 z)` with one `z` a
/// member, and from the last of them on it persists again.
///
/// Persistence, for a gate stands where it was set; `s` such that the spread after 7 days is that of the record's 7-day
/// changes within 30 days of the day of the year, by their 10 % and 90 % quantiles (a few great changes
/// would widen every day otherwise). Project choice. A release does not fall below 0, since nothing
/// flows back.
#[derive(Debug, Clone, PartialEq)]
pub struct ReleaseModel {
    /// Release of the newest day.
    pub newest_m3s: f64,
    /// Deviation of a day's change.
    pub step_sd_m3s: f64,
    /// Planned release; `None` on days without a plan, and beyond the end. Shape `[lead]`, the newest day first.
    pub planned_m3s: Vec<Option<f64>>,
}

impl ReleaseModel {
    /// The model at entry `end` of the record. `None` where that day has no release, or the record has fewer
    /// than 30 changes.
    pub fn fit(release: &Daily, end: usize) -> Option<ReleaseModel> {
        let newest_m3s = release.value.get(end).copied().flatten()?;
        let today = day_of_year(release, end);
        let change = |i: usize| Some(release.value[i]? - release.value[i - CHANGE_DAYS]?);
        let in_season = |i: &usize| is_same_season(day_of_year(release, *i), today, SEASON_DAYS);
        let changes_m3s: Vec<f64> = (CHANGE_DAYS..=end).filter(in_season).filter_map(change).collect();
        if changes_m3s.len() < RELEASE_MIN_CHANGES {
            return None;
        }
        let [low_m3s, high_m3s] = quantiles(&changes_m3s, [0.1, 0.9])?;
        let week_sd_m3s = (high_m3s - low_m3s) / TEN_TO_NINETY_SD;
        Some(ReleaseModel {
            newest_m3s,
            step_sd_m3s: week_sd_m3s / (CHANGE_DAYS as f64).sqrt(),
            planned_m3s: Vec::new(),
        })
    }

    /// The same with the plan of the lake file, from the newest day `newest` on.
    pub fn with_plan(mut self, plans: &[PlannedRelease], newest: NaiveDate, leads: usize) -> ReleaseModel {
        let planned = |date: NaiveDate| plans.iter().find(|p| (p.from..=p.until).contains(&date));
        self.planned_m3s = newest
            .iter_days()
            .take(leads + 1)
            .enumerate()
            // The newest day is observed, whatever was planned for it.
            .map(|(lead, date)| planned(date).filter(|_| lead > 0).map(|p| p.flow_m3s))
            .collect();
        self
    }

    /// One member: releases of the newest day and `leads` days after it. Shape `[lead]`.
    pub fn draw_m3s(
        &self,
        leads: usize,
        numbers: &mut ChaCha12Rng,
        plan_numbers: &mut ChaCha12Rng,
    ) -> Vec<f64> {
        let mut release_m3s = self.newest_m3s.max(0.0);
        let mut path_m3s = vec![release_m3s];
        // A gate set by a plan is off by one share on all of its days.
        let off_frac = 1.0 + PLAN_SD_FRAC * normal(plan_numbers);
        for lead in 1..=leads {
            let step_m3s = self.step_sd_m3s * normal(numbers);
            release_m3s = match self.planned_m3s.get(lead).copied().flatten() {
                Some(planned_m3s) => (planned_m3s * off_frac).max(0.0),
                None => (release_m3s + step_m3s).max(0.0),
            };
            path_m3s.push(release_m3s);
        }
        path_m3s
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::streams::stream;

    #[test]
    fn the_spread_of_a_release_grows_and_it_never_flows_back() {
        let first = NaiveDate::from_ymd_opt(2024, 1, 1).unwrap();
        // Weeks of 5 and of 25: half of the 7-day changes are +20, half -20.
        let weeks = |i: usize| Some(if (i / 7).is_multiple_of(2) { 5.0 } else { 25.0 });
        let record = Daily::new(first, (0..400).map(weeks).collect());
        let model = ReleaseModel::fit(&record, 391).unwrap();
        // By hand: 40 / 2.563 after 7 days, over the root of 7.
        assert!(
            (model.step_sd_m3s - 40.0 / 2.563 / 7.0_f64.sqrt()).abs() < 0.01,
            "{model:?}"
        );
        let paths: Vec<Vec<f64>> = (0..300)
            .map(|m| {
                model.draw_m3s(
                    16,
                    &mut stream(1, &format!("{m}")),
                    &mut stream(1, &format!("plan/{m}")),
                )
            })
            .collect();
        let spread = |lead: usize| {
            let at: Vec<f64> = paths.iter().map(|p| p[lead]).collect();
            let [low, high] = quantiles(&at, [0.1, 0.9]).unwrap();
            high - low
        };
        assert!(spread(0) == 0.0 && spread(2) > 0.0 && spread(16) > spread(2));
        assert!(paths.iter().flatten().all(|r| *r >= 0.0));
    }

    #[test]
    fn a_plan_holds_on_its_days_and_the_release_stands_where_it_ends() {
        let day = |d| NaiveDate::from_ymd_opt(2025, 10, d).unwrap();
        let plan = PlannedRelease {
            from: day(3),
            until: day(5),
            flow_m3s: 40.0,
            source: "invented".to_owned(),
        };
        let still = ReleaseModel {
            newest_m3s: 10.0,
            step_sd_m3s: 1.0,
            planned_m3s: Vec::new(),
        };
        let model = still.with_plan(&[plan], day(1), 8);
        let paths: Vec<Vec<f64>> = (0..400)
            .map(|m| {
                model.draw_m3s(
                    8,
                    &mut stream(2, &format!("{m}")),
                    &mut stream(2, &format!("plan/{m}")),
                )
            })
            .collect();
        let at = |lead: usize| {
            let drawn: Vec<f64> = paths.iter().map(|p| p[lead]).collect();
            let [low, middle, high] = quantiles(&drawn, [0.1, 0.5, 0.9]).unwrap();
            (middle, high - low)
        };
        // Leads 2 to 4 are 3 to 5 October: 40 give or take 5 %; 2.563 x 2 = 5.1 wide. Sampling error of a median of
        // 400: 1.25 x 2 / 20 = 0.13, of the width about 7 %.
        for lead in 2..=4 {
            let (middle, width) = at(lead);
            assert!(
                (middle - 40.0).abs() < 0.5 && (width - 5.1).abs() < 1.0,
                "{lead}: {middle} {width}"
            );
        }
        assert!((at(1).0 - 10.0).abs() < 0.3, "before it, as it stands");
        let (middle, width) = at(8);
        assert!(
            (middle - 40.0).abs() < 0.7 && width > at(4).1,
            "after it, from the plan, wider: {width}"
        );
        assert_eq!(paths[0][2], paths[0][4], "one share a member");
    }

    #[test]
    fn without_todays_release_or_a_season_of_changes_there_is_no_model() {
        let first = NaiveDate::from_ymd_opt(2024, 1, 1).unwrap();
        let mut record = Daily::new(first, vec![Some(5.0); 100]);
        assert!(ReleaseModel::fit(&record, 99).is_some());
        assert_eq!(ReleaseModel::fit(&record, 30), None);
        record.value[99] = None;
        assert_eq!(ReleaseModel::fit(&record, 99), None);
    }
}
