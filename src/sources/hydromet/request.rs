//! Needs to requests: one a station and parameter, for the hours back from now.

use chrono::Duration;

use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake};
use crate::sources::job::{Job, Need, Want, continuous_start};

/// Minutes between values.
const STEP_MIN: &str = "15";

/// Requests that fill `needs`. The service counts back from its own clock, so in a run with an earlier clock what is later is
/// dropped. How far back it goes is not documented: all is asked for, and what does not come shows as missing.
pub(super) fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let clock = LakeClock::new(lake.time_zone);
    let of = |need: &Need<'_>| {
        let from = continuous_start(need, |day| clock.standard_day_start(day))?;
        let hours = ((need.to - from) + Duration::hours(1)).num_hours();
        Some(job(need, hours))
    };
    let within_the_day = needs.iter().filter(|need| need.cadence == Cadence::Continuous);
    within_the_day.filter_map(of).collect()
}

fn job(need: &Need<'_>, hours: i64) -> Job {
    let what = format!("{} {}", need.series.station.trim(), need.series.parameter.trim());
    let hours = hours.to_string();
    let query = [
        ("parameter", what.as_str()),
        ("incr", STEP_MIN),
        ("back", hours.as_str()),
        ("format", "2"),
    ];
    Job {
        service: super::NAME,
        kind: "webdaycsv",
        station: need.series.station.clone(),
        what: need.series.parameter.clone(),
        window: None,
        host: super::HOST,
        path: "/pn-bin/webdaycsv.pl".to_owned(),
        query: query
            .map(|(key, value)| (key.to_owned(), value.to_owned()))
            .to_vec(),
        wants: vec![Want::of(need)],
        as_of: need.to,
    }
}
