//! Opens the files: one job a file, whichever series are wanted of it.

use chrono::Utc;

use super::NAME;
use super::read::read_values;
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::sources::client::Client;
use crate::sources::error::SourceError;
use crate::sources::job::{Fetched, Job, Need, RowFault, Want};
use crate::sources::reply::{FILE_CAP_BYTES, read_file, unpacked};
use crate::sources::usgs_ogc::to_batch;

/// One job a file.
pub(super) fn jobs(_: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    let mut jobs: Vec<Job> = Vec::new();
    for need in needs {
        let Some(path) = need
            .series
            .file
            .as_ref()
            .map(|path| path.to_string_lossy().into_owned())
        else {
            continue;
        };
        match jobs.iter_mut().find(|job| job.path == path) {
            Some(job) => job.wants.push(Want::of(need)),
            None => jobs.push(Job {
                service: NAME,
                kind: "file",
                station: path.clone(),
                what: String::new(),
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

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let path = client.settings().files_from.join(&job.path);
    let bytes = read_file(&path, FILE_CAP_BYTES)?;
    let read_error = |fault| SourceError::Read {
        service: NAME,
        origin: path.display().to_string(),
        fault,
    };
    let plain = unpacked(&bytes, FILE_CAP_BYTES).map_err(read_error)?;
    let page = read_values(&plain).map_err(read_error)?;
    let clock = LakeClock::new(lake.time_zone);
    let retrieved_at = if client.is_replay() { job.as_of } else { Utc::now() };
    let mut fetched = Vec::new();
    for want in &job.wants {
        let filled = to_batch(&page.rows, want, clock, job.as_of, retrieved_at).map_err(read_error)?;
        let faults: Vec<RowFault> = page.faults.iter().cloned().chain(filled.faults).collect();
        if !faults.is_empty() {
            fetched.push(Fetched::Faults {
                series: want.series.id.clone(),
                faults,
            });
        }
        fetched.push(Fetched::Observations(filled.batch));
    }
    Ok(fetched)
}
