//! Fetches: one request, then batches of every series it fills.

use super::batch::to_batch;
use super::read::{Readings, read_readings};
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::sources::client::{Answer, Client, Reply};
use crate::sources::error::{ReadError, SourceError};
use crate::sources::job::{Fetched, Job};

/// The readings that a job asks for, and when they came.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`].
pub async fn get_readings(client: &Client, job: &Job) -> Result<(Readings, Reply), SourceError> {
    // Readings are revised, and the service is not known to say so by a validator: always asked whole.
    match client.get(job.request(), false).await? {
        Answer::NotModified => Err(job.request().read_error(ReadError::Empty {
            wanted: "a reply, since no validator was sent",
        })),
        Answer::Reply(mut reply) => {
            let bytes = std::mem::take(&mut reply.bytes);
            let readings = read_readings(&bytes).map_err(|fault| job.request().read_error(fault))?;
            Ok((readings, reply))
        }
    }
}

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let (readings, reply) = get_readings(client, job).await?;
    let clock = LakeClock::new(lake.time_zone);
    let mut fetched = Vec::new();
    for want in &job.wants {
        let filled = to_batch(&readings.rows, want, clock, job.as_of, reply.received_at)
            .map_err(|fault| job.request().read_error(fault))?;
        let mut faults = readings.faults.clone();
        faults.extend(filled.faults);
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
