//! Fetches: all pages of a request, then batches.

use std::collections::BTreeSet;

use super::batch::to_batch;
use super::read::{Row, read_observations};
use super::station::read_stations;
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::sources::client::{Answer, Client, Reply, Request};
use crate::sources::error::{FetchError, SourceError};
use crate::sources::job::{Fetched, Job, RowFault, Station};

/// Most pages of one request: 10 000 rows each is a year of minutes fifty times over.
const PAGES: usize = 500;

/// All pages of an observation request.
#[derive(Debug, Clone, PartialEq)]
pub struct Observed {
    /// Rows of all pages.
    pub rows: Vec<Row>,
    /// Rows left out.
    pub faults: Vec<RowFault>,
    /// First page's reply, bytes taken out.
    pub reply: Reply,
    /// Number of pages.
    pub pages: usize,
}

/// All rows that a job asks for; `None` where nothing has changed since the last fetch.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`]; a page that links to one already seen, or to
/// another host, fails the whole request, for what is missing cannot be known.
pub async fn get_observations(client: &Client, job: &Job) -> Result<Option<Observed>, SourceError> {
    let (mut path, mut query) = (job.path.clone(), job.query.clone());
    let mut seen = BTreeSet::new();
    let mut observed: Option<Observed> = None;
    loop {
        let request = Request {
            service: super::NAME,
            host: job.host,
            path: &path,
            query: &query,
        };
        let pages = seen.len();
        if !seen.insert(request.url()) || pages >= PAGES {
            let fault = FetchError::Endless {
                what: "the chain of pages",
                count: pages,
            };
            return Err(SourceError::Fetch {
                service: super::NAME,
                url: request.url(),
                fault,
            });
        }
        let mut reply = match client.get(request, observed.is_none()).await? {
            Answer::NotModified => return Ok(None),
            Answer::Reply(reply) => reply,
        };
        let bytes = std::mem::take(&mut reply.bytes);
        let page = read_observations(&bytes).map_err(|fault| request.read_error(fault))?;
        let is_empty = page.rows.is_empty() && page.faults.is_empty();
        let next = page
            .next
            .as_deref()
            .map(|link| client.follow(request, &reply, link))
            .transpose()?;
        let all = observed.get_or_insert(Observed {
            rows: Vec::new(),
            faults: Vec::new(),
            reply,
            pages: 0,
        });
        all.rows.extend(page.rows);
        all.faults.extend(page.faults);
        all.pages += 1;
        match next {
            // The service may link on from an empty last page.
            Some(link) if !is_empty => (path, query) = link,
            _ => return Ok(observed),
        }
    }
}

/// What the service says of the stations that a job asks for.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`].
pub async fn get_stations(client: &Client, job: &Job) -> Result<Vec<Station>, SourceError> {
    let request = Request {
        service: super::NAME,
        host: job.host,
        path: &job.path,
        query: &job.query,
    };
    match client.get(request, false).await? {
        Answer::NotModified => Ok(Vec::new()),
        Answer::Reply(reply) => read_stations(&reply.bytes).map_err(|fault| request.read_error(fault)),
    }
}

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    if job.wants.is_empty() {
        return Ok(get_stations(client, job)
            .await?
            .into_iter()
            .map(Fetched::Station)
            .collect());
    }
    let Some(observed) = get_observations(client, job).await? else {
        let series = job.wants.iter().map(|want| want.series.id.clone()).collect();
        return Ok(vec![Fetched::NotModified { series }]);
    };
    let request = Request {
        service: super::NAME,
        host: job.host,
        path: &job.path,
        query: &job.query,
    };
    let clock = LakeClock::new(lake.time_zone);
    let mut fetched = Vec::new();
    let mut too_late = 0;
    for want in &job.wants {
        let filled = to_batch(&observed.rows, want, clock, job.as_of, observed.reply.received_at)
            .map_err(|fault| request.read_error(fault))?;
        too_late += filled.too_late;
        let faults: Vec<RowFault> = observed.faults.iter().cloned().chain(filled.faults).collect();
        if !faults.is_empty() {
            fetched.push(Fetched::Faults {
                series: want.series.id.clone(),
                faults,
            });
        }
        fetched.push(Fetched::Observations(filled.batch));
    }
    // A reply in pages has no validator of its own, and one whose rows were held back for the clock
    // has to come again.
    if observed.pages == 1 && too_late == 0 {
        client.hold_validators(job, observed.reply.validators);
    }
    Ok(fetched)
}
