//! Needs to requests: one a gauge and part. The service takes no window.

use super::read::Part;
use super::table::parameter;
use super::{HOST, NAME};
use crate::lake::{Cadence, Lake};
use crate::sources::job::{Job, Need, Want};

/// The part that serves a cadence.
fn part_of(cadence: Cadence) -> Option<Part> {
    match cadence {
        Cadence::Daily => None,
        Cadence::Continuous => Some(Part::Observed),
        Cadence::Forecast => Some(Part::Forecast),
    }
}

/// The part that a job asks for.
pub(super) fn part(kind: &str) -> Option<Part> {
    [Part::Observed, Part::Forecast]
        .into_iter()
        .find(|part| part.word() == kind)
}

/// Requests that fill `needs`. Needs of the same request share it.
pub(super) fn jobs(_: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let mut jobs: Vec<Job> = Vec::new();
    for need in needs {
        let known = parameter(&need.series.parameter).zip(part_of(need.cadence));
        let Some((parameter, part)) = known else { continue };
        let path = format!(
            "/nwps/v1/gauges/{}/stageflow/{}",
            need.series.station,
            part.word()
        );
        match jobs.iter_mut().find(|held| held.path == path) {
            Some(held) => {
                if !held.what.split(',').any(|name| name == parameter.name) {
                    held.what = format!("{},{}", held.what, parameter.name);
                }
                held.wants.push(Want::of(need));
            }
            None => jobs.push(Job {
                service: NAME,
                kind: part.word(),
                station: need.series.station.clone(),
                what: parameter.name.to_owned(),
                window: None,
                host: HOST,
                path,
                query: Vec::new(),
                wants: vec![Want::of(need)],
                as_of: need.to,
            }),
        }
    }
    jobs
}
