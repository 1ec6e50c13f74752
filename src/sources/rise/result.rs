//! A page of results: bytes to outcomes, and outcomes to rows of a lake's series.

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use serde::Deserialize;

use super::item::Item;
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

/// The results as rows of a series, with the unit of their item, and those that are not the series': of another item or
/// location, of another step than the cadence, or by the day at an instant that begins no day. The step is the result's own,
/// or else that of the item; without either nothing is taken for a value of a day or within it.
pub fn to_rows(results: &Results, item: &Item, want: &Want, clock: LakeClock) -> (Vec<Row>, Vec<RowFault>) {
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    for (k, outcome) in results.outcomes.iter().enumerate() {
        match stamp(outcome, item, want, clock) {
            Ok(stamp) => rows.push(Row {
                station: want.series.station.clone(),
                parameter: want.series.parameter.clone(),
                statistic: None,
                series_id: String::new(),
                stamp,
                value: outcome.value,
                unit: item.unit.clone().unwrap_or_default(),
                approval: Approval::Unstated,
                qualifier: outcome.kind.clone(),
                last_modified: None,
            }),
            Err((found, wanted)) => faults.push(RowFault {
                place: format!(
                    "result {} of {}",
                    k + 1,
                    outcome.time.format("%Y-%m-%dT%H:%M:%SZ")
                ),
                found,
                wanted,
            }),
        }
    }
    (rows, faults)
}

fn stamp(
    outcome: &Outcome,
    item: &Item,
    want: &Want,
    clock: LakeClock,
) -> Result<Stamp, (String, &'static str)> {
    if outcome.item != want.series.parameter.trim() {
        return Err((format!("item {}", outcome.item), "the item that was asked for"));
    }
    if let Some(other) = outcome
        .location
        .as_deref()
        .filter(|l| *l != want.series.station.trim())
    {
        return Err((format!("location {other}"), "the station of the lake file"));
    }
    let step = outcome.time_step.as_deref().or(item.time_step.as_deref());
    let found = || format!("time step \"{}\"", step.unwrap_or_default());
    match (want.cadence, step.map(Step::of)) {
        (Cadence::Daily, Some(Step::Day)) => day_of(outcome.time, clock)
            .map(Stamp::Day)
            .ok_or_else(|| ("a value by the day".to_owned(), "the first instant of a day")),
        (Cadence::Continuous, Some(Step::Within)) => Ok(Stamp::Instant(outcome.time)),
        (Cadence::Daily, _) => Err((found(), "a step of a day")),
        (Cadence::Continuous | Cadence::Forecast, _) => Err((found(), "a step within the day")),
    }
}

/// A step, as far as the service's words for it are understood (from memory, unverified).
enum Step {
    Day,
    Within,
    Other,
}

impl Step {
    fn of(words: &str) -> Step {
        let words = words.trim().to_ascii_lowercase();
        match words.as_str() {
            "day" | "daily" | "1 day" => Step::Day,
            w if w.starts_with("inst") || w.contains("minute") || w.contains("hour") => Step::Within,
            _ => Step::Other,
        }
    }
}

/// The cadence of a step in the service's words; `None` for a step longer than a day, or one that is not understood.
pub(super) fn step_cadence(words: &str) -> Option<Cadence> {
    match Step::of(words) {
        Step::Day => Some(Cadence::Daily),
        Step::Within => Some(Cadence::Continuous),
        Step::Other => None,
    }
}

/// The day that an instant begins: midnight where the reservoir is, in standard time or, while it holds, in daylight time; or
/// midnight of UTC. Which of them the service takes is not documented, so all three are read and every other instant
/// is refused (project choice).
fn day_of(time: DateTime<Utc>, clock: LakeClock) -> Option<NaiveDate> {
    let local = clock.local(time).naive_local();
    let standard = time.with_timezone(&clock.standard_offset(time)).naive_local();
    [standard, local, time.naive_utc()]
        .into_iter()
        .find(|civil| civil.time() == NaiveTime::MIN)
        .map(|civil| civil.date())
}
