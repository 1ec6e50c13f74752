//! The release of the days ahead: as today, with a spread that grows.

use rand_chacha::ChaCha12Rng;

use super::climate::{day_of_year, is_same_season};
use crate::math::quantiles::quantiles;
use crate::math::streams::normal;
use crate::series::Daily;

/// Days over which changes of the release are measured, and either side of the day of the year (project choices).
const CHANGE_DAYS: usize = 7;
const SEASON_DAYS: usize = 30;
/// Changes needed (project choice).
const MIN_CHANGES: usize = 30;
/// Distance of the 10 % and 90 % quantiles of a normal distribution, in standard deviations.
const TEN_TO_NINETY_SD: f64 = 2.563_103;

/// The model of one morning: `R_k = max(0, R_(k-1) + s z_k)`.
///
/// Persistence, for a gate stands where it was set; `s` such that the spread after 7 days is that of the record's 7-day
/// changes within 30 days of the day of the year, by their 10 % and 90 % quantiles (a few great changes
/// would widen every day otherwise). Project choice. A release does not fall below 0, since nothing
/// flows back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReleaseModel {
    /// Release of the newest day.
    pub newest_m3s: f64,
    /// Deviation of a day's change.
    pub step_sd_m3s: f64,
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
        if changes_m3s.len() < MIN_CHANGES {
            return None;
        }
        let [low_m3s, high_m3s] = quantiles(&changes_m3s, [0.1, 0.9])?;
        let week_sd_m3s = (high_m3s - low_m3s) / TEN_TO_NINETY_SD;
        Some(ReleaseModel {
            newest_m3s,
            step_sd_m3s: week_sd_m3s / (CHANGE_DAYS as f64).sqrt(),
        })
    }

    /// One member: releases of the newest day and `leads` days after it. Shape `[lead]`.
    pub fn draw_m3s(&self, leads: usize, numbers: &mut ChaCha12Rng) -> Vec<f64> {
        let mut release_m3s = self.newest_m3s.max(0.0);
        let mut path_m3s = vec![release_m3s];
        for _ in 0..leads {
            release_m3s = (release_m3s + self.step_sd_m3s * normal(numbers)).max(0.0);
            path_m3s.push(release_m3s);
        }
        path_m3s
    }
}
