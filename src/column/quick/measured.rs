//! A measured profile, brought to today by the change of the surface since.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};

use super::surface::water_sources;
use crate::clock::LakeClock;
use crate::lake::{Lake, SeriesPlace};
use crate::math::interpolate::linear;
use crate::series::SeriesSet;

/// Age up to which a measured profile is used.
const OLDEST_DAYS: i64 = 10;
/// Fewest depths that make a profile.
const FEWEST_DEPTHS: usize = 3;
/// Spread of all depths as a share: internal waves, and more for each day of age (common practice, no source).
const DEPTH_SPREAD: (f64, f64) = (0.05, 0.01);
/// Error of a measured temperature as a value for today (common practice, no source).
const ERROR_DEGC: f64 = 0.2;
/// A surface not this far above the deepest measurement means a mixed profile.
const ISOTHERMAL_DEGC: f64 = 0.5;

/// A profile of one day: daily means of each depth.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MeasuredProfile {
    pub date: NaiveDate,
    /// Newest reading in it.
    pub observed_at: DateTime<Utc>,
    /// Increasing. Shape `[point]`.
    depth_m: Vec<f64>,
    /// Shape `[point]`.
    temp_degc: Vec<f64>,
}

/// The newest day of the last ten on which the main body was measured at three depths or more.
pub(super) fn measured_profile(
    lake: &Lake,
    set: &SeriesSet,
    clock: &LakeClock,
    today: NaiveDate,
) -> Option<MeasuredProfile> {
    /// Sum, count and newest reading by depth in millimetres.
    type Depths = BTreeMap<i64, (f64, u32, DateTime<Utc>)>;
    let oldest = today.checked_sub_days(chrono::Days::new(OLDEST_DAYS as u64))?;
    let begins = clock.standard_day_start(oldest);
    let main = SeriesPlace::Zone(lake.main_body().id.clone());
    let mut days: BTreeMap<NaiveDate, Depths> = BTreeMap::new();
    for place in [main, SeriesPlace::Lake] {
        for source in water_sources(lake, &place) {
            for cadence in &source.cadences {
                let rows = set.observations(&source.id, *cadence);
                let recent = &rows[rows.partition_point(|row| row.time < begins)..];
                for row in recent.iter().filter(|row| row.flag.is_usable()) {
                    let depth_m = row.depth_m.or(source.depth_m).filter(|d| d.is_finite() && *d >= 0.0);
                    let (Some(depth_m), Some(value)) = (depth_m, row.value) else { continue };
                    let depths = days.entry(clock.standard_day(row.time)).or_default();
                    let slot = depths.entry((depth_m * 1000.0).round() as i64).or_insert((0.0, 0, row.time));
                    *slot = (slot.0 + value, slot.1 + 1, slot.2.max(row.time));
                }
            }
        }
    }
    let (date, depths) = days.into_iter().rev().find(|(_, depths)| depths.len() >= FEWEST_DEPTHS)?;
    Some(MeasuredProfile {
        date,
        observed_at: depths.values().map(|d| d.2).max()?,
        depth_m: depths.keys().map(|mm| *mm as f64 / 1000.0).collect(),
        temp_degc: depths.values().map(|(sum, n, _)| sum / f64::from(*n)).collect(),
    })
}

/// What one member makes of a measured profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct MemberProfile {
    /// Surface today.
    pub surface_degc: f64,
    /// Days since the profile.
    pub age_days: f64,
    /// Standard normal numbers: for the depths, and for the temperature of the deep water.
    pub depth_noise: f64,
    pub temp_noise: f64,
}

impl MeasuredProfile {
    /// Surface of the profile: its shallowest value.
    pub fn surface_degc(&self) -> f64 {
        self.temp_degc.first().copied().unwrap_or(f64::NAN)
    }

    /// Today's profile at `depth_m`: depths stretched by the member's noise; a warmer surface draws the
    /// warm part up with it in proportion, a colder one stirs down to where it meets the old profile.
    /// Constant below the deepest measurement.
    pub fn today_degc(&self, depth_m: &[f64], member: MemberProfile) -> Vec<f64> {
        let (at_once, a_day) = DEPTH_SPREAD;
        let stretch = 1.0 + member.depth_noise * (at_once + a_day * member.age_days);
        let stretch = stretch.clamp(0.5, 2.0);
        let (was, is) = (self.surface_degc(), member.surface_degc);
        let deep_degc = self.temp_degc.last().copied().unwrap_or(was);
        let warm = was - deep_degc > ISOTHERMAL_DEGC;
        let error_degc = ERROR_DEGC * member.temp_noise;
        let at = |z: f64| {
            // A profile has at least three depths, so the interpolation has knots.
            let old = linear(&self.depth_m, &self.temp_degc, z / stretch).unwrap_or(deep_degc);
            let share = if warm { ((old - deep_degc) / (was - deep_degc)).clamp(0.0, 1.0) } else { 1.0 };
            let deep_error = error_degc * (1.0 - share);
            if is >= was {
                old + share * (is - was) + deep_error
            } else if warm {
                old.min(is) + deep_error
            } else {
                old + (is - was)
            }
        };
        depth_m.iter().map(|z| at(*z).max(0.0)).collect()
    }
}
