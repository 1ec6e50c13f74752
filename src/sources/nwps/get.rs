//! Fetches: one request, then observations or forecasts of every series it fills.

use super::batch::{to_batch, to_forecast};
use super::read::{Block, Part, read_stageflow};
use super::request::part;
use crate::sources::client::{Answer, Client, Reply};
use crate::sources::error::{ReadError, SourceError};
use crate::sources::job::{Fetched, Job, RowFault, Want};

/// The block that a job asks for, and when it came.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`].
pub async fn get_block(client: &Client, job: &Job, part: Part) -> Result<(Block, Reply), SourceError> {
    match client.get(job.request(), false).await? {
        Answer::NotModified => Err(job.request().read_error(ReadError::Empty {
            wanted: "a reply, since no validator was sent",
        })),
        Answer::Reply(mut reply) => {
            let bytes = std::mem::take(&mut reply.bytes);
            let block = read_stageflow(&bytes, part).map_err(|fault| job.request().read_error(fault))?;
            Ok((block, reply))
        }
    }
}

/// Does a job of this service. A figure that cannot be used does not cost the other: it comes back as a fault of
/// its series. Where none can be used, the first fault is the error.
pub(super) async fn run(client: &Client, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let Some(part) = part(job.kind) else {
        let fault = ReadError::Kind {
            found: format!("a job of kind {}", job.kind),
            wanted: "observed or forecast".to_owned(),
        };
        return Err(job.request().read_error(fault));
    };
    let (block, reply) = get_block(client, job, part).await?;
    let mut fetched = Vec::new();
    let mut first_fault = None;
    let mut filled = 0;
    for want in &job.wants {
        let mut faults = block.faults.clone();
        match fill(&block, want, part, job, &reply) {
            Ok((one, of_series)) => {
                faults.extend(of_series);
                fetched.extend(one);
                filled += 1;
            }
            Err(fault) => {
                faults.push(RowFault {
                    place: format!("parameter {}", want.series.parameter),
                    found: fault.to_string(),
                    wanted: "its figures",
                });
                first_fault.get_or_insert(fault);
            }
        }
        if !faults.is_empty() {
            fetched.push(Fetched::Faults {
                series: want.series.id.clone(),
                faults,
            });
        }
    }
    match first_fault {
        Some(fault) if filled == 0 => Err(job.request().read_error(fault)),
        _ => Ok(fetched),
    }
}

fn fill(
    block: &Block,
    want: &Want,
    part: Part,
    job: &Job,
    reply: &Reply,
) -> Result<(Option<Fetched>, Vec<RowFault>), ReadError> {
    if part == Part::Observed {
        let found = to_batch(block, want, job.as_of, reply.received_at)?;
        return Ok((Some(Fetched::Observations(found.filled)), found.faults));
    }
    let found = to_forecast(block, want, reply.received_at)?;
    let mut faults = found.faults;
    if found.filled.is_none() {
        faults.push(RowFault {
            place: format!("{} of {}", want.series.parameter, want.series.station),
            found: "no forecast in the reply".to_owned(),
            wanted: "one; the service forecasts some gauges at high water only, and others never",
        });
    }
    Ok((found.filled.map(Fetched::Forecast), faults))
}
