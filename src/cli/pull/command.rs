//! The command: lakes in, a table a lake out.

use std::path::PathBuf;
use std::time::Duration;

use super::lake::PullSummary;
use super::many::{Options, pull_many};
use crate::cli::args::{PullArgs, PullFormat};
use crate::cli::progress::Tell;
use crate::cli::session::{self, Session};
use crate::cli::{failures, lakes, output};
use crate::error::{Error, Status};
use crate::faces::pulled::render_pulled;
use crate::faces::{Reader, Units};
use crate::reports::{PullFailure, PulledLake};

/// The command. The status is that of the lake that fared worst: 2 where a lake file is at fault, else 1 where a lake
/// got nothing at all, was being pulled by another process, or its store could not be written.
///
/// # Errors
/// No lake, or no network runtime; of a single lake also what is wrong with it.
pub fn run(args: &PullArgs) -> Result<Status, Error> {
    let named: Vec<Option<String>> = if args.all {
        lakes::all_names()?.into_iter().map(Some).collect()
    } else if args.lake.is_empty() {
        vec![None]
    } else {
        args.lake.iter().cloned().map(Some).collect()
    };
    let open = |named: &Option<String>| session::open(&args.session, named.as_deref());
    let mut opened: Vec<Result<Session, Error>> = named.iter().map(open).collect();
    refuse_twins(&mut opened);
    let options = Options {
        always: true,
        since: args.since,
        history_years: args.history,
        tell: Tell::Everything,
        advance_water: true,
        // A second pull says at once who pulls.
        wait: Duration::ZERO,
    };
    let sessions: Vec<&Session> = opened.iter().flatten().collect();
    let mut results = pull_many(&sessions, options)?.into_iter();
    let mut lakes = Vec::new();
    let mut status = Status::Good;
    for (named, session) in named.iter().zip(&opened) {
        let result = match session {
            Ok(_) => results.next().unwrap_or_else(|| Ok(PullSummary::default())),
            Err(_) => Ok(PullSummary::default()),
        };
        let (pulled, of_lake) = match (session, result) {
            (Ok(session), Ok(summary)) => {
                tell(&summary);
                let of_lake = if nothing_came(&summary) {
                    Status::Failed
                } else {
                    Status::Good
                };
                (report(session, summary), of_lake)
            }
            (Ok(session), Err(error)) => {
                output::complain(&error);
                let mut pulled = report(session, PullSummary::default());
                pulled.error = Some(error.to_string());
                (pulled, error.status())
            }
            (Err(error), _) => {
                output::complain(error);
                (not_opened(named.as_deref(), error), error.status())
            }
        };
        status = worse(status, of_lake);
        lakes.push((pulled, session.as_ref().ok().map(|s| s.clock.zone())));
    }
    print(args.format, &lakes)?;
    Ok(status)
}

/// Says on standard error what failed and what was left out.
pub fn tell(summary: &PullSummary) {
    failures::tell(&summary.failed);
    for line in &summary.left_out {
        output::remark(&format!("left out: {line}"));
    }
}

/// Two lake files with one id would pull into one store.
fn refuse_twins(opened: &mut [Result<Session, Error>]) {
    for k in 1..opened.len() {
        let (before, rest) = opened.split_at_mut(k);
        let Ok(session) = &rest[0] else { continue };
        let twin = before
            .iter()
            .flatten()
            .find(|other| other.lake.id == session.lake.id);
        if let Some(twin) = twin {
            rest[0] = Err(Error::TwinLakes {
                id: session.lake.id.clone(),
                files: [twin.lake_file.clone(), session.lake_file.clone()],
            });
        }
    }
}

fn nothing_came(summary: &PullSummary) -> bool {
    let failed: usize = summary.failed.iter().map(|f| f.requests.len()).sum();
    failed > 0 && failed == summary.requests
}

/// The worse of two: a file to be mended first, then a failure.
fn worse(a: Status, b: Status) -> Status {
    let rank = |status| match status {
        Status::Good => 0,
        Status::TooThin => 1,
        Status::Failed => 2,
        Status::Usage => 3,
    };
    if rank(b) > rank(a) { b } else { a }
}

fn report(session: &Session, summary: PullSummary) -> PulledLake {
    let failure = |f: failures::Failure| PullFailure {
        service: f.service,
        message: f.message,
        requests: f.requests.len(),
        series: f.series.iter().map(ToString::to_string).collect(),
        official_alerts: f.alerts,
    };
    PulledLake {
        lake: session.lake.id.clone(),
        name: session.lake.name.clone(),
        as_of: Some(session.as_of),
        requests: summary.requests,
        series: summary.standing,
        failures: summary.failed.into_iter().map(failure).collect(),
        left_out: summary.left_out,
        water: summary.water,
        error: None,
    }
}

fn not_opened(named: Option<&str>, error: &Error) -> PulledLake {
    let name = named.map(PathBuf::from).unwrap_or_default();
    PulledLake {
        lake: name
            .file_stem()
            .map(|s| s.to_string_lossy().into_owned())
            .unwrap_or_default(),
        name: named.unwrap_or_default().to_owned(),
        as_of: None,
        requests: 0,
        series: Vec::new(),
        failures: Vec::new(),
        left_out: Vec::new(),
        water: None,
        error: Some(error.to_string()),
    }
}

fn print(format: PullFormat, lakes: &[(PulledLake, Option<chrono_tz::Tz>)]) -> Result<(), Error> {
    let text = match format {
        PullFormat::Json => {
            let lakes: Vec<&PulledLake> = lakes.iter().map(|(lake, _)| lake).collect();
            let json = serde_json::to_string_pretty(&lakes).map_err(|source| Error::Json { source })?;
            json + "\n"
        }
        PullFormat::Text => {
            // A lake that was not pulled has said why on standard error.
            let told = lakes
                .iter()
                .filter(|(lake, _)| lakes.len() > 1 || lake.error.is_none());
            told.map(|(lake, zone)| {
                let reader = Reader::new(Units::Us, zone.unwrap_or(chrono_tz::UTC));
                render_pulled(lake, &reader)
            })
            .collect()
        }
    };
    output::print(&text)
}
