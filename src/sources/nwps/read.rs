//! Bytes to a block of stage and flow, still in the service's units and without a lake.

use chrono::{DateTime, Utc};
use serde::Deserialize;
use serde_json::Value;

use crate::sources::client::error_words;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::read_json;
use crate::sources::stamp::read_rfc3339;

/// Numbers that mean "no value".
const SENTINELS: [f64; 2] = [-999.0, -9999.0];

/// Which block of a reply.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// What the gauge measured.
    Observed,
    /// What it is forecast to measure.
    Forecast,
}

impl Part {
    /// The service's word, which ends the address.
    pub fn word(self) -> &'static str {
        match self {
            Part::Observed => "observed",
            Part::Forecast => "forecast",
        }
    }
}

/// Name and unit of one of the two figures of a point.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Column {
    /// Name, such as `Stage`.
    pub name: String,
    /// Unit, such as `kcfs`.
    pub unit: String,
}

/// One time.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Time it is valid at.
    pub time: DateTime<Utc>,
    /// When the figure was made, where stated.
    pub generated_at: Option<DateTime<Utc>>,
    /// Primary and secondary figure; `None` for none.
    pub figures: [Option<f64>; 2],
    /// What stood for each missing figure.
    pub missing: [Option<String>; 2],
}

/// A block of values.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Block {
    /// When it was issued, where stated.
    pub issued_at: Option<DateTime<Utc>>,
    /// The service's code of the element (SHEF physical element, duration, type, source).
    pub element: String,
    /// Primary and secondary column.
    pub columns: [Column; 2],
    /// Points, in the order of the reply.
    pub points: Vec<Point>,
    /// Points left out.
    pub faults: Vec<RowFault>,
}

#[derive(Deserialize)]
struct Whole {
    observed: Option<RawBlock>,
    forecast: Option<RawBlock>,
    #[serde(flatten)]
    alone: RawBlock,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct RawBlock {
    pedts: Option<String>,
    issued_time: Option<String>,
    primary_name: Option<String>,
    primary_units: Option<String>,
    secondary_name: Option<String>,
    secondary_units: Option<String>,
    data: Option<Vec<Value>>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct RawPoint {
    valid_time: Option<String>,
    generated_time: Option<String>,
    primary: Option<Figure>,
    secondary: Option<Figure>,
}

/// The blocks of a reply, whichever of the three it is.
pub(super) struct Blocks {
    pub observed: Option<Block>,
    pub forecast: Option<Block>,
    /// The block of a reply that holds one alone, and does not say which.
    pub alone: Option<Block>,
}

pub(super) fn read_blocks(bytes: &[u8]) -> Result<Blocks, ReadError> {
    let wanted = "stage and flow of a gauge";
    let words = || {
        read_json::<Value>(bytes, wanted)
            .ok()
            .as_ref()
            .and_then(error_words)
    };
    let whole: Whole = read_json(bytes, wanted).map_err(|fault| match words() {
        Some(reason) if matches!(fault, ReadError::Json { .. }) => ReadError::Said { reason },
        _ => fault,
    })?;
    // Where there is nothing, `data` may be null as well as empty.
    let is_block = |raw: &RawBlock| raw.data.is_some() || raw.primary_name.is_some();
    let block = |place: &str, raw: RawBlock| is_block(&raw).then(|| block(place, raw));
    let blocks = Blocks {
        observed: whole.observed.and_then(|raw| block("observed.", raw)),
        forecast: whole.forecast.and_then(|raw| block("forecast.", raw)),
        alone: block("", whole.alone),
    };
    if blocks.observed.is_none() && blocks.forecast.is_none() && blocks.alone.is_none() {
        return Err(match words() {
            Some(reason) => ReadError::Said { reason },
            None => ReadError::Kind {
                found: "JSON without data".to_owned(),
                wanted: wanted.to_owned(),
            },
        });
    }
    Ok(blocks)
}

/// One block of a reply of `stageflow`, whole or of that part alone. A point that cannot be read is left out and
/// named; the others stand. Empty data are a block without points: no forecast, or no observation.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, a problem body, a whole reply without the part.
pub fn read_stageflow(bytes: &[u8], part: Part) -> Result<Block, ReadError> {
    let blocks = read_blocks(bytes)?;
    let own = match part {
        Part::Observed => blocks.observed,
        Part::Forecast => blocks.forecast,
    };
    own.or(blocks.alone).ok_or_else(|| ReadError::Kind {
        found: "a reply of the other part alone".to_owned(),
        wanted: format!("stage and flow, {}", part.word()),
    })
}

fn block(place: &str, raw: RawBlock) -> Block {
    let text = |text: Option<String>| text.unwrap_or_default().trim().to_owned();
    let mut block = Block {
        element: text(raw.pedts),
        columns: [
            Column {
                name: text(raw.primary_name),
                unit: text(raw.primary_units),
            },
            Column {
                name: text(raw.secondary_name),
                unit: text(raw.secondary_units),
            },
        ],
        ..Block::default()
    };
    match time_of(raw.issued_time.as_deref()) {
        Ok(issued_at) => block.issued_at = issued_at,
        Err(found) => block.faults.push(RowFault {
            place: format!("{place}issuedTime"),
            found,
            wanted: "an instant with its offset",
        }),
    }
    for (k, value) in raw.data.unwrap_or_default().into_iter().enumerate() {
        let place = format!("{place}data[{k}]");
        match point(&place, value) {
            Ok(point) => block.points.push(point),
            Err(fault) => block.faults.push(fault),
        }
    }
    block
}

/// The instant of a text: none for nothing, blank, and the year 1; the text itself where it is none of them.
fn time_of(text: Option<&str>) -> Result<Option<DateTime<Utc>>, String> {
    match text.map(str::trim) {
        None | Some("") => Ok(None),
        Some(text) if text.starts_with("0001-01-01T") => Ok(None),
        Some(text) => read_rfc3339(text).map(Some).ok_or_else(|| format!("\"{text}\"")),
    }
}

fn point(place: &str, value: Value) -> Result<Point, RowFault> {
    let fault = |field: &str, found: String, wanted| RowFault {
        place: format!("{place}{field}"),
        found,
        wanted,
    };
    let raw = RawPoint::deserialize(value).map_err(|e| fault("", e.to_string(), "a point"))?;
    let instant = "an instant with its offset";
    let time = time_of(raw.valid_time.as_deref())
        .and_then(|time| time.ok_or_else(|| "no time".to_owned()))
        .map_err(|found| fault(".validTime", found, instant))?;
    let generated_at =
        time_of(raw.generated_time.as_deref()).map_err(|found| fault(".generatedTime", found, instant))?;
    let figure = |field, figure: Option<Figure>| match figure.unwrap_or(Figure::Nothing) {
        Figure::Number(number) if SENTINELS.contains(&number) => Ok((None, Some(number.to_string()))),
        Figure::Number(number) => Ok((Some(number), None)),
        Figure::Nothing => Ok((None, None)),
        Figure::Word(word) => Err(fault(field, format!("\"{word}\""), "a number")),
    };
    let primary = figure(".primary", raw.primary)?;
    let secondary = figure(".secondary", raw.secondary)?;
    Ok(Point {
        time,
        generated_at,
        figures: [primary.0, secondary.0],
        missing: [primary.1, secondary.1],
    })
}
