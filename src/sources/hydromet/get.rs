//! Fetches: one page a request, then batches.

use super::NAME;
use super::read::{Page, read_values, to_rows};
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::sources::client::{Answer, Client, Reply};
use crate::sources::csv::StampZone;
use crate::sources::error::{ReadError, SourceError};
use crate::sources::job::{Fetched, Job, RowFault};
use crate::sources::usgs_ogc::to_batch;

/// The page that a job asks for, and the reply without its bytes. What it holds changes from quarter to quarter of an hour, so
/// nothing is asked conditionally.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`].
pub async fn get_values(client: &Client, job: &Job) -> Result<(Page, Reply), SourceError> {
    let mut reply = match client.get(job.request(), false).await? {
        Answer::Reply(reply) => reply,
        Answer::NotModified => {
            let fault = ReadError::Empty {
                wanted: "a page, since no validator was sent",
            };
            return Err(job.request().read_error(fault));
        }
    };
    let bytes = std::mem::take(&mut reply.bytes);
    let page = read_values(&bytes).map_err(|fault| job.request().read_error(fault))?;
    Ok((page, reply))
}

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let (page, reply) = get_values(client, job).await?;
    let clock = LakeClock::new(lake.time_zone);
    let mut fetched = Vec::new();
    for want in &job.wants {
        let zone = want
            .series
            .stamp_zone
            .as_deref()
            .ok_or_else(|| SourceError::NotDescribed {
                series: want.series.id.clone(),
                service: NAME,
                wanted: "stamp_zone",
            })?;
        let zone = StampZone::read(zone).map_err(|fault| job.request().read_error(fault))?;
        let (rows, skipped) = to_rows(&page, want, zone);
        let filled = to_batch(&rows, want, clock, job.as_of, reply.received_at)
            .map_err(|fault| job.request().read_error(fault))?;
        let faults: Vec<RowFault> = page
            .faults
            .iter()
            .cloned()
            .chain(skipped)
            .chain(filled.faults)
            .collect();
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
