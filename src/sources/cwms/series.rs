//! A page of a time series: bytes to readings, and readings to rows of a lake's series.

use chrono::{DateTime, Duration, Utc};
use serde::Deserialize;
use serde_json::Value;

use super::saved::read_or_said;
use crate::clock::LakeClock;
use crate::lake::Cadence;
use crate::series::Approval;
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Want};
use crate::sources::number::Figure;
use crate::sources::stamp::Stamp;
use crate::sources::usgs_ogc::Row;

/// Bits of the code that say how a value was screened.
const SCREENING: i64 = 0b1_1111;
/// Screened and missing.
const MISSING: i64 = 5;
/// Screened and questionable.
const QUESTIONABLE: i64 = 9;
/// Screened and rejected.
const REJECTED: i64 = 17;

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Instant: of the reading, or the end of what it stands for.
    pub time: DateTime<Utc>,
    /// Value; `None` where the service has none.
    pub value: Option<f64>,
    /// Code of quality, all bits.
    pub quality: i64,
}

impl Reading {
    /// What the code says, where it says more than that nobody objects.
    pub fn qualifier(&self) -> Option<&'static str> {
        match self.quality & SCREENING {
            MISSING => Some("missing"),
            QUESTIONABLE => Some("questionable"),
            REJECTED => Some("rejected"),
            _ => None,
        }
    }

    /// Whether the service itself rejects it.
    pub fn is_rejected(&self) -> bool {
        self.quality & SCREENING == REJECTED
    }
}

/// Vertical datum of elevations, and where others lie from it.
#[derive(Debug, Clone, PartialEq)]
pub struct DatumInfo {
    /// Datum of the values.
    pub native: String,
    /// Other datums: name, metres to add to a value to come to it, whether that is an estimate.
    pub offsets: Vec<(String, f64, bool)>,
}

/// A page.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeSeries {
    /// Office.
    pub office: String,
    /// Name of six parts.
    pub name: String,
    /// Unit.
    pub unit: String,
    /// Kind of version, where the page says one.
    pub version: Option<String>,
    /// Readings, in the order of the page.
    pub readings: Vec<Reading>,
    /// Readings left out.
    pub faults: Vec<RowFault>,
    /// Mark of the next page.
    pub next: Option<String>,
    /// Datum, where the page has one.
    pub datum: Option<DatumInfo>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Page {
    office_id: String,
    name: String,
    units: String,
    date_version_type: Option<String>,
    next_page: Option<String>,
    #[serde(default)]
    value_columns: Vec<Column>,
    values: Vec<Vec<Value>>,
    vertical_datum_info: Option<RawDatum>,
}

#[derive(Deserialize)]
struct Column {
    name: String,
    ordinal: usize,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct RawDatum {
    unit: Option<String>,
    native_datum: Option<String>,
    #[serde(default)]
    offsets: Vec<RawOffset>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct RawOffset {
    #[serde(default)]
    estimate: bool,
    to_datum: String,
    value: f64,
}

/// Kinds of version that are one series of values. Versions of a forecast by their date are not asked for.
const VERSIONS: [&str; 3] = ["UNVERSIONED", "MAX_AGGREGATE", "SINGLE_VERSION"];

/// A page of a time series. A reading that cannot be read is left out and named; the others stand.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, an error body, columns or versions that are not known.
pub fn read_series(bytes: &[u8]) -> Result<TimeSeries, ReadError> {
    let page: Page = read_or_said(bytes, "a time series of CWMS")?;
    if let Some(kind) = page
        .date_version_type
        .as_deref()
        .filter(|kind| !VERSIONS.contains(kind))
    {
        return Err(ReadError::Kind {
            found: format!("a series with versions of kind {kind}"),
            wanted: VERSIONS.join(", "),
        });
    }
    let places = Places::of(&page.value_columns)?;
    let mut faults = Vec::new();
    let datum = page.vertical_datum_info.and_then(|raw| datum(raw, &mut faults));
    let mut found = TimeSeries {
        version: page.date_version_type,
        office: page.office_id,
        name: page.name,
        unit: page.units,
        readings: Vec::with_capacity(page.values.len()),
        faults,
        next: page.next_page.filter(|mark| !mark.is_empty()),
        datum,
    };
    for (k, values) in page.values.iter().enumerate() {
        match places.reading(values) {
            Ok(reading) => found.readings.push(reading),
            Err((found_there, wanted)) => found.faults.push(RowFault {
                place: format!("values[{k}]"),
                found: found_there,
                wanted,
            }),
        }
    }
    Ok(found)
}

fn datum(raw: RawDatum, faults: &mut Vec<RowFault>) -> Option<DatumInfo> {
    let m_per_unit = match raw.unit.as_deref() {
        Some("m") => Some(1.0),
        Some("ft") => Some(crate::units::M_PER_FT),
        _ => None,
    };
    if m_per_unit.is_none() && !raw.offsets.is_empty() {
        faults.push(RowFault {
            place: "vertical-datum-info.unit".to_owned(),
            found: format!("\"{}\"", raw.unit.as_deref().unwrap_or_default()),
            wanted: "m or ft, to hold its offsets against the lake file",
        });
    }
    let in_m = |offset: RawOffset| Some((offset.to_datum, offset.value * m_per_unit?, offset.estimate));
    Some(DatumInfo {
        native: raw.native_datum?,
        offsets: raw.offsets.into_iter().filter_map(in_m).collect(),
    })
}

/// Places of the columns in a reading, from 0.
struct Places {
    time: usize,
    value: usize,
    quality: usize,
}

impl Places {
    fn of(columns: &[Column]) -> Result<Places, ReadError> {
        if columns.is_empty() {
            // The order of the service's documentation.
            return Ok(Places {
                time: 0,
                value: 1,
                quality: 2,
            });
        }
        let place = |name: &str| {
            let column = columns.iter().find(|column| column.name == name);
            column
                .and_then(|column| column.ordinal.checked_sub(1))
                .ok_or_else(|| ReadError::Header {
                    found: columns
                        .iter()
                        .map(|c| c.name.as_str())
                        .collect::<Vec<_>>()
                        .join(" "),
                    wanted: format!("a column {name}"),
                })
        };
        Ok(Places {
            time: place("date-time")?,
            value: place("value")?,
            quality: place("quality-code")?,
        })
    }

    fn reading(&self, values: &[Value]) -> Result<Reading, (String, &'static str)> {
        let at = |place: usize| values.get(place).unwrap_or(&Value::Null);
        let time = at(self.time)
            .as_i64()
            .and_then(DateTime::from_timestamp_millis)
            .filter(|time| (1000..=9999).contains(&chrono::Datelike::year(time)))
            .ok_or_else(|| (at(self.time).to_string(), "milliseconds of UTC"))?;
        let quality = match at(self.quality) {
            Value::Null => 0,
            code => code
                .as_i64()
                .ok_or_else(|| (code.to_string(), "a code of quality"))?,
        };
        let figure: Figure = serde_json::from_value(at(self.value).clone())
            .map_err(|_| (at(self.value).to_string(), "a number, or null"))?;
        let value = match figure {
            Figure::Number(_) if quality & SCREENING == MISSING => None,
            Figure::Number(number) => Some(number),
            Figure::Nothing => None,
            Figure::Word(word) => return Err((format!("\"{word}\""), "a number, or null")),
        };
        Ok(Reading { time, value, quality })
    }
}

/// The readings as rows of a series. A value of a day carries the instant at which its day ends, midnight at the office
/// or later in the morning that the reading was made: its day is the standard-time day that holds the second before it
/// (project choice; on the days of clock changes too, since the office's midnight is at most an hour off).
pub fn to_rows(series: &TimeSeries, want: &Want, clock: LakeClock) -> Vec<Row> {
    let row = |reading: &Reading| Row {
        station: want.series.station.clone(),
        parameter: want.series.parameter.clone(),
        statistic: None,
        series_id: String::new(),
        stamp: match want.cadence {
            Cadence::Daily => Stamp::Day(clock.standard_day(reading.time - Duration::seconds(1))),
            Cadence::Continuous | Cadence::Forecast => Stamp::Instant(reading.time),
        },
        value: reading.value,
        unit: series.unit.clone(),
        approval: Approval::Unstated,
        qualifier: reading.qualifier().map(str::to_owned),
        last_modified: None,
    };
    series.readings.iter().map(row).collect()
}
