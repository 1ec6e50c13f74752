//! `log export`.

use std::path::Path;

use super::args::ExportFormat;
use super::command::Run;
use crate::cli::output;
use crate::error::{Error, Status};
use crate::trips::Trip;
use crate::trips::forms::{trips_csv, trips_json, trips_parquet};

/// Writes all trips.
///
/// # Errors
/// A log that cannot be read, a file that cannot be written; what was begun is removed then.
pub(super) fn run(run: &Run, format: ExportFormat, out: Option<&Path>) -> Result<Status, Error> {
    let trips: Vec<Trip> = run.log()?.trips()?.into_iter().map(|(_, trip)| trip).collect();
    let bytes = match format {
        ExportFormat::Csv => trips_csv(&trips).into_bytes(),
        ExportFormat::Json => trips_json(&trips).into_bytes(),
        ExportFormat::Parquet => trips_parquet(&trips)?,
    };
    match out {
        Some(path) => {
            write(path, &bytes)?;
            output::remark(&format!("{} trips written to {}", trips.len(), path.display()));
        }
        None => output::print(&String::from_utf8_lossy(&bytes))?,
    }
    Ok(Status::Good)
}

/// Writes a file all at once: beside its place, then into it. What is no file, such as a device, is written as it is.
fn write(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let not_written = |source| Error::NotWritten {
        path: path.to_owned(),
        source,
    };
    if path.exists() && !path.is_file() {
        return std::fs::write(path, bytes).map_err(not_written);
    }
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".unfinished");
    let unfinished = path.with_file_name(name);
    let written = std::fs::write(&unfinished, bytes).and_then(|()| std::fs::rename(&unfinished, path));
    written.map_err(|source| {
        // The file that was there stands; half of a new one helps nobody.
        let _ = std::fs::remove_file(&unfinished);
        not_written(source)
    })
}
