//! Years of an archive that a store does not hold yet.

use chrono::{DateTime, Datelike as _, NaiveDate, Utc};

use super::folder::Store;
use crate::clock::LakeClock;
use crate::lake::{Cadence, SeriesSource};
use crate::series::{SeriesKey, StoreError};

impl Store {
    /// Calendar years among the last `years` before that of `as_of`, newest first, that were not asked for whole, or
    /// of which no file is there or was found damaged.
    ///
    /// They are to be fetched in this order, and each noted ([`Store::record_pull`]) before the next, since the
    /// ledger keeps one first instant from which on everything was asked for.
    ///
    /// # Errors
    /// [`StoreError::Read`] when a folder cannot be listed.
    pub fn years_lacking(
        &self,
        source: &SeriesSource,
        cadence: Cadence,
        clock: &LakeClock,
        (as_of, years): (DateTime<Utc>, u32),
    ) -> Result<Vec<i32>, StoreError> {
        let key = SeriesKey {
            id: source.id.clone(),
            cadence,
        };
        let present = self.year_files(&key)?;
        let ledger = self.ledger();
        let record = ledger.pull(&key);
        let this_year = clock.standard_day(as_of).year();
        let ends = source.daily_until.filter(|_| cadence == Cadence::Daily);
        let last = ends.map_or(this_year - 1, |until| until.year().min(this_year - 1));
        let first = this_year - i32::try_from(years).unwrap_or(i32::MAX).min(this_year);
        let is_lacking = |year: &i32| {
            let Some(record) = record else { return true };
            let start = NaiveDate::from_ymd_opt(*year, 1, 1).map(|day| clock.standard_day_start(day));
            start.is_some_and(|start| start < record.covered_from)
                || record.damaged.contains(year)
                || !present.contains_key(year)
        };
        Ok((first..=last).rev().filter(is_lacking).collect())
    }
}
