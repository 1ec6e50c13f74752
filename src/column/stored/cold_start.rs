//! Where a run without a saved state begins: at the last winter's mixing, at least nine months back.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::known::known_at;
use crate::clock::LakeClock;
use crate::column::quick::{AirRecord, AirSpan};
use crate::lake::{Lake, SeriesId};
use crate::quantity::Quantity;
use crate::series::SeriesSet;

/// Least days between the beginning and the clock: nine months.
pub const COLD_START_LEAST_DAYS: i64 = 274;
/// Days of the year before that among which winter is looked for.
const YEAR_DAYS: i64 = 365;
/// Days whose mean air tells how cold it is.
const STRETCH_DAYS: usize = 30;
/// So much warmer than the coldest stretch, degC, is still winter, and the newest such stretch is taken (project choice: a winter
/// that the nine months cut in two is no reason to go back to the one before).
const STILL_WINTER_DEGC: f64 = 2.0;

/// The beginning of a cold start at `as_of`, a whole hour: the middle of the newest 30 days, ended at least nine months back and
/// begun within the year before, whose mean air temperature is within 2 degC of the coldest such days. Found from the air alone,
/// so on either side of the equator. `None` where the air of that year is not known.
///
/// A lake that mixes in winter is isothermal then, or nearly so, and so is the state that a cold start begins with.
pub fn cold_start(lake: &Lake, set: &SeriesSet, as_of: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let clock = LakeClock::new(lake.time_zone);
    // Of the whole set a copy would cost more than the search.
    let set = known_at(&air_of(lake, set), as_of, &clock).into_owned();
    let today = clock.standard_day(as_of);
    let span = AirSpan {
        past_days: (COLD_START_LEAST_DAYS + YEAR_DAYS + STRETCH_DAYS as i64 + 1) as u64,
        outlook_days: 0,
    };
    let air = AirRecord::read(lake, &set, &clock, today, span)?;
    let last = air.index(today - Duration::days(COLD_START_LEAST_DAYS))?;
    let first = air.index(today - Duration::days(COLD_START_LEAST_DAYS + YEAR_DAYS))?;
    let date = coldest(air.first, &air.measured_degc(), (first, last))?;
    let start = clock.standard_day_start(date);
    DateTime::from_timestamp(start.timestamp().div_euclid(3600) * 3600, 0)
}

/// The series of air temperature alone.
fn air_of(lake: &Lake, set: &SeriesSet) -> SeriesSet {
    let is_air = |id: &SeriesId| {
        let mut series = lake.series.iter();
        series.any(|s| s.id == *id && s.quantity == Quantity::AirTemp)
    };
    let observations = set.observations.iter().filter(|(key, _)| is_air(&key.id));
    SeriesSet {
        as_of: set.as_of,
        observations: observations
            .map(|(key, rows)| (key.clone(), rows.clone()))
            .collect(),
        ..SeriesSet::default()
    }
}

/// The middle of the newest cold stretch among the days `first` to `last`.
fn coldest(begin: NaiveDate, air_degc: &[Option<f64>], (first, last): (usize, usize)) -> Option<NaiveDate> {
    let stretch = |from: usize| -> Option<f64> {
        let days: Vec<f64> = air_degc
            .get(from..from + STRETCH_DAYS)?
            .iter()
            .copied()
            .flatten()
            .collect();
        // A few days may be missing.
        (days.len() * 10 >= STRETCH_DAYS * 8).then(|| days.iter().sum::<f64>() / days.len() as f64)
    };
    let ends = last.checked_sub(STRETCH_DAYS)?;
    let means: Vec<(usize, f64)> = (first..=ends)
        .filter_map(|from| Some((from, stretch(from)?)))
        .collect();
    // Half a year of days at least, so that there is a winter among them.
    if means.len() < YEAR_DAYS as usize / 2 {
        return None;
    }
    let least = means.iter().map(|(_, mean)| *mean).fold(f64::INFINITY, f64::min);
    let (from, _) = means
        .iter()
        .rev()
        .find(|(_, mean)| *mean <= least + STILL_WINTER_DEGC)?;
    Some(begin + Duration::days((from + STRETCH_DAYS / 2) as i64))
}
