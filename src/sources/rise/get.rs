//! Fetches: the item with its unit, once a run; all pages of results, then batches.

use std::collections::BTreeSet;

use super::item::{Item, RiseLocation, read_items, read_locations};
use super::result::{Results, read_results, to_rows};
use super::{HOST, NAME};
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::quantity::Quantity;
use crate::sources::client::{Answer, Client, Reply, Request};
use crate::sources::cwms::bare_datum;
use crate::sources::error::{FetchError, ReadError, SourceError};
use crate::sources::job::{Fetched, Job, RowFault, Want};
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
        let mut page = read_results(&bytes).map_err(|fault| request.read_error(fault))?;
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
                    return Err(request.read_error(fault));
                }
                return Ok(all);
            }
            (None, None) => return Ok(None),
        }
    }
}

/// A link to the next page as the whole address: the service gives the path alone.
pub(super) fn on_host(link: &str) -> String {
    if link.starts_with('/') {
        format!("https://{HOST}{link}")
    } else {
        link.to_owned()
    }
}

/// A location with its items: what a lake file needs to know of a reservoir. Such lists are slow at the service.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`], the latter also where the reply has no such location.
pub async fn get_location(client: &Client, id: &str) -> Result<(RiseLocation, Vec<RowFault>), SourceError> {
    let include = [("include".to_owned(), "catalogRecords.catalogItems".to_owned())];
    location(client, id, &include).await
}

async fn location(
    client: &Client,
    id: &str,
    query: &[(String, String)],
) -> Result<(RiseLocation, Vec<RowFault>), SourceError> {
    let path = format!("/rise/api/location/{id}");
    let request = own_request(&path, query);
    let reply = client.get_shared(request).await?;
    let found = read_locations(&reply.bytes).map_err(|fault| request.read_error(fault))?;
    let own = found.locations.into_iter().find(|l| l.station.id == id);
    let own = own.ok_or_else(|| {
        let (found, wanted) = ("no such location".to_owned(), format!("location {id}"));
        request.read_error(ReadError::Kind { found, wanted })
    })?;
    Ok((own, found.faults))
}

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let item = get_item(client, job).await?;
    let Some((results, reply)) = get_results(client, job).await? else {
        let series = job.wants.iter().map(|want| want.series.id.clone()).collect();
        return Ok(vec![Fetched::NotModified { series }]);
    };
    let clock = LakeClock::new(lake.time_zone);
    let mut fetched = Vec::new();
    for want in &job.wants {
        let (rows, misfits) = to_rows(&results, &item, want, clock);
        let filled = to_batch(&rows, want, clock, job.as_of, reply.received_at)
            .map_err(|fault| first_request(job).read_error(fault))?;
        let mut faults = results.faults.clone();
        faults.extend(misfits.into_iter().chain(filled.faults));
        faults.extend(datum_fault(client, want, &lake.vertical_datum).await);
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

/// What the location's datum says against the lake file's offset of a level, or why that could not be asked. A location
/// without a datum says nothing.
async fn datum_fault(client: &Client, want: &Want, lake_datum: &str) -> Option<RowFault> {
    if want.series.quantity != Quantity::PoolElevation {
        return None;
    }
    let offset_m = want.series.datum_offset_m?;
    let id = want.series.station.trim();
    let place = format!("location {id}, verticalDatum");
    let stated = match location(client, id, &[]).await {
        Ok((location, _)) => location.station.vertical_datum?,
        Err(fault) => {
            return Some(RowFault {
                place,
                found: format!("no reply to check the datum by ({fault})"),
                wanted: "the location, for its datum",
            });
        }
    };
    let is_same = bare_datum(&stated) == bare_datum(lake_datum);
    (is_same != (offset_m == 0.0)).then(|| RowFault {
        place,
        found: format!("{stated}, a lake file in {lake_datum} and a datum_offset of {offset_m:.3} m"),
        wanted: "a datum_offset of 0 in one datum, and another between two",
    })
}

/// The item of a job, with the unit that no result states: its own, or that of its parameter. All jobs of an item share the
/// replies.
async fn get_item(client: &Client, job: &Job) -> Result<Item, SourceError> {
    let id = job.what.trim();
    let path = format!("/rise/api/catalog-item/{id}");
    let mut item = shared_item(client, &path, id).await?;
    let fault = |found: String, wanted: String| {
        Err(own_request(&path, &[]).read_error(ReadError::Kind { found, wanted }))
    };
    if let Some(other) = item.location.as_deref().filter(|l| *l != job.station.trim()) {
        let found = format!("item {id} at location {other}");
        return fault(found, format!("an item of the series' station {}", job.station));
    }
    if let (None, Some(parameter)) = (&item.unit, &item.parameter) {
        let path = format!("/rise/api/parameter/{parameter}");
        item.unit = shared_item(client, &path, parameter).await?.unit;
    }
    if item.unit.is_none() {
        let found = format!("no unit of item {id}");
        return fault(found, "an item or parameter with its parameterUnit".to_owned());
    }
    Ok(item)
}

async fn shared_item(client: &Client, path: &str, id: &str) -> Result<Item, SourceError> {
    let request = own_request(path, &[]);
    let reply = client.get_shared(request).await?;
    let (items, _) = read_items(&reply.bytes).map_err(|fault| request.read_error(fault))?;
    items.into_iter().find(|item| item.id == id).ok_or_else(|| {
        let (found, wanted) = ("another one".to_owned(), format!("number {id}"));
        request.read_error(ReadError::Kind { found, wanted })
    })
}

fn own_request<'a>(path: &'a str, query: &'a [(String, String)]) -> Request<'a> {
    Request {
        service: NAME,
        host: HOST,
        path,
        query,
    }
}

fn first_request(job: &Job) -> Request<'_> {
    Request {
        service: NAME,
        host: job.host,
        path: &job.path,
        query: &job.query,
    }
}
