//! Needs to requests: one an item and ten calendar years of values by the day, one an item and a year of values within the
//! day.

use chrono::{Days, Duration, NaiveDate};

use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake};
use crate::sources::job::{Job, Need, Want, continuous_blocks, daily_range, year_blocks};

/// Results a page; the service bounds other lists, not this one (clients' documentation).
const PER_PAGE: &str = "5000";
/// Calendar years of one request by the day (project choice).
const YEARS: i32 = 10;
/// Longest window of one request within the day (project choice).
const CONTINUOUS_DAYS: i64 = 366;

/// Requests that fill `needs`.
pub(super) fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let clock = LakeClock::new(lake.time_zone);
    needs.iter().flat_map(|need| jobs_of(clock, need)).collect()
}

fn jobs_of(clock: LakeClock, need: &Need<'_>) -> Vec<Job> {
    match need.cadence {
        Cadence::Daily => daily_range(clock, need)
            .map(|(first, last)| year_blocks(first, last, YEARS))
            .unwrap_or_default()
            .into_iter()
            .map(|(first, last)| job(need, first, last))
            .collect(),
        Cadence::Continuous => continuous_blocks(clock, need, Duration::days(CONTINUOUS_DAYS))
            .into_iter()
            .map(|(from, to)| job(need, from.date_naive(), to.date_naive()))
            .collect(),
        Cadence::Forecast => Vec::new(),
    }
}

/// A request for days; one day more at the end, since the service takes the last as its first instant.
fn job(need: &Need<'_>, first: NaiveDate, last: NaiveDate) -> Job {
    let after = last.checked_add_days(Days::new(1)).unwrap_or(last);
    let window = (first.to_string(), after.to_string());
    let query = [
        ("itemId", need.series.parameter.trim()),
        ("dateTime[after]", &window.0),
        ("dateTime[before]", &window.1),
        ("order[dateTime]", "asc"),
        ("itemsPerPage", PER_PAGE),
    ];
    Job {
        service: super::NAME,
        kind: "result",
        station: need.series.station.clone(),
        what: need.series.parameter.clone(),
        host: super::HOST,
        path: "/rise/api/result".to_owned(),
        query: query
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value.to_owned()))
            .collect(),
        wants: vec![Want::of(need)],
        as_of: need.to,
        window: Some(window),
    }
}
