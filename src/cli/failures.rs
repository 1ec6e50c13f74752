//! Requests that failed, put together so that one outage is one line.

use super::output;
use crate::faces::words;
use crate::lake::SeriesId;
use crate::series::{Consequence, Gap, GapReason, SeriesKey};
use crate::sources::{Job, SourceError};

/// Requests of one service that failed for one reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// Service.
    pub service: String,
    /// The requests, for people, each with the whole of its error.
    pub requests: Vec<(String, String)>,
    /// Series they would have filled, each once.
    pub series: Vec<SeriesId>,
    /// The same with their cadences.
    pub keys: Vec<SeriesKey>,
    /// Whether one of them was for official alerts.
    pub alerts: bool,
    /// What went wrong.
    pub message: String,
    /// Whether no connection came about.
    pub out_of_reach: bool,
}

/// Most requests of a failure that are named one by one.
const NAMED: usize = 3;

impl Failure {
    /// How many requests, in words.
    fn count(&self) -> String {
        match self.requests.len() {
            1 => "1 request".to_owned(),
            many => format!("{many} requests"),
        }
    }
}

/// Adds a failed job to the failure of its service and reason.
pub fn add(failures: &mut Vec<Failure>, job: &Job, error: &SourceError) {
    let message = message(error);
    let same = |f: &Failure| f.service == job.service && f.message == message;
    let place = failures.iter().position(same).unwrap_or(failures.len());
    if place == failures.len() {
        failures.push(Failure {
            service: job.service.to_owned(),
            requests: Vec::new(),
            series: Vec::new(),
            keys: Vec::new(),
            alerts: false,
            message,
            out_of_reach: is_out_of_reach(error),
        });
    }
    let failure = &mut failures[place];
    failure.requests.push((job.label(), error.to_string()));
    // Of all that a pull asks for, only alerts fill no series.
    failure.alerts |= job.wants.is_empty();
    for want in &job.wants {
        if !failure.keys.contains(&want.key()) {
            failure.keys.push(want.key());
        }
        if !failure.series.contains(&want.series.id) {
            failure.series.push(want.series.id.clone());
        }
    }
}

/// What went wrong, without the address: it differs where the fault does not.
fn message(error: &SourceError) -> String {
    match error {
        SourceError::Fetch { fault, .. } => fault.in_short(),
        SourceError::Read { fault, .. } => fault.to_string(),
        other => other.to_string(),
    }
}

/// The gaps that the failures leave, one a series, and one of official alerts.
pub fn gaps(failures: &[Failure]) -> Vec<Gap> {
    let mut gaps: Vec<Gap> = Vec::new();
    for failure in failures {
        let series = failure.series.iter().map(SeriesId::to_string);
        let alerts = failure.alerts.then(|| "official_alerts".to_owned());
        for what in series.chain(alerts) {
            if gaps.iter().any(|g| g.what == what) {
                continue;
            }
            gaps.push(Gap {
                what,
                reason: GapReason::FetchFailed {
                    service: failure.service.clone(),
                    message: format!("{}: {}", failure.message, failure.count()),
                },
                consequence: Consequence::StandIn {
                    stand_in: "what the store already holds".to_owned(),
                },
            });
        }
    }
    gaps
}

/// Says on standard error what failed.
pub fn tell(failures: &[Failure]) {
    for failure in failures {
        let service = words::service(&failure.service);
        output::remark(&format!(
            "not fetched: {service}: {}: {}",
            failure.message,
            failure.count()
        ));
        // Of a service that is out of reach, which requests these were tells nothing.
        let told = if failure.out_of_reach {
            &[][..]
        } else {
            &failure.requests[..]
        };
        for (request, error) in told.iter().take(NAMED) {
            output::remark(&format!("  {request}: {error}"));
        }
        if told.len() > NAMED {
            output::remark(&format!("  and {} more", told.len() - NAMED));
        }
    }
}

/// Whether no connection came about.
fn is_out_of_reach(error: &SourceError) -> bool {
    matches!(error, SourceError::Fetch { fault, .. } if fault.unreachable_because().is_some())
}
