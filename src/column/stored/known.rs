//! The series as they were known at a clock.

use std::borrow::Cow;

use chrono::{DateTime, Utc};

use crate::clock::LakeClock;
use crate::lake::Cadence;
use crate::series::SeriesSet;

/// The set as it was known at `as_of`: instants up to it, days that had ended, forecasts issued by then. A set that was loaded at
/// that clock is taken as it is.
pub(super) fn known_at<'s>(
    set: &'s SeriesSet,
    as_of: DateTime<Utc>,
    clock: &LakeClock,
) -> Cow<'s, SeriesSet> {
    let day_is_over = |begun: DateTime<Utc>| {
        let next = clock.standard_day(begun).succ_opt();
        next.is_some_and(|next| clock.standard_day_start(next) <= as_of)
    };
    let known = |cadence: Cadence, time: DateTime<Utc>| match cadence {
        // Only the last days are near the clock: the calendar is asked for them alone.
        Cadence::Daily => time + chrono::Duration::hours(26) <= as_of || day_is_over(time),
        _ => time <= as_of,
    };
    let is_known = set.as_of == as_of
        && set
            .observations
            .iter()
            .all(|(key, rows)| rows.iter().all(|row| known(key.cadence, row.time)))
        && set.forecasts.values().all(|batch| batch.issued_at <= as_of)
        && set
            .earlier_runs
            .values()
            .flatten()
            .all(|batch| batch.issued_at <= as_of);
    if is_known {
        return Cow::Borrowed(set);
    }
    let mut cut = set.clone();
    cut.as_of = as_of;
    for (key, rows) in &mut cut.observations {
        rows.retain(|row| known(key.cadence, row.time));
    }
    cut.forecasts.retain(|_, batch| batch.issued_at <= as_of);
    for runs in cut.earlier_runs.values_mut() {
        runs.retain(|batch| batch.issued_at <= as_of);
    }
    Cow::Owned(cut)
}
