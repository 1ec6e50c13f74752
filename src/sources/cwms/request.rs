//! Needs to requests: one a series and calendar year of values by the day, one a series and 60 days of values within
//! the day.

use chrono::{DateTime, Duration, Utc};

use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake};
use crate::sources::job::{Job, Need, Want, continuous_blocks, daily_range, year_blocks};

/// Readings a page (project choice: a year by the day, or some weeks by the hour).
const PAGE_SIZE: &str = "1000";
/// Longest window of one request of values within the day (project choice).
const CONTINUOUS_DAYS: i64 = 60;

/// Requests that fill `needs`.
pub(super) fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let clock = LakeClock::new(lake.time_zone);
    needs.iter().flat_map(|need| jobs_of(clock, need)).collect()
}

fn jobs_of(clock: LakeClock, need: &Need<'_>) -> Vec<Job> {
    match need.cadence {
        Cadence::Daily => daily_range(clock, need)
            .map(|(first, last)| year_blocks(first, last, 1))
            .unwrap_or_default()
            .into_iter()
            // The value of a day comes at its end or in the morning after.
            .map(|(first, last)| {
                let end = clock.standard_day_start(last) + Duration::hours(36);
                job(need, clock.standard_day_start(first), end.min(need.to))
            })
            .collect(),
        Cadence::Continuous => continuous_blocks(clock, need, Duration::days(CONTINUOUS_DAYS))
            .into_iter()
            .map(|(from, to)| job(need, from, to))
            .collect(),
        Cadence::Forecast => Vec::new(),
    }
}

fn job(need: &Need<'_>, from: DateTime<Utc>, to: DateTime<Utc>) -> Job {
    let text = |instant: DateTime<Utc>| instant.format("%Y-%m-%dT%H:%M:%SZ").to_string();
    let window = (text(from), text(to));
    let query = [
        ("office", need.series.station.as_str()),
        ("name", need.series.parameter.as_str()),
        ("unit", "SI"),
        ("begin", &window.0),
        ("end", &window.1),
        ("page-size", PAGE_SIZE),
    ];
    Job {
        service: super::NAME,
        kind: "timeseries",
        station: need.series.station.clone(),
        what: need.series.parameter.clone(),
        host: super::HOST,
        path: "/cwms-data/timeseries".to_owned(),
        query: query
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value.to_owned()))
            .collect(),
        wants: vec![Want::of(need)],
        as_of: need.to,
        window: Some(window),
    }
}
