//! Needs to requests: one a station, parameter and ten calendar years of daily values; one a station, parameter and
//! 120 days of values within the day.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake};
use crate::sources::job::{Job, Need, Want, continuous_blocks, daily_range, year_blocks};
use crate::sources::usgs_ogc::table::code_and_choice;

/// Daily mean (USGS statistic code).
const DAILY_MEAN: &str = "00003";
/// Calendar years of daily values of one request (project choice: some 3650 rows).
const YEARS: i32 = 10;
/// Longest window of one request of values within the day (project choice: some 11 500 rows of a quarter of an hour).
const CONTINUOUS_DAYS: i64 = 120;

/// What a station looks like, for a text that cannot be one.
pub(super) fn refuses_station(station: &str) -> Option<&'static str> {
    let is_site =
        |number: &str| (8..=15).contains(&number.len()) && number.bytes().all(|b| b.is_ascii_digit());
    match station.split_once('-') {
        Some((agency, number)) if !agency.is_empty() && is_site(number) => None,
        _ => Some("USGS- and the number of 8 to 15 digits"),
    }
}

/// Requests that fill `needs`. Needs of the same request share it.
pub(super) fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let clock = LakeClock::new(lake.time_zone);
    let mut jobs: Vec<Job> = Vec::new();
    for job in needs.iter().flat_map(|need| jobs_of(clock, need)) {
        match jobs
            .iter_mut()
            .find(|held| held.path == job.path && held.query == job.query)
        {
            Some(held) => held.wants.extend(job.wants),
            None => jobs.push(job),
        }
    }
    jobs
}

fn jobs_of(clock: LakeClock, need: &Need<'_>) -> Vec<Job> {
    match need.cadence {
        Cadence::Daily => daily_range(clock, need)
            .map(|(first, last)| year_blocks(first, last, YEARS))
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
    let window = (first.to_string(), last.to_string());
    job("dv", need, window, &[("statCd", statistic)])
}

fn continuous_job(need: &Need<'_>, from: DateTime<Utc>, to: DateTime<Utc>) -> Job {
    let text = |instant: DateTime<Utc>| instant.format("%Y-%m-%dT%H:%M:%SZ").to_string();
    job("iv", need, (text(from), text(to)), &[])
}

fn job(kind: &'static str, need: &Need<'_>, window: (String, String), further: &[(&str, &str)]) -> Job {
    let series = need.series;
    let (code, _) = code_and_choice(&series.parameter);
    let number = series
        .station
        .split_once('-')
        .map_or(series.station.as_str(), |(_, number)| number);
    let mut query = vec![
        ("format", "json"),
        ("sites", number),
        ("parameterCd", code),
        ("siteStatus", "all"),
        ("startDT", &window.0),
        ("endDT", &window.1),
    ];
    query.extend(further);
    Job {
        service: super::NAME,
        kind,
        station: series.station.clone(),
        what: code.to_owned(),
        host: super::HOST,
        path: format!("/nwis/{kind}/"),
        query: query
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value.to_owned()))
            .collect(),
        wants: vec![Want::of(need)],
        as_of: need.to,
        window: Some(window),
    }
}
