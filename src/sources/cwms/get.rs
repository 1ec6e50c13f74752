//! Fetches: all pages of a series, then batches.

use std::collections::BTreeSet;

use super::series::{DatumInfo, TimeSeries, read_series, to_rows};
use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::quantity::Quantity;
use crate::series::Flag;
use crate::sources::client::{Answer, Client, Reply, Request};
use crate::sources::error::{FetchError, ReadError, SourceError};
use crate::sources::job::{Fetched, Job, RowFault, Want};
use crate::sources::usgs_ogc::to_batch;

/// Most pages of one request.
const PAGES: usize = 500;

/// How far a `datum_offset` may be from the service's own, metres, where that is levelled and where it is an estimate
/// (project choice: the estimates are of the order of a few centimetres, and an error of a datum of half a metre).
const OFFSET_TOLERANCE_M: (f64, f64) = (0.02, 0.10);

/// All pages of a series as one, and the first reply without its bytes; `None` where nothing has changed since the last
/// fetch. The totals that pages state are not looked at, for they need not agree.
///
/// # Errors
/// [`SourceError::Fetch`] and [`SourceError::Read`]; a mark of a page that comes twice fails the whole request.
pub async fn get_series(client: &Client, job: &Job) -> Result<Option<(TimeSeries, Reply)>, SourceError> {
    let mut query = job.query.clone();
    let mut seen = BTreeSet::new();
    let mut all: Option<(TimeSeries, Reply)> = None;
    loop {
        let request = request(job, &query);
        let mut reply = match client.get(request, all.is_none()).await? {
            Answer::NotModified => return Ok(None),
            Answer::Reply(reply) => reply,
        };
        let bytes = std::mem::take(&mut reply.bytes);
        let mut page = read_series(&bytes).map_err(|fault| request.read_error(fault))?;
        let next = page.next.take();
        let held = all.as_ref().map(|(held, _)| held);
        own_series(job, &page, held).map_err(|fault| request.read_error(fault))?;
        match &mut all {
            Some((held, _)) => {
                held.readings.append(&mut page.readings);
                held.faults.append(&mut page.faults);
            }
            None => all = Some((page, reply)),
        }
        let Some(mark) = next else { return Ok(all) };
        if !seen.insert(mark.clone()) || seen.len() > PAGES {
            return Err(SourceError::Fetch {
                service: super::NAME,
                url: request.url(),
                fault: FetchError::Endless {
                    what: "the chain of pages",
                    count: seen.len(),
                },
            });
        }
        query = job.query.clone();
        query.push(("page".to_owned(), mark));
    }
}

/// Whether a page is of the series that was asked for, in the unit of the pages before it, and not of one version among
/// several.
fn own_series(job: &Job, page: &TimeSeries, held: Option<&TimeSeries>) -> Result<(), ReadError> {
    let fault = |found: String, wanted: String| Err(ReadError::Kind { found, wanted });
    let same = |a: &str, b: &str| a.trim().eq_ignore_ascii_case(b.trim());
    if !same(&page.name, &job.what) || !same(&page.office, &job.station) {
        return fault(
            format!("the series \"{}\" of {}", page.name, page.office),
            format!("\"{}\" of {}", job.what, job.station),
        );
    }
    if let Some(held) = held.filter(|held| held.unit != page.unit) {
        return fault(
            format!("a page in {}", page.unit),
            format!("{} as on the page before", held.unit),
        );
    }
    if page.version.as_deref() == Some("SINGLE_VERSION") {
        return fault(
            "one version of a series that has several".to_owned(),
            "all of them as one".to_owned(),
        );
    }
    Ok(())
}

/// Does a job of this service.
pub(super) async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let Some((series, reply)) = get_series(client, job).await? else {
        let series = job.wants.iter().map(|want| want.series.id.clone()).collect();
        return Ok(vec![Fetched::NotModified { series }]);
    };
    let clock = LakeClock::new(lake.time_zone);
    let mut fetched = Vec::new();
    for want in &job.wants {
        let rows = to_rows(&series, want, clock);
        let mut filled = to_batch(&rows, want, clock, job.as_of, reply.received_at)
            .map_err(|fault| request(job, &job.query).read_error(fault))?;
        for row in &mut filled.batch.rows {
            let is_rejected = row.qualifier.as_deref() == Some("rejected");
            if is_rejected && row.value.is_some() {
                row.flag = Flag::Fail;
            }
        }
        let mut faults: Vec<RowFault> = series.faults.iter().cloned().chain(filled.faults).collect();
        faults.extend(
            series
                .datum
                .as_ref()
                .and_then(|datum| contradiction(datum, want, &lake.vertical_datum)),
        );
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

/// What contradicts the lake file in what the service says of its datum; nothing where it does not speak of the lake's.
fn contradiction(datum: &DatumInfo, want: &Want, lake_datum: &str) -> Option<RowFault> {
    let held_m = want
        .series
        .datum_offset_m
        .filter(|_| want.series.quantity == Quantity::PoolElevation)?;
    let same = |a: &str, b: &str| bare_datum(a) == bare_datum(b);
    let (stated_m, is_estimate) = if same(&datum.native, lake_datum) {
        (0.0, false)
    } else {
        let (_, offset_m, is_estimate) = datum.offsets.iter().find(|(to, ..)| same(to, lake_datum))?;
        (*offset_m, *is_estimate)
    };
    let allowed_m = if is_estimate {
        OFFSET_TOLERANCE_M.1
    } else {
        OFFSET_TOLERANCE_M.0
    };
    ((held_m - stated_m).abs() > allowed_m).then(|| RowFault {
        place: "vertical-datum-info".to_owned(),
        found: format!(
            "values on {}, which by the service's {} lies {stated_m:.3} m from {lake_datum}, and a datum_offset of {held_m:.3} m",
            datum.native,
            if is_estimate { "estimate" } else { "statement" },
        ),
        wanted: "a datum_offset in the lake file that agrees with it",
    })
}

/// A datum's letters and figures alone: `NGVD-29` is `NGVD 29`, and `NAVD 1988` is `NAVD 88`.
pub(in crate::sources) fn bare_datum(datum: &str) -> String {
    let letters: String = datum.chars().filter(char::is_ascii_alphanumeric).collect();
    letters.to_ascii_uppercase().replace("VD19", "VD")
}

fn request<'a>(job: &'a Job, query: &'a [(String, String)]) -> Request<'a> {
    Request {
        service: super::NAME,
        host: job.host,
        path: &job.path,
        query,
    }
}
