//! Fetches: one request, then batches and forecasts of every series it fills.

use super::batch::{Context, to_batch, to_forecast};
use super::read::{Weather, read_weather};
use super::request::position;
use super::table::variable_of;
use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake};
use crate::series::Approval;
use crate::sources::client::{Answer, Client, Reply};
use crate::sources::error::{ReadError, SourceError};
use crate::sources::job::{Fetched, Job, RowFault, Want, known_at};

/// A reply's values and when it came; `None` where nothing has changed since the last fetch.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`].
pub async fn get_weather(client: &Client, job: &Job) -> Result<Option<(Weather, Reply)>, SourceError> {
    // A forecast is a new one each time, so only the archive is asked conditionally.
    let conditional = job.kind.starts_with("archive");
    match client.get(job.request(), conditional).await? {
        Answer::NotModified => Ok(None),
        Answer::Reply(mut reply) => {
            let bytes = std::mem::take(&mut reply.bytes);
            let weather = read_weather(&bytes).map_err(|fault| job.request().read_error(fault))?;
            Ok(Some((weather, reply)))
        }
    }
}

/// Does a job of this service. A variable that cannot be used does not cost the others: it comes back
/// as a fault of its series. Where none can be used, the first fault is the error.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let Some((weather, reply)) = get_weather(client, job).await? else {
        let series = job.wants.iter().map(|want| want.series.id.clone()).collect();
        return Ok(vec![Fetched::NotModified { series }]);
    };
    let position = position(lake);
    let is_archive = job.kind.starts_with("archive");
    let context = Context {
        clock: LakeClock::new(lake.time_zone),
        as_of: job.as_of,
        retrieved_at: reply.received_at,
        // The service does not say when a forecast was issued.
        issued_at: known_at(reply.received_at, job.as_of),
        position: &position,
        approval: if is_archive {
            Approval::Provisional
        } else {
            Approval::Unstated
        },
    };
    let mut fetched = Vec::new();
    let mut first_fault = None;
    let mut filled = 0;
    for want in &job.wants {
        let mut faults = weather.faults.clone();
        match fill(job, &weather, want, context) {
            Ok(one) => {
                fetched.push(one);
                filled += 1;
            }
            Err(fault) => {
                faults.push(RowFault {
                    place: format!("variable {}", want.series.parameter),
                    found: fault.to_string(),
                    wanted: "its values",
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
        Some(fault) if filled == 0 => return Err(job.request().read_error(fault)),
        Some(_) => {}
        None if is_archive => client.hold_validators(job, reply.validators),
        None => {}
    }
    Ok(fetched)
}

fn fill(job: &Job, weather: &Weather, want: &Want, context: Context<'_>) -> Result<Fetched, ReadError> {
    let no_block = |place| ReadError::NoVariable {
        variable: want.series.parameter.clone(),
        place,
    };
    match want.cadence {
        Cadence::Daily => {
            let table = weather.daily.as_ref().ok_or_else(|| no_block("daily"))?;
            to_batch(table, want, context).map(Fetched::Observations)
        }
        Cadence::Continuous => {
            let table = weather.hourly.as_ref().ok_or_else(|| no_block("hourly"))?;
            to_batch(table, want, context).map(Fetched::Observations)
        }
        Cadence::Forecast => {
            let table = weather.hourly.as_ref().ok_or_else(|| no_block("hourly"))?;
            let forecast = to_forecast(table, want, context)?;
            let in_ensemble = variable_of(&want.series.parameter).is_some_and(|v| v.in_ensemble);
            let stands_in = job.kind == "forecast" && in_ensemble && want.series.ensemble_model.is_some();
            Ok(if stands_in {
                Fetched::StandInForecast(forecast)
            } else {
                Fetched::Forecast(forecast)
            })
        }
    }
}
