//! Opens the files: one job a file, whichever columns are wanted of it.

use std::path::PathBuf;
use std::sync::Arc;

use chrono::Utc;

use super::batch::to_batch;
use super::read::{Table, read_table};
use crate::clock::LakeClock;
use crate::lake::{Cadence, CsvColumns, Lake, SeriesSource};
use crate::series::Provenance;
use crate::sources::client::Client;
use crate::sources::error::{ReadError, SourceError};
use crate::sources::job::{Fetched, Job, Need, Want};
use crate::sources::reply::{FILE_CAP_BYTES, read_file};
use crate::sources::unit::conversion;

/// What of a series' description cannot be used.
pub(super) fn refuses(series: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    if cadence == Cadence::Forecast {
        return Some(("cadence forecast".to_owned(), "daily or continuous".to_owned()));
    }
    let Some(unit) = &series.unit else {
        return Some((
            "no unit".to_owned(),
            format!("the unit of the column as `unit`, of {}", series.quantity.word()),
        ));
    };
    match conversion(series.quantity, cadence, unit, "unit") {
        Err(ReadError::Unit { found, wanted, .. }) => {
            Some((format!("unit \"{found}\""), format!("one of {wanted}")))
        }
        _ => None,
    }
}

/// One job a file.
pub(super) fn jobs(_: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let mut jobs: Vec<Job> = Vec::new();
    for need in needs {
        let Some(columns) = &need.series.csv else { continue };
        let path = columns.path.to_string_lossy().into_owned();
        match jobs.iter_mut().find(|job| job.path == path) {
            Some(job) => {
                job.what = format!("{}, {}", job.what, columns.value);
                job.wants.push(Want::of(need));
            }
            None => jobs.push(Job {
                service: super::NAME,
                kind: "table",
                station: path.clone(),
                what: columns.value.clone(),
                window: None,
                host: "",
                path,
                query: Vec::new(),
                wants: vec![Want::of(need)],
                as_of: need.to,
            }),
        }
    }
    jobs
}

/// Reads a file, whole and as it is.
///
/// # Errors
/// [`SourceError::File`], [`SourceError::FileTooLarge`].
pub async fn get_table(client: &Client, columns: &CsvColumns) -> Result<(PathBuf, Vec<u8>), SourceError> {
    let path = client.settings().files_from.join(&columns.path);
    let bytes = read_file(&path, FILE_CAP_BYTES)?;
    Ok((path, bytes))
}

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let clock = LakeClock::new(lake.time_zone);
    let mut file: Option<(PathBuf, Vec<u8>)> = None;
    let mut fetched = Vec::new();
    for want in &job.wants {
        let not_described = |wanted| SourceError::NotDescribed {
            series: want.series.id.clone(),
            service: super::NAME,
            wanted,
        };
        let columns = want.series.csv.as_ref().ok_or_else(|| not_described("csv"))?;
        let unit = want.series.unit.clone().ok_or_else(|| not_described("unit"))?;
        if file.is_none() {
            file = Some(get_table(client, columns).await?);
        }
        let Some((path, bytes)) = &file else { continue };
        let read_error = |fault| SourceError::Read {
            service: super::NAME,
            origin: path.display().to_string(),
            fault,
        };
        let Table { rows, faults, zone } = read_table(bytes, columns).map_err(read_error)?;
        let provenance = Arc::new(Provenance {
            service: super::NAME.to_owned(),
            station: columns
                .path
                .file_name()
                .map(|name| name.to_string_lossy().into_owned())
                .unwrap_or_default(),
            parameter: columns.value.clone(),
            original_unit: unit,
            retrieved_at: if client.is_replay() { job.as_of } else { Utc::now() },
        });
        let table = Table {
            rows,
            faults: Vec::new(),
            zone,
        };
        let (batch, more) = to_batch(&table, want, clock, job.as_of, &provenance).map_err(read_error)?;
        let faults: Vec<_> = faults.into_iter().chain(more).collect();
        if !faults.is_empty() {
            fetched.push(Fetched::Faults {
                series: want.series.id.clone(),
                faults,
            });
        }
        fetched.push(Fetched::Observations(batch));
    }
    Ok(fetched)
}
