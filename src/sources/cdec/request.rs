//! Needs to requests: one a station, sensor, step and stretch of days.

use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};

use super::read::instant;
use super::table::{Step, number_and_choice, step_of};
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::sources::job::{Job, Need, Want, continuous_start, daily_range, year_blocks};

/// Calendar years of daily values in one request: some hundred kilobytes. The service states no limit.
const DAILY_YEARS: i32 = 10;
/// Days of values within the day in one request: of every quarter of an hour one or two megabytes.
const WITHIN_DAYS: u64 = 92;

/// Requests that fill `needs`. Needs of the same request share it.
pub(super) fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let clock = LakeClock::new(lake.time_zone);
    let mut jobs: Vec<Job> = Vec::new();
    for need in needs {
        for job in jobs_of(clock, need) {
            match jobs.iter_mut().find(|held| held.query == job.query) {
                Some(held) => held.wants.extend(job.wants),
                None => jobs.push(job),
            }
        }
    }
    jobs
}

fn jobs_of(clock: LakeClock, need: &Need<'_>) -> Vec<Job> {
    let asked = number_and_choice(&need.series.parameter)
        .and_then(|(number, choice)| Some((number, step_of(choice, need.cadence)?)));
    // What the check of the lake file refuses gives no request.
    let Some((number, step)) = asked else {
        return Vec::new();
    };
    let blocks = if step == Step::Daily {
        daily_range(clock, need).map(|(first, last)| year_blocks(first, last, DAILY_YEARS))
    } else {
        within_blocks(need)
    };
    blocks
        .unwrap_or_default()
        .into_iter()
        .map(|(first, last)| job(need, number, step, first, last))
        .collect()
}

/// Stretches of days of Pacific standard time, the last day that of the clock.
fn within_blocks(need: &Need<'_>) -> Option<Vec<(NaiveDate, NaiveDate)>> {
    let start = continuous_start(need, |day| {
        instant(day.and_time(NaiveTime::MIN)).unwrap_or(DateTime::<Utc>::MIN_UTC)
    })?;
    let last = pacific_day(need.to)?;
    let mut first = pacific_day(start)?;
    let mut blocks = Vec::new();
    while first <= last {
        let ends = first.checked_add_days(Days::new(WITHIN_DAYS - 1))?.min(last);
        blocks.push((first, ends));
        first = ends.succ_opt()?;
    }
    Some(blocks)
}

/// The day of Pacific standard time that holds an instant.
fn pacific_day(at: DateTime<Utc>) -> Option<NaiveDate> {
    let zero = instant(NaiveDate::from_ymd_opt(2000, 1, 1)?.and_time(NaiveTime::MIN))?;
    let days = (at - zero).num_seconds().div_euclid(86_400);
    NaiveDate::from_ymd_opt(2000, 1, 1)?.checked_add_signed(chrono::Duration::try_days(days)?)
}

/// `End` is asked a day later than wanted: whether the service means that day's first or last minute is not
/// stated, and what comes too many is dropped by the clock or is the same value again.
fn job(need: &Need<'_>, number: u32, step: Step, first: NaiveDate, last: NaiveDate) -> Job {
    let end = last.succ_opt().unwrap_or(last);
    let query = [
        ("Stations", need.series.station.clone()),
        ("SensorNums", number.to_string()),
        ("dur_code", step.letter().to_owned()),
        ("Start", first.to_string()),
        ("End", end.to_string()),
    ];
    Job {
        service: super::NAME,
        kind: "readings",
        station: need.series.station.clone(),
        what: format!("{number}/{}", step.letter()),
        window: Some((first.to_string(), last.to_string())),
        host: super::HOST,
        path: "/dynamicapp/req/JSONDataServlet".to_owned(),
        query: query.map(|(key, value)| (key.to_owned(), value)).to_vec(),
        wants: vec![Want::of(need)],
        as_of: need.to,
    }
}
