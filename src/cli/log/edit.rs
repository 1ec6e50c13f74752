//! `log edit` and `log remove`.

use std::io::{BufRead as _, Write as _};
use std::path::Path;

use super::command::Run;
use crate::cli::output;
use crate::error::{Error, Status};
use crate::faces::trips::render_trip;
use crate::trips::{
    FileForm, ImportOptions, Placed, Trip, TripError, TripFault, Version, change_trip, faulty, sound,
    trips_in_file,
};

/// Changes a trip and shows it.
///
/// # Errors
/// No such trip, faulty changes, a log that cannot be written.
pub(super) fn run(
    run: &Run,
    number: u32,
    changes: &[String],
    from: Option<&Path>,
    restore: Option<u32>,
) -> Result<Status, Error> {
    let mut log = run.log()?;
    let trip = match (from, restore) {
        (Some(file), _) => one_of(file, run)?,
        (None, Some(version)) => log.version(number, Some(version))?.trip,
        (None, None) => {
            let before = log.version(number, None)?;
            if changes.is_empty() {
                return Err(no_changes(number).into());
            }
            if before.removed {
                output::remark(&format!("trip {number} was removed; the edit brings it back"));
            }
            change_trip(&before.trip, changes, &run.known())
                .map_err(|faults| faulty("the changes", faults))?
        }
    };
    let placed = vec![Placed {
        place: format!("trip {number}"),
        trip,
    }];
    for trip in sound(placed, &run.known(), "the changed trip")? {
        log.edit(number, &trip, run.now())?;
    }
    let versions = log.versions(number)?;
    if let Some(newest) = versions.last() {
        show(run, number, newest, versions.len())?;
    }
    Ok(Status::Good)
}

fn no_changes(number: u32) -> TripError {
    let mend = format!("write for instance plungeline log edit {number} 1.rods=2 1.rainbow-trout=3");
    let fault = TripFault::new(
        "the command",
        "no change",
        "key=value, --from FILE or --restore VERSION",
        mend,
    );
    TripError::Faulty {
        origin: "the changes".to_owned(),
        faults: vec![fault],
    }
}

/// The one trip of a JSON file.
fn one_of(file: &Path, run: &Run) -> Result<Trip, TripError> {
    let options = ImportOptions {
        form: Some(FileForm::Json),
        ..ImportOptions::default()
    };
    let mut trips = trips_in_file(file, &options, &run.known())?.trips;
    match (trips.pop(), trips.len()) {
        (Some(trip), 0) => Ok(trip),
        (_, more) => {
            let found = if more == 0 {
                "no trip".to_owned()
            } else {
                format!("{} trips", more + 1)
            };
            let fault = TripFault::new(
                "the file",
                found,
                "one trip",
                "leave the one that is to be put in",
            );
            Err(TripError::Faulty {
                origin: file.display().to_string(),
                faults: vec![fault],
            })
        }
    }
}

/// Removes a trip after asking.
///
/// # Errors
/// No such trip, a log that cannot be written.
pub(super) fn remove(run: &Run, number: u32, yes: bool) -> Result<Status, Error> {
    let mut log = run.log()?;
    let versions = log.versions(number)?;
    let Some(newest) = versions.last() else {
        return Ok(Status::Good);
    };
    if newest.removed {
        output::remark(&format!("trip {number} is removed already"));
        return Ok(Status::Good);
    }
    if !yes {
        show(run, number, newest, versions.len())?;
        if !confirmed(&format!("Remove trip {number}? [no]: ")) {
            output::remark("nothing was removed");
            return Ok(Status::Good);
        }
    }
    log.remove(number, run.now())?;
    let last = newest.version;
    output::remark(&format!(
        "trip {number} is removed; plungeline log edit {number} --restore {last} brings it back"
    ));
    Ok(Status::Good)
}

/// Whether the answer to a question is yes; no answer is no.
fn confirmed(question: &str) -> bool {
    let mut to = std::io::stderr().lock();
    // Where nobody can read the question nobody will say yes.
    let _ = write!(to, "{question}").and_then(|()| to.flush());
    let mut answer = String::new();
    let read = std::io::Read::take(std::io::stdin().lock(), 1024).read_line(&mut answer);
    read.is_ok() && matches!(answer.trim().to_ascii_lowercase().as_str(), "y" | "yes")
}

/// The newest version of a trip, on the page.
fn show(run: &Run, number: u32, newest: &Version, versions: usize) -> Result<(), Error> {
    output::print(&render_trip(number, newest, versions, run.lake(), &run.reader))
}
