//! A page of results: bytes to outcomes, and outcomes to rows of a lake's series.

use chrono::{DateTime, Utc};
use serde::Deserialize;

use super::page::read_page;
use crate::clock::LakeClock;
use crate::lake::Cadence;
use crate::series::Approval;
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Want};
use crate::sources::number::Figure;
use crate::sources::stamp::{Stamp, read_rfc3339};
use crate::sources::usgs_ogc::Row;

/// One result.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Number of the item.
    pub item: String,
    /// Number of the location, where it says so.
    pub location: Option<String>,
    /// Instant.
    pub time: DateTime<Utc>,
    /// Value; `None` where the service has none.
    pub value: Option<f64>,
    /// Step, in the service's words.
    pub time_step: Option<String>,
    /// Kind of result, in the service's words.
    pub kind: Option<String>,
}

/// A page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Results {
    /// Results, in the order of the page.
    pub outcomes: Vec<Outcome>,
    /// Results left out.
    pub faults: Vec<RowFault>,
    /// Link to the next page.
    pub next: Option<String>,
    /// How many results there are on all pages.
    pub total: Option<usize>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Raw {
    item_id: Option<i64>,
    location_id: Option<i64>,
    date_time: Option<String>,
    #[serde(default = "nothing")]
    result: Figure,
    result_attributes: Option<Attributes>,
}

fn nothing() -> Figure {
    Figure::Nothing
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Attributes {
    result_type: Option<String>,
    time_step: Option<String>,
}

/// A page of results. A result that cannot be read is left out and named; the others stand.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, or an error body.
pub fn read_results(bytes: &[u8]) -> Result<Results, ReadError> {
    let page = read_page::<Raw>(bytes, "results of RISE")?;
    let mut found = Results {
        next: page.links.next.filter(|link| !link.is_empty()),
        total: page.meta.total_items,
        ..Results::default()
    };
    for (k, thing) in page.data.into_list().into_iter().enumerate() {
        match outcome(thing.attributes) {
            Ok(outcome) => found.outcomes.push(outcome),
            Err((field, what, wanted)) => found.faults.push(RowFault {
                place: format!("data[{k}].attributes.{field}"),
                found: what,
                wanted,
            }),
        }
    }
    Ok(found)
}

fn outcome(raw: Raw) -> Result<Outcome, (&'static str, String, &'static str)> {
    let text = raw.date_time.unwrap_or_default();
    let time = read_rfc3339(&text).ok_or_else(|| {
        (
            "dateTime",
            format!("\"{text}\""),
            "an RFC 3339 instant with its offset",
        )
    })?;
    let value = match raw.result {
        Figure::Number(number) => Some(number),
        Figure::Nothing => None,
        Figure::Word(word) => return Err(("result", format!("\"{word}\""), "a number, or null")),
    };
    let item = raw
        .item_id
        .ok_or_else(|| ("itemId", "nothing".to_owned(), "the number of the item"))?;
    let (kind, time_step) = raw
        .result_attributes
        .map_or((None, None), |a| (a.result_type, a.time_step));
    Ok(Outcome {
        item: item.to_string(),
        location: raw.location_id.map(|number| number.to_string()),
        time,
        value,
        time_step,
        kind,
    })
}

/// The results as rows of a series, with the unit of their item. A value of a day carries the first instant of its day
/// where the reservoir is; by UTC or with daylight saving it may be some hours off, so its day is the standard-time day
/// that holds the instant half a day later (project choice).
pub fn to_rows(results: &Results, unit: &str, want: &Want, clock: LakeClock) -> Vec<Row> {
    let row = |outcome: &Outcome| Row {
        station: want.series.station.clone(),
        parameter: want.series.parameter.clone(),
        statistic: None,
        series_id: String::new(),
        stamp: match want.cadence {
            Cadence::Daily => Stamp::Day(clock.standard_day(outcome.time + chrono::Duration::hours(12))),
            Cadence::Continuous | Cadence::Forecast => Stamp::Instant(outcome.time),
        },
        value: outcome.value,
        unit: unit.to_owned(),
        approval: Approval::Unstated,
        qualifier: outcome.kind.clone(),
        last_modified: None,
    };
    results.outcomes.iter().map(row).collect()
}
