//! What has to be fetched to bring a store up to the clock.

use chrono::{DateTime, Datelike, Duration, NaiveDate, NaiveTime, TimeZone, Utc};

use super::folder::Store;
use super::ledger::PullRecord;
use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake, SeriesSource};
use crate::series::{SeriesKey, StoreError};

/// Values of so many days are fetched again at each pull: services revise provisional values
/// (`science`: project choice, no source).
pub const REFETCH_DAYS: i64 = 60;
/// A forecast issued within so many hours is new enough (project choice, no source).
pub const FORECAST_AGE_H: i64 = 3;
/// Years of daily values to fetch where the lake file does not say (project choice, no source).
const DEFAULT_DAILY_YEARS: i32 = 10;

/// Something to fetch.
#[derive(Debug, Clone, PartialEq)]
pub struct Need<'a> {
    /// The series.
    pub source: &'a SeriesSource,
    /// The cadence.
    pub cadence: Cadence,
    /// First instant to fetch; for daily values the beginning of the first day.
    pub from: DateTime<Utc>,
    /// Whether values that were there are gone, or never were: send no validators then, or the
    /// service may answer "not changed" about what the store does not hold.
    pub whole: bool,
}

impl Need<'_> {
    /// The key of the series in the store.
    pub fn key(&self) -> SeriesKey {
        SeriesKey {
            id: self.source.id.clone(),
            cadence: self.cadence,
        }
    }
}

impl Store {
    /// What to fetch at `as_of`: the whole history of a series that was never pulled whole, years
    /// whose file has gone, and otherwise the last [`REFETCH_DAYS`] before the newest value; nothing
    /// of a daily series that another took over and whose last revision has passed; a forecast where
    /// none was issued within [`FORECAST_AGE_H`].
    ///
    /// # Errors
    /// [`StoreError::Read`] when a folder cannot be listed.
    pub fn needs<'a>(&self, lake: &'a Lake, as_of: DateTime<Utc>) -> Result<Vec<Need<'a>>, StoreError> {
        let ledger = self.ledger();
        let clock = LakeClock::new(lake.time_zone);
        let mut needs = Vec::new();
        for source in &lake.series {
            for &cadence in &source.cadences {
                let key = SeriesKey {
                    id: source.id.clone(),
                    cadence,
                };
                if cadence == Cadence::Forecast {
                    let newest = self
                        .issues(&key.id)?
                        .into_iter()
                        .filter(|&issued| issued <= as_of)
                        .max();
                    if newest.is_none_or(|issued| as_of - issued >= Duration::hours(FORECAST_AGE_H)) {
                        needs.push(Need {
                            source,
                            cadence,
                            from: as_of,
                            whole: newest.is_none(),
                        });
                    }
                    continue;
                }
                let start = history_start(source, cadence, &clock, as_of);
                let record = ledger.pull(&key);
                if cadence == Cadence::Daily && is_finished(source, record, start, &clock, as_of) {
                    let present = self.year_files(&key)?;
                    if record.is_some_and(|r| r.years.iter().all(|year| present.contains_key(year))) {
                        continue;
                    }
                }
                let (from, whole) = self.fetch_from(&key, record, start, as_of)?;
                needs.push(Need {
                    source,
                    cadence,
                    from,
                    whole,
                });
            }
        }
        Ok(needs)
    }

    /// What to fetch at `as_of` so that everything from `since` on is fetched again: as [`Store::needs`], and every
    /// observed series at least from there, without validators.
    ///
    /// # Errors
    /// As [`Store::needs`].
    pub fn needs_since<'a>(
        &self,
        lake: &'a Lake,
        as_of: DateTime<Utc>,
        since: DateTime<Utc>,
    ) -> Result<Vec<Need<'a>>, StoreError> {
        let mut needs = self.needs(lake, as_of)?;
        for source in &lake.series {
            for &cadence in source.cadences.iter().filter(|c| **c != Cadence::Forecast) {
                let own = |n: &&mut Need<'_>| n.source.id == source.id && n.cadence == cadence;
                match needs.iter_mut().find(own) {
                    Some(need) => {
                        need.from = need.from.min(since);
                        need.whole = true;
                    }
                    None => needs.push(Need {
                        source,
                        cadence,
                        from: since,
                        whole: true,
                    }),
                }
            }
        }
        Ok(needs)
    }

    /// Time of the newest value of a series that is not missing; `None` when there is none.
    /// Damaged files are passed over ([`Store::load`] sets them aside).
    ///
    /// # Errors
    /// [`StoreError::Read`] when the folder cannot be listed.
    pub fn newest_time(&self, key: &SeriesKey) -> Result<Option<DateTime<Utc>>, StoreError> {
        if key.cadence == Cadence::Forecast {
            return Ok(self.issues(&key.id)?.into_iter().max());
        }
        for (_, path) in self.year_files(key)?.into_iter().rev() {
            let bytes = std::fs::read(&path).ok();
            let newest = bytes
                .and_then(|bytes| super::table::newest_with_value(&bytes).ok())
                .flatten();
            if newest.is_some() {
                return Ok(newest);
            }
        }
        Ok(None)
    }

    /// First instant to fetch, and whether the store lacks what it should hold.
    fn fetch_from(
        &self,
        key: &SeriesKey,
        record: Option<&PullRecord>,
        start: DateTime<Utc>,
        as_of: DateTime<Utc>,
    ) -> Result<(DateTime<Utc>, bool), StoreError> {
        let Some(record) = record.filter(|record| record.covered_from <= start) else {
            return Ok((start, true));
        };
        let present = self.year_files(key)?;
        // Earlier years are there because a longer history was asked for once; to ask for what starts later
        // would not bring them back.
        let own = |year: &&i32| **year >= start.year();
        let gone = record
            .years
            .iter()
            .filter(own)
            .find(|&year| !present.contains_key(year))
            .copied();
        let damaged = record.damaged.iter().find(own).copied();
        let lacking = gone.into_iter().chain(damaged).min();
        let newest = self
            .newest_time(key)?
            .map(|newest| newest.min(as_of) - Duration::days(REFETCH_DAYS));
        let ordinary = newest.map_or(start, |from| from.max(start));
        Ok(match lacking {
            Some(year) => (ordinary.min(year_start(year).max(start)), true),
            None => (ordinary, newest.is_none()),
        })
    }
}

/// Where the history of a series begins.
fn history_start(
    source: &SeriesSource,
    cadence: Cadence,
    clock: &LakeClock,
    as_of: DateTime<Utc>,
) -> DateTime<Utc> {
    let today = clock.standard_day(as_of);
    match (cadence, source.daily_from, source.continuous_from) {
        (Cadence::Daily, Some(first), _) | (Cadence::Continuous, _, Some(first)) => {
            clock.standard_day_start(first)
        }
        (Cadence::Daily, None, _) => {
            let first = NaiveDate::from_ymd_opt(today.year() - DEFAULT_DAILY_YEARS, 1, 1);
            clock.standard_day_start(first.unwrap_or(today))
        }
        _ => as_of - Duration::days(REFETCH_DAYS),
    }
}

/// Whether a daily series with a last day was fetched whole after its last revision.
fn is_finished(
    source: &SeriesSource,
    record: Option<&PullRecord>,
    start: DateTime<Utc>,
    clock: &LakeClock,
    as_of: DateTime<Utc>,
) -> bool {
    let (Some(until), Some(record)) = (source.daily_until, record) else {
        return false;
    };
    let settled = clock.standard_day_start(until) + Duration::days(1 + REFETCH_DAYS);
    record.covered_from <= start
        && record.damaged.is_empty()
        && record.pulled_at >= settled
        && as_of >= settled
}

/// The first instant of a year (UTC).
pub(super) fn year_start(year: i32) -> DateTime<Utc> {
    NaiveDate::from_ymd_opt(year, 1, 1).map_or(DateTime::<Utc>::MIN_UTC, |day| {
        Utc.from_utc_datetime(&day.and_time(NaiveTime::MIN))
    })
}
