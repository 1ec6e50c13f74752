//! Fetches: the cell of a position, once a run; its raw grid; observations; alerts.

use super::alert::read_alerts;
use super::batch::{to_batch, to_forecast};
use super::grid::{Grid, read_grid};
use super::observation::{Observations, read_observations};
use super::point::{Point, read_point, read_stations};
use super::request::{ALERTS, GRID, LIMIT, OBSERVATIONS, point_path, position};
use super::{HOST, NAME};
use crate::lake::Lake;
use crate::series::AlertReply;
use crate::sources::client::{Answer, Client, Reply, Request};
use crate::sources::error::{FetchError, ReadError, SourceError};
use crate::sources::job::{Fetched, Job, RowFault, known_at};

/// Stations that a message names where the one of the lake file is not there.
const NAMED_STATIONS: usize = 5;

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    match job.kind {
        GRID => forecasts(client, lake, job).await,
        OBSERVATIONS => observations(client, lake, job).await,
        ALERTS => Ok(vec![Fetched::Alerts(get_alerts(client, job).await?)]),
        other => Err(SourceError::Read {
            service: NAME,
            origin: job.label(),
            fault: ReadError::Kind {
                found: format!("a job of kind {other}"),
                wanted: format!("{GRID}, {OBSERVATIONS} or {ALERTS}"),
            },
        }),
    }
}

/// The raw grid of the lake's position, and when it came.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`].
pub async fn get_grid(client: &Client, lake: &Lake) -> Result<(Grid, Reply), SourceError> {
    let path = get_point(client, lake).await?.grid_path();
    let request = request(&path, &[]);
    let mut reply = reply_of(client, request).await?;
    let bytes = std::mem::take(&mut reply.bytes);
    let grid = read_grid(&bytes).map_err(|fault| request.read_error(fault))?;
    Ok((grid, reply))
}

/// The alerts that a job asks for. One that could not be read is counted, for a warning may be among them.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`].
pub async fn get_alerts(client: &Client, job: &Job) -> Result<AlertReply, SourceError> {
    let request = request(&job.path, &job.query);
    let reply = reply_of(client, request).await?;
    let found = read_alerts(&reply.bytes).map_err(|fault| request.read_error(fault))?;
    for fault in &found.faults {
        tracing::warn!(%fault, "in the reply of alerts");
    }
    Ok(AlertReply {
        service: NAME.to_owned(),
        known_at: known_at(reply.received_at, job.as_of),
        alerts: found.alerts,
        unread: found.unread,
    })
}

/// The cell of the lake's position: it seldom changes, so all jobs of a run share one reply.
async fn get_point(client: &Client, lake: &Lake) -> Result<Point, SourceError> {
    let path = point_path(lake);
    let request = request(&path, &[]);
    let reply = client.get_shared(request).await?;
    read_point(&reply.bytes).map_err(|fault| request.read_error(fault))
}

/// A layer that cannot be used does not cost the others: it comes back as a fault of its series. Where
/// none can be used, the first fault is the error.
async fn forecasts(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let (grid, reply) = get_grid(client, lake).await?;
    let position = position(lake);
    let mut fetched = Vec::new();
    let mut first_fault = None;
    let mut filled = 0;
    for want in &job.wants {
        let of_layer = format!("properties.{}", want.series.parameter);
        let own = |fault: &&RowFault| {
            let rest = fault.place.strip_prefix(&of_layer);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        let mut faults: Vec<RowFault> = grid.faults.iter().filter(own).cloned().collect();
        match to_forecast(&grid, want, job.as_of, reply.received_at, &position) {
            Ok(forecast) => {
                fetched.push(Fetched::Forecast(forecast));
                filled += 1;
            }
            Err(fault) => {
                faults.push(RowFault {
                    place: format!("layer {}", want.series.parameter),
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
        Some(fault) if filled == 0 => Err(SourceError::Read {
            service: NAME,
            origin: format!("the raw grid of {}", grid.cell),
            fault,
        }),
        _ => Ok(fetched),
    }
}

async fn observations(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let request = request(&job.path, &job.query);
    let reply = match reply_of(client, request).await {
        Ok(reply) => reply,
        Err(error) => return Err(with_stations(client, lake, error).await),
    };
    let observed = read_observations(&reply.bytes).map_err(|fault| request.read_error(fault))?;
    let mut fetched = Vec::new();
    for want in &job.wants {
        let filled = to_batch(&observed, want, job.as_of, reply.received_at)
            .map_err(|fault| request.read_error(fault))?;
        let mut faults = of_all(&observed, job);
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

/// What was left out of a reply, and whether more may be missing.
fn of_all(observed: &Observations, job: &Job) -> Vec<RowFault> {
    let mut faults = observed.faults.clone();
    if observed.rows.len() + observed.faults.len() >= LIMIT {
        faults.push(RowFault {
            place: job.label(),
            found: format!("{LIMIT} observations, the most a reply holds"),
            wanted: "fewer, for older ones may be missing",
        });
    }
    faults
}

/// The same error; where the service has no such station, with those near the lake in it.
async fn with_stations(client: &Client, lake: &Lake, error: SourceError) -> SourceError {
    match error {
        SourceError::Fetch {
            service,
            url,
            fault:
                FetchError::Status {
                    status: 404,
                    tries,
                    said,
                },
        } => {
            let near = stations_near(client, lake).await.unwrap_or_default();
            let said = match (said, near.is_empty()) {
                (said, true) => said,
                (Some(said), false) => Some(format!("{said}; stations near the lake: {}", near.join(", "))),
                (None, false) => Some(format!("stations near the lake: {}", near.join(", "))),
            };
            SourceError::Fetch {
                service,
                url,
                fault: FetchError::Status {
                    status: 404,
                    tries,
                    said,
                },
            }
        }
        other => other,
    }
}

/// Stations near the lake, the nearest first.
async fn stations_near(client: &Client, lake: &Lake) -> Result<Vec<String>, SourceError> {
    let path = get_point(client, lake).await?.stations_path();
    let request = request(&path, &[]);
    let reply = client.get_shared(request).await?;
    let (stations, _) = read_stations(&reply.bytes).map_err(|fault| request.read_error(fault))?;
    Ok(stations.into_iter().take(NAMED_STATIONS).map(|s| s.id).collect())
}

fn request<'a>(path: &'a str, query: &'a [(String, String)]) -> Request<'a> {
    Request {
        service: NAME,
        host: HOST,
        path,
        query,
    }
}

/// The reply to a request. What the service says changes from hour to hour, so nothing is asked
/// conditionally.
async fn reply_of(client: &Client, request: Request<'_>) -> Result<Reply, SourceError> {
    match client.get(request, false).await? {
        Answer::Reply(reply) => Ok(reply),
        Answer::NotModified => Err(request.read_error(ReadError::Empty {
            wanted: "a reply, since no validator was sent",
        })),
    }
}
