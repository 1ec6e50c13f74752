//! Needs to requests: one a station, parameter and calendar year of daily values; one a station and
//! parameter of values within the day.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use super::table::code_and_choice;
use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake, SeriesSource};
use crate::sources::job::{Job, Need, Want, continuous_blocks, daily_range, year_blocks};

/// Daily mean (USGS statistic code).
const DAILY_MEAN: &str = "00003";
/// Most rows of a page of `daily` (service documentation).
const DAILY_LIMIT: &str = "50000";
/// Most rows of a page of `continuous` (service documentation).
const CONTINUOUS_LIMIT: &str = "10000";
/// Longest window of one request of `continuous`; the service refuses three years.
const CONTINUOUS_DAYS: i64 = 366;

/// Requests that fill `needs`. Needs of the same request share it.
pub(super) fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let clock = LakeClock::new(lake.time_zone);
    let mut jobs: Vec<Job> = Vec::new();
    for need in needs {
        for job in jobs_of(clock, need) {
            match jobs
                .iter_mut()
                .find(|held| held.path == job.path && held.query == job.query)
            {
                Some(held) => held.wants.extend(job.wants),
                None => jobs.push(job),
            }
        }
    }
    jobs
}

fn jobs_of(clock: LakeClock, need: &Need<'_>) -> Vec<Job> {
    match need.cadence {
        Cadence::Daily => daily_range(clock, need)
            .map(|(first, last)| year_blocks(first, last, 1))
            .unwrap_or_default()
            .into_iter()
            .map(|(first, last)| daily_job(need, first, last))
            .collect(),
        Cadence::Continuous => continuous_blocks(clock, need, Duration::days(CONTINUOUS_DAYS))
            .into_iter()
            .map(|(from, to)| continuous_job(need, from, to))
            .collect(),
        Cadence::Forecast => Vec::new(),
    }
}

fn daily_job(need: &Need<'_>, first: NaiveDate, last: NaiveDate) -> Job {
    let statistic = need.series.statistic.as_deref().unwrap_or(DAILY_MEAN);
    let mut query = vec![("statistic_id", statistic.to_owned())];
    query.push(("time", format!("{first}/{last}")));
    query.push(("limit", DAILY_LIMIT.to_owned()));
    let window = Some((first.to_string(), last.to_string()));
    job("daily", need.series, query, window, vec![Want::of(need)], need.to)
}

fn continuous_job(need: &Need<'_>, from: DateTime<Utc>, to: DateTime<Utc>) -> Job {
    let text = |instant: DateTime<Utc>| instant.format("%Y-%m-%dT%H:%M:%SZ").to_string();
    let query = vec![
        ("time", format!("{}/{}", text(from), text(to))),
        ("limit", CONTINUOUS_LIMIT.to_owned()),
    ];
    job(
        "continuous",
        need.series,
        query,
        Some((text(from), text(to))),
        vec![Want::of(need)],
        need.to,
    )
}

/// The request for the newest value within the day of one series.
pub fn latest_job(series: &SeriesSource, as_of: DateTime<Utc>) -> Job {
    let want = Want {
        series: series.clone(),
        cadence: Cadence::Continuous,
        from: None,
    };
    job("latest-continuous", series, Vec::new(), None, vec![want], as_of)
}

fn job(
    kind: &'static str,
    series: &SeriesSource,
    further: Vec<(&'static str, String)>,
    window: Option<(String, String)>,
    wants: Vec<Want>,
    as_of: DateTime<Utc>,
) -> Job {
    let (code, _) = code_and_choice(&series.parameter);
    let mut query = vec![
        ("f", "json".to_owned()),
        ("skipGeometry", "TRUE".to_owned()),
        ("monitoring_location_id", series.station.clone()),
        ("parameter_code", code.to_owned()),
    ];
    query.extend(further);
    Job {
        service: super::NAME,
        kind,
        station: series.station.clone(),
        what: code.to_owned(),
        window,
        host: super::HOST,
        path: format!("/ogcapi/v0/collections/{kind}/items"),
        query: query
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value))
            .collect(),
        wants,
        as_of,
    }
}

/// One request a station of the lake for what the service says of it.
pub(super) fn station_jobs(lake: &Lake, as_of: DateTime<Utc>) -> Vec<Job> {
    let mut stations: Vec<&str> = lake
        .series
        .iter()
        .filter(|s| s.service == super::NAME)
        .map(|s| s.station.as_str())
        .collect();
    stations.sort_unstable();
    stations.dedup();
    let kind = "monitoring-locations";
    let query = |station: &str| {
        [("f", "json"), ("id", station)]
            .map(|(k, v)| (k.to_owned(), v.to_owned()))
            .to_vec()
    };
    stations
        .into_iter()
        .map(|station| Job {
            service: super::NAME,
            kind,
            station: station.to_owned(),
            what: String::new(),
            window: None,
            host: super::HOST,
            path: format!("/ogcapi/v0/collections/{kind}/items"),
            query: query(station),
            wants: Vec::new(),
            as_of,
        })
        .collect()
}
