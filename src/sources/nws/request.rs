//! Needs to requests: one raw grid for all forecasts, one a station and day for observations, one for alerts.

use chrono::{DateTime, Duration, NaiveTime, Utc};

use super::HOST;
use super::table::layer_of;
use crate::lake::{Cadence, Lake};
use crate::sources::job::{Job, Need, Want, continuous_start};

/// Days of observations that the service holds (from memory): what is older is not asked for.
const HELD_DAYS: i64 = 7;
/// Most observations of one reply (service documentation). A station that reports every five minutes has
/// 288 a day, so that a day fits.
pub(super) const LIMIT: usize = 500;

/// Requests that fill `needs`: the raw grid, then observations. Needs of the same request share it.
pub(super) fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let mut jobs: Vec<Job> = Vec::new();
    let known = needs
        .iter()
        .filter(|need| layer_of(&need.series.parameter).is_some());
    for need in known {
        let own = match need.cadence {
            Cadence::Forecast => vec![grid_job(lake, need)],
            Cadence::Continuous => observation_jobs(need),
            Cadence::Daily => Vec::new(),
        };
        for job in own {
            let same = |held: &&mut Job| held.path == job.path && held.query == job.query;
            match jobs.iter_mut().find(same) {
                Some(held) => {
                    if !held.what.split(',').any(|name| name == job.what) {
                        held.what = format!("{},{}", held.what, job.what);
                    }
                    held.wants.extend(job.wants);
                }
                None => jobs.push(job),
            }
        }
    }
    jobs.sort_by_key(|job| job.kind != GRID);
    jobs
}

pub(super) const GRID: &str = "grid";
pub(super) const OBSERVATIONS: &str = "observations";
pub(super) const ALERTS: &str = "alerts";

/// The request for the raw grid: it begins with the cell of the position, whose address the service names.
fn grid_job(lake: &Lake, need: &Need<'_>) -> Job {
    Job {
        kind: GRID,
        station: position(lake),
        what: need.series.parameter.clone(),
        path: point_path(lake),
        wants: vec![Want::of(need)],
        ..bare(need.to)
    }
}

/// One request a UTC day, the first and the last cut.
fn observation_jobs(need: &Need<'_>) -> Vec<Job> {
    let Some(start) = continuous_start(need, |day| day.and_time(NaiveTime::MIN).and_utc()) else {
        return Vec::new();
    };
    let stamp = |instant: DateTime<Utc>| instant.format("%Y-%m-%dT%H:%M:%SZ").to_string();
    let mut from = start.max(need.to - Duration::days(HELD_DAYS));
    let mut jobs = Vec::new();
    while from < need.to {
        let next_day = from.date_naive().succ_opt().unwrap_or(chrono::NaiveDate::MAX);
        let to = need.to.min(next_day.and_time(NaiveTime::MIN).and_utc());
        let query = [
            ("start", stamp(from)),
            ("end", stamp(to)),
            ("limit", LIMIT.to_string()),
        ];
        jobs.push(Job {
            kind: OBSERVATIONS,
            station: need.series.station.clone(),
            what: need.series.parameter.clone(),
            window: Some((stamp(from), stamp(to))),
            path: format!("/stations/{}/observations", need.series.station),
            query: query.map(|(key, value)| (key.to_owned(), value)).to_vec(),
            wants: vec![Want::of(need)],
            ..bare(need.to)
        });
        from = to;
    }
    jobs
}

/// The request for the alerts in force at the lake's position.
pub(super) fn alert_job(lake: &Lake, as_of: DateTime<Utc>) -> Job {
    Job {
        kind: ALERTS,
        station: position(lake),
        path: "/alerts/active".to_owned(),
        query: vec![(
            "point".to_owned(),
            coordinates((lake.latitude_deg, lake.longitude_deg)),
        )],
        ..bare(as_of)
    }
}

fn bare(as_of: DateTime<Utc>) -> Job {
    Job {
        service: super::NAME,
        kind: "",
        station: String::new(),
        what: String::new(),
        window: None,
        host: HOST,
        path: String::new(),
        query: Vec::new(),
        wants: Vec::new(),
        as_of,
    }
}

/// Path of what the service has for the lake's position.
pub(super) fn point_path(lake: &Lake) -> String {
    point_path_of((lake.latitude_deg, lake.longitude_deg))
}

/// Path of what the service has for a position, degrees.
pub(super) fn point_path_of(position: (f64, f64)) -> String {
    format!("/points/{}", coordinates(position))
}

/// Latitude and longitude as the service wants them: at most four decimals, no zeros at the end.
fn coordinates((latitude_deg, longitude_deg): (f64, f64)) -> String {
    // Adding zero takes the sign from a rounded -0.
    let short = |degrees: f64| (degrees * 1e4).round() / 1e4 + 0.0;
    format!("{},{}", short(latitude_deg), short(longitude_deg))
}

/// The lake's position, as provenance names it.
pub(super) fn position(lake: &Lake) -> String {
    format!("{:.4} N {:.4} E", lake.latitude_deg, lake.longitude_deg)
}
