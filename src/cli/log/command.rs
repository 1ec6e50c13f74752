//! The command: which lake, which log, and what to do.

use super::args::{ListFormat, LogAction, LogArgs};
use super::{add, edit, export, import};
use crate::cli::args::SessionArgs;
use crate::cli::{output, session};
use crate::error::{Error, Status};
use crate::faces::Reader;
use crate::faces::trips::{render_trip, render_trips};
use crate::lake::Lake;
use crate::species::builtin_ids;
use crate::trips::{Known, Trip, TripLog};

/// A run of `log`.
pub(super) struct Run {
    session: session::Session,
    species: Vec<&'static str>,
    /// Units and clock of the reader.
    pub reader: Reader,
}

impl Run {
    /// What trips are checked against.
    pub fn known(&self) -> Known<'_> {
        Known {
            lake: &self.session.lake,
            species: &self.species,
            as_of: self.session.as_of,
        }
    }

    /// The lake.
    pub fn lake(&self) -> &Lake {
        &self.session.lake
    }

    /// The log of the lake, made where it is not there.
    ///
    /// # Errors
    /// As [`TripLog::open`].
    pub fn log(&self) -> Result<TripLog, Error> {
        Ok(TripLog::open(self.session.store.folder())?)
    }

    /// When something is written: the wall clock, or the clock of the run where it was set.
    pub fn now(&self) -> chrono::DateTime<chrono::Utc> {
        self.session.as_of
    }
}

/// The command.
///
/// # Errors
/// No lake, a faulty trip, a log that cannot be read or written.
pub fn run(args: &LogArgs) -> Result<Status, Error> {
    let session = SessionArgs::offline(args.demo, args.as_of.as_deref(), args.store.as_deref());
    let session = session::open(&session, args.lake.as_deref())?;
    let reader = Reader::new(args.units.into(), session.lake.time_zone);
    let run = Run {
        session,
        species: builtin_ids().collect(),
        reader,
    };
    match &args.action {
        LogAction::Add { words, again } => add::run(&run, words, *again),
        LogAction::List { format } => list(&run, *format),
        LogAction::Show { number, history } => show(&run, *number, *history),
        LogAction::Edit {
            number,
            changes,
            from,
            restore,
        } => edit::run(&run, *number, changes, from.as_deref(), *restore),
        LogAction::Remove { number, yes } => edit::remove(&run, *number, *yes),
        LogAction::Export { format, out } => export::run(&run, *format, out.as_deref()),
        LogAction::Import(args) => import::run(&run, args),
        LogAction::Backup { file } => {
            run.log()?.backup(file)?;
            output::remark(&format!("the trip log is copied to {}", file.display()));
            Ok(Status::Good)
        }
    }
}

/// A trip of the list for programs: its number, and all that the log has of it.
#[derive(serde::Serialize)]
struct Listed {
    number: u32,
    #[serde(flatten)]
    trip: Trip,
}

fn list(run: &Run, format: ListFormat) -> Result<Status, Error> {
    let trips = run.log()?.trips()?;
    let text = match format {
        ListFormat::Text => render_trips(&trips, run.lake()),
        ListFormat::Json => {
            let listed = trips.into_iter().map(|(number, trip)| Listed { number, trip });
            let listed: Vec<Listed> = listed.collect();
            serde_json::to_string_pretty(&listed).map_err(|source| Error::Json { source })? + "\n"
        }
    };
    output::print(&text)?;
    Ok(Status::Good)
}

fn show(run: &Run, number: u32, history: bool) -> Result<Status, Error> {
    let versions = run.log()?.versions(number)?;
    let first = if history {
        0
    } else {
        versions.len().saturating_sub(1)
    };
    let texts: Vec<String> = versions[first..]
        .iter()
        .map(|version| render_trip(number, version, versions.len(), run.lake(), &run.reader))
        .collect();
    output::print(&texts.join("\n"))?;
    Ok(Status::Good)
}
