//! Fetches: one reply a request, then batches.

use super::json::read_observations;
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::sources::client::{Answer, Client, Reply};
use crate::sources::error::SourceError;
use crate::sources::job::{Fetched, Job, RowFault};
use crate::sources::usgs_ogc::{Page, to_batch};

/// All rows that a job asks for, and the reply without its bytes; `None` where nothing has changed since the last
/// fetch.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`].
pub async fn get_observations(client: &Client, job: &Job) -> Result<Option<(Page, Reply)>, SourceError> {
    let request = job.request();
    let mut reply = match client.get(request, true).await? {
        Answer::NotModified => return Ok(None),
        Answer::Reply(reply) => reply,
    };
    let bytes = std::mem::take(&mut reply.bytes);
    let page = read_observations(&bytes).map_err(|fault| job.request().read_error(fault))?;
    Ok(Some((page, reply)))
}

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let Some((page, reply)) = get_observations(client, job).await? else {
        let series = job.wants.iter().map(|want| want.series.id.clone()).collect();
        return Ok(vec![Fetched::NotModified { series }]);
    };
    let clock = LakeClock::new(lake.time_zone);
    let mut fetched = Vec::new();
    let mut too_late = 0;
    for want in &job.wants {
        let filled = to_batch(&page.rows, want, clock, job.as_of, reply.received_at)
            .map_err(|fault| job.request().read_error(fault))?;
        too_late += filled.too_late;
        let faults: Vec<RowFault> = page.faults.iter().cloned().chain(filled.faults).collect();
        if !faults.is_empty() {
            fetched.push(Fetched::Faults {
                series: want.series.id.clone(),
                faults,
            });
        }
        fetched.push(Fetched::Observations(filled.batch));
    }
    // A reply whose rows were held back for the clock has to come again.
    if too_late == 0 {
        client.hold_validators(job, reply.validators);
    }
    Ok(fetched)
}
