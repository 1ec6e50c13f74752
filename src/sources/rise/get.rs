//! Fetches: the item with its unit, once a run; all pages of results, then batches.

use std::collections::BTreeSet;

use super::item::read_items;
use super::result::{Results, read_results, to_rows};
use super::{HOST, NAME};
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::sources::client::{Answer, Client, Reply, Request};
use crate::sources::error::{FetchError, ReadError, SourceError};
use crate::sources::job::{Fetched, Job, RowFault};
use crate::sources::usgs_ogc::to_batch;

/// Most pages of one request.
const PAGES: usize = 500;

/// All pages of results as one, and the first reply without its bytes; `None` where nothing has changed since the last
/// fetch.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`]; a page that links to one already seen, or to another host, fails the
/// whole request, and so do pages that hold fewer results than the first one promises.
pub async fn get_results(client: &Client, job: &Job) -> Result<Option<(Results, Reply)>, SourceError> {
    let (mut path, mut query) = (job.path.clone(), job.query.clone());
    let mut seen = BTreeSet::new();
    let mut all: Option<(Results, Reply)> = None;
    loop {
        let request = Request {
            service: NAME,
            host: job.host,
            path: &path,
            query: &query,
        };
        if !seen.insert(request.url()) || seen.len() > PAGES {
            let fault = FetchError::Endless {
                what: "the chain of pages",
                count: seen.len(),
            };
            return Err(SourceError::Fetch {
                service: NAME,
                url: request.url(),
                fault,
            });
        }
        let mut reply = match client.get(request, all.is_none()).await? {
            Answer::NotModified => return Ok(None),
            Answer::Reply(reply) => reply,
        };
        let bytes = std::mem::take(&mut reply.bytes);
        let mut page = read_results(&bytes).map_err(|fault| read_error(request, fault))?;
        let next = page
            .next
            .take()
            .map(|link| client.follow(request, &reply, &on_host(&link)))
            .transpose()?;
        match &mut all {
            Some((held, _)) => {
                held.outcomes.append(&mut page.outcomes);
                held.faults.append(&mut page.faults);
            }
            None => all = Some((page, reply)),
        }
        match (next, &all) {
            (Some(link), _) => (path, query) = link,
            (None, Some((held, _))) => {
                let came = held.outcomes.len() + held.faults.len();
                if held.total.is_some_and(|total| came < total) {
                    let fault = ReadError::Kind {
                        found: format!("{came} results on all pages"),
                        wanted: format!("the {} that the pages count", held.total.unwrap_or_default()),
                    };
                    return Err(read_error(request, fault));
                }
                return Ok(all);
            }
            (None, None) => return Ok(None),
        }
    }
}

/// A link to the next page as the whole address: the service gives the path alone.
fn on_host(link: &str) -> String {
    if link.starts_with('/') {
        format!("https://{HOST}{link}")
    } else {
        link.to_owned()
    }
}

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let unit = get_unit(client, job).await?;
    let Some((results, reply)) = get_results(client, job).await? else {
        let series = job.wants.iter().map(|want| want.series.id.clone()).collect();
        return Ok(vec![Fetched::NotModified { series }]);
    };
    let clock = LakeClock::new(lake.time_zone);
    let mut fetched = Vec::new();
    for want in &job.wants {
        let rows = to_rows(&results, &unit, want, clock);
        let filled = to_batch(&rows, want, clock, job.as_of, reply.received_at)
            .map_err(|fault| read_error(first_request(job), fault))?;
        let faults: Vec<RowFault> = results.faults.iter().cloned().chain(filled.faults).collect();
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

/// The unit of a job's item, which no result states. All jobs of an item share one reply.
async fn get_unit(client: &Client, job: &Job) -> Result<String, SourceError> {
    let path = format!("/rise/api/catalog-item/{}", job.what.trim());
    let request = Request {
        service: NAME,
        host: HOST,
        path: &path,
        query: &[],
    };
    let reply = client.get_shared(request).await?;
    let (items, _) = read_items(&reply.bytes).map_err(|fault| read_error(request, fault))?;
    let item = items.into_iter().find(|item| item.id == job.what.trim());
    item.and_then(|item| item.unit).ok_or_else(|| {
        read_error(
            request,
            ReadError::Kind {
                found: format!("no unit of item {}", job.what),
                wanted: "an item with its parameterUnit".to_owned(),
            },
        )
    })
}

fn first_request(job: &Job) -> Request<'_> {
    Request {
        service: NAME,
        host: job.host,
        path: &job.path,
        query: &job.query,
    }
}

fn read_error(request: Request<'_>, fault: ReadError) -> SourceError {
    SourceError::Read {
        service: NAME,
        origin: request.url(),
        fault,
    }
}
