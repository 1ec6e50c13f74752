//! The pool's level: changes, slope, highest of 60 days, and how it stands for the date.

use chrono::{Datelike, Days, Duration, NaiveDate};

use super::morning::{Morning, left_out, wider};
use super::{Change, PoolCondition};
use crate::math::slopes::theil_sen;
use crate::quantity::Quantity;
use crate::series::{Daily, Gap, GapReason};
use crate::units::M_PER_FT;

/// Standard deviation of one reading of the level: 0.02 ft (the value of check row S-MB-sig).
pub const LEVEL_READING_SD_M: f64 = 0.02 * M_PER_FT;

/// A level older than this says nothing of this morning (project choice).
const OLDEST_LEVEL_DAYS: i64 = 30;
/// Changes count back from the newest daily level, which may be this old (project choice).
const OLDEST_CHANGE_DAYS: i64 = 3;
/// Daily levels needed of the 7 of the slope, and of the 60 of the maximum (project choices).
const SLOPE_DAYS: usize = 7;
const SLOPE_MIN_DAYS: usize = 5;
const HIGHEST_DAYS: u64 = 60;
const HIGHEST_MIN_DAYS: usize = 30;
/// The 60 days of the highest end so many days before the newest level (project choice). Up to the day
/// before, a level that climbs for a week would hold each day against the last, and be new by inches.
const HIGHEST_LAG_DAYS: u64 = 7;
/// Days either side of the date, days needed of each year, and years needed, for the percentile.
const NEARBY_DAYS: i64 = 15;
const NEARBY_MIN_DAYS: usize = 10;
const PERCENTILE_MIN_YEARS: usize = 3;

/// The pool's condition from its newest reading and its daily series (gaps filled and marked); pushes a
/// gap for each figure left out.
pub(super) fn pool(morning: &Morning, daily: Option<&Daily>, gaps: &mut Vec<Gap>) -> Option<PoolCondition> {
    let source = match morning.source(Quantity::PoolElevation, &morning.lake_places()) {
        Ok(source) => source,
        Err(reason) => {
            gaps.push(left_out(
                "pool_elevation",
                reason,
                "level, ramps by level, low-water hazards",
            ));
            return None;
        }
    };
    let newest = morning.newest(source)?;
    if let Some(reason) = morning.late(source, newest.time) {
        if newest.time < morning.set.as_of - Duration::days(OLDEST_LEVEL_DAYS) {
            gaps.push(left_out(
                source.id.as_str(),
                reason,
                "level, ramps by level, low-water hazards",
            ));
            return None;
        }
        gaps.push(wider(source.id.as_str(), reason, "level"));
    }
    let end = daily.and_then(|d| d.newest_measured(morning.today).map(|i| (d, i)));
    let fresh = end.filter(|(d, i)| (morning.today - d.date(*i)).num_days() <= OLDEST_CHANGE_DAYS);
    if fresh.is_none() {
        let found = daily.map_or(0, |d| d.value.iter().flatten().count());
        gaps.push(left_out(
            source.id.as_str(),
            GapReason::TooFew { found, wanted: 1 },
            "level changes, slope",
        ));
    }
    Some(PoolCondition {
        elevation_m: newest.value,
        observed_at: newest.time,
        change_1d: fresh.and_then(|(d, i)| change(d, i, 1)),
        change_7d: fresh.and_then(|(d, i)| change(d, i, 7)),
        change_30d: fresh.and_then(|(d, i)| change(d, i, 30)),
        slope_7d_m_per_day: fresh.and_then(|(d, i)| slope(d, i)),
        highest_60d_m: daily.and_then(|d| highest_before(d, morning.clock.standard_day(newest.time))),
        percentile_for_date_frac: daily.and_then(|d| percentile_for_date(d, morning.today, newest.value)),
    })
}

/// Change over `days` up to entry `end`; both ends measured, never filled. The deviation of a difference
/// of two readings is sqrt(2) sigma; an end that rests on suspect readings counts with twice the sigma
/// (project choice).
fn change(daily: &Daily, end: usize, days: usize) -> Option<Change> {
    let start = end.checked_sub(days)?;
    if !daily.is_measured(start) || !daily.is_measured(end) {
        return None;
    }
    let sd_of = |i: usize| {
        if daily.suspect[i] {
            2.0 * LEVEL_READING_SD_M
        } else {
            LEVEL_READING_SD_M
        }
    };
    Some(Change {
        change_m: daily.value[end]? - daily.value[start]?,
        sd_m: sd_of(start).hypot(sd_of(end)),
    })
}

/// Theil-Sen slope of the last 7 daily levels, at least 5 of them; the window begins and ends measured.
fn slope(daily: &Daily, end: usize) -> Option<f64> {
    let earliest = (end + 1).saturating_sub(SLOPE_DAYS);
    let start = (earliest..=end).find(|&i| daily.is_measured(i))?;
    let (x, y): (Vec<f64>, Vec<f64>) = (start..=end)
        .filter_map(|i| Some((i as f64, daily.value[i]?)))
        .unzip();
    if x.len() < SLOPE_MIN_DAYS {
        return None;
    }
    theil_sen(&x, &y, 0.8).map(|line| line.slope)
}

/// Highest daily level of the 60 days up to a week before `newest_day`; needs 30 of them.
fn highest_before(daily: &Daily, newest_day: NaiveDate) -> Option<f64> {
    let last = newest_day.checked_sub_days(Days::new(HIGHEST_LAG_DAYS))?;
    let window = daily.slice(last.checked_sub_days(Days::new(HIGHEST_DAYS - 1))?, last)?;
    let values: Vec<f64> = window.value.iter().flatten().copied().collect();
    (values.len() >= HIGHEST_MIN_DAYS).then(|| values.iter().copied().fold(f64::NEG_INFINITY, f64::max))
}

/// Share of the levels within 15 days of this date in earlier years that were lower than `elevation_m`;
/// needs 3 such years with 10 days each.
pub(super) fn percentile_for_date(daily: &Daily, today: NaiveDate, elevation_m: f64) -> Option<f64> {
    let (mut lower, mut all, mut years) = (0_usize, 0_usize, 0_usize);
    for year in daily.first.year() - 1..today.year() {
        // 29 February has no twin in most years; the day before stands in.
        let centre = today
            .with_year(year)
            .or_else(|| today.pred_opt()?.with_year(year))?;
        let (from, to) = (
            centre - Duration::days(NEARBY_DAYS),
            centre + Duration::days(NEARBY_DAYS),
        );
        let Some(window) = daily.slice(from, to) else {
            continue;
        };
        let values: Vec<f64> = window.value.iter().flatten().copied().collect();
        if values.len() < NEARBY_MIN_DAYS {
            continue;
        }
        years += 1;
        all += values.len();
        lower += values.iter().filter(|v| **v < elevation_m).count();
    }
    (years >= PERCENTILE_MIN_YEARS).then(|| lower as f64 / all as f64)
}
