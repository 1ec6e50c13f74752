//! Needs to requests: all variables of one kind in one request, in the order of the lake file.

use chrono::{NaiveDate, NaiveTime};

use super::table::{Variable, variable_of};
use super::{ARCHIVE_HOST, ENSEMBLE_HOST, FORECAST_HOST};
use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake};
use crate::sources::job::{Job, Need, Want, continuous_start, daily_range, year_blocks};

/// Calendar years of daily values in one request.
const DAILY_YEARS: i32 = 10;
/// Days of a forecast; the most the service gives.
const FORECAST_DAYS: &str = "16";
/// Past days that come along with a forecast: the archive is some days behind.
const PAST_DAYS: &str = "7";

/// Requests that fill `needs`: archive by blocks of years, then ensemble, then forecast.
pub(super) fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let mut needs: Vec<(Need<'_>, &'static Variable)> = needs
        .iter()
        .filter_map(|need| Some((*need, variable_of(&need.series.parameter)?)))
        .collect();
    let place_in_file = |need: &Need<'_>| lake.series.iter().position(|s| s.id == need.series.id);
    needs.sort_by_key(|(need, _)| place_in_file(need));

    let mut jobs = daily_jobs(lake, &needs);
    jobs.extend(hourly_jobs(lake, &needs));
    jobs.extend(ensemble_jobs(lake, &needs));
    jobs.extend(forecast_job(lake, &needs));
    jobs
}

type Needed<'a> = (Need<'a>, &'static Variable);

fn daily_jobs(lake: &Lake, needs: &[Needed<'_>]) -> Vec<Job> {
    let clock = LakeClock::new(lake.time_zone);
    let daily = |needed: &&Needed<'_>| needed.0.cadence == Cadence::Daily && needed.1.daily.is_some();
    let needs: Vec<&Needed<'_>> = needs.iter().filter(daily).collect();
    let range = |needed: &&Needed<'_>| daily_range(clock, &needed.0);
    archive_jobs(lake, "archive-daily", "daily", &needs, range, DAILY_YEARS)
}

fn hourly_jobs(lake: &Lake, needs: &[Needed<'_>]) -> Vec<Job> {
    let needs: Vec<&Needed<'_>> = needs
        .iter()
        .filter(|needed| needed.0.cadence == Cadence::Continuous)
        .collect();
    let range = |needed: &&Needed<'_>| {
        let start = continuous_start(&needed.0, |day| day.and_time(NaiveTime::MIN).and_utc())?;
        Some((start.date_naive(), needed.0.to.date_naive()))
    };
    archive_jobs(lake, "archive-hourly", "hourly", &needs, range, 1)
}

/// One request a block of years for all of `needs` together, over the widest of their ranges.
fn archive_jobs<'a>(
    lake: &Lake,
    kind: &'static str,
    list: &'static str,
    needs: &[&Needed<'a>],
    range: impl Fn(&&Needed<'a>) -> Option<(NaiveDate, NaiveDate)>,
    years: i32,
) -> Vec<Job> {
    let ranges: Vec<(NaiveDate, NaiveDate)> = needs.iter().filter_map(range).collect();
    let widest = ranges.iter().copied().reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let Some((first, last)) = widest else {
        return Vec::new();
    };
    year_blocks(first, last, years)
        .into_iter()
        .filter_map(|(first, last)| {
            let mut job = job(lake, kind, (ARCHIVE_HOST, "/v1/archive"), list, needs)?;
            job.query.push(("start_date".to_owned(), first.to_string()));
            job.query.push(("end_date".to_owned(), last.to_string()));
            job.window = Some((first.to_string(), last.to_string()));
            Some(job)
        })
        .collect()
}

/// One request an ensemble model for the variables that ensembles have.
fn ensemble_jobs(lake: &Lake, needs: &[Needed<'_>]) -> Vec<Job> {
    let needs: Vec<&Needed<'_>> = needs.iter().filter(|needed| is_from_ensemble(needed)).collect();
    let mut models: Vec<&str> = needs
        .iter()
        .filter_map(|n| n.0.series.ensemble_model.as_deref())
        .collect();
    models.sort_unstable();
    models.dedup();
    models
        .into_iter()
        .filter_map(|model| {
            let of_model = |needed: &&&Needed<'_>| needed.0.series.ensemble_model.as_deref() == Some(model);
            let needs: Vec<&Needed<'_>> = needs.iter().filter(of_model).copied().collect();
            let mut job = job(
                lake,
                "ensemble",
                (ENSEMBLE_HOST, "/v1/ensemble"),
                "hourly",
                &needs,
            )?;
            let list = job.query.len() - 1;
            job.query.insert(list, ("models".to_owned(), model.to_owned()));
            job.query
                .push(("forecast_days".to_owned(), FORECAST_DAYS.to_owned()));
            Some(job)
        })
        .collect()
}

/// Whether an ensemble serves the forecast of a series.
pub(super) fn is_from_ensemble((need, variable): &Needed<'_>) -> bool {
    need.cadence == Cadence::Forecast && variable.in_ensemble && need.series.ensemble_model.is_some()
}

/// One request for the past hours that the archive does not have yet, for what ensembles lack, and for
/// what stands in where the ensemble does not come. It always lists every hourly variable of the lake file,
/// needed now or not: the same address from run to run, which a recording can answer.
fn forecast_job(lake: &Lake, needs: &[Needed<'_>]) -> Option<Job> {
    let needs: Vec<&Needed<'_>> = needs
        .iter()
        .filter(|needed| needed.0.cadence != Cadence::Daily)
        .collect();
    let mut job = job(
        lake,
        "forecast",
        (FORECAST_HOST, "/v1/forecast"),
        "hourly",
        &needs,
    )?;
    let listed = job.query.iter_mut().find(|(key, _)| key == "hourly");
    if let Some((_, names)) = listed {
        *names = hourly_variables(lake).join(",");
    }
    job.query.push(("past_days".to_owned(), PAST_DAYS.to_owned()));
    job.query
        .push(("forecast_days".to_owned(), FORECAST_DAYS.to_owned()));
    Some(job)
}

/// Hourly variables of the lake file, in its order, each once.
fn hourly_variables(lake: &Lake) -> Vec<&'static str> {
    let mut names = Vec::new();
    for series in lake.series.iter().filter(|s| s.service == super::NAME) {
        let hourly = series.cadences.iter().any(|cadence| *cadence != Cadence::Daily);
        if let Some(variable) = variable_of(&series.parameter)
            && hourly
            && !names.contains(&variable.hourly)
        {
            names.push(variable.hourly);
        }
    }
    names
}

/// A request for the variables of `needs`, its window still to be added; `None` for no needs.
fn job(
    lake: &Lake,
    kind: &'static str,
    (host, path): (&'static str, &str),
    list: &'static str,
    needs: &[&Needed<'_>],
) -> Option<Job> {
    let as_of = needs.first()?.0.to;
    let mut names: Vec<&str> = Vec::new();
    for (_, variable) in needs {
        let name = if list == "daily" {
            variable.daily
        } else {
            Some(variable.hourly)
        };
        names.extend(name.filter(|name| !names.contains(name)));
    }
    let query = [
        ("latitude", lake.latitude_deg.to_string()),
        ("longitude", lake.longitude_deg.to_string()),
        ("timezone", "GMT".to_owned()),
        ("wind_speed_unit", "ms".to_owned()),
        (list, names.join(",")),
    ];
    Some(Job {
        service: super::NAME,
        kind,
        station: position(lake),
        what: names.join(","),
        window: None,
        host,
        path: path.to_owned(),
        query: query
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value))
            .collect(),
        wants: needs.iter().map(|(need, _)| Want::of(need)).collect(),
        as_of,
    })
}

/// The lake's position, as provenance names it.
pub(super) fn position(lake: &Lake) -> String {
    format!("{:.4} N {:.4} E", lake.latitude_deg, lake.longitude_deg)
}
