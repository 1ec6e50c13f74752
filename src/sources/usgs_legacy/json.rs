//! A reply of `iv` or `dv` in JSON: bytes to rows, still in the service's unit and without a lake.

use serde::Deserialize;

use crate::series::Approval;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::stamp::{Stamp, read_civil, read_rfc3339};
use crate::sources::usgs_ogc::{Page, Row, is_gap_word, read_or_said};

#[derive(Deserialize)]
struct Reply {
    value: Value,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Value {
    time_series: Vec<TimeSeries>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct TimeSeries {
    source_info: SourceInfo,
    variable: Variable,
    values: Vec<Values>,
    #[serde(default)]
    name: String,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct SourceInfo {
    site_code: Vec<SiteCode>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct SiteCode {
    value: String,
    agency_code: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Variable {
    variable_code: Vec<Code>,
    unit: Unit,
    no_data_value: Option<f64>,
    #[serde(default)]
    options: Options,
}

#[derive(Deserialize)]
struct Code {
    value: String,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Unit {
    unit_code: Option<String>,
}

#[derive(Deserialize, Default)]
struct Options {
    #[serde(default)]
    option: Vec<StatisticOption>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct StatisticOption {
    name: Option<String>,
    option_code: Option<String>,
}

/// The values of one method, that is of one sensor.
#[derive(Deserialize)]
struct Values {
    value: Vec<Reading>,
    #[serde(default)]
    method: Vec<Method>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Method {
    #[serde(rename = "methodID")]
    method_id: Option<i64>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Reading {
    value: Figure,
    #[serde(default)]
    qualifiers: Vec<String>,
    date_time: Option<String>,
}

/// Statistic code of values within the day, which are none.
const NO_STATISTIC: &str = "00000";

/// The rows of a reply; a method's number names the sensor. A row that cannot be read is left out and named; the others
/// stand. A reply without series, which comes with status 200, has no rows.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, or an error body.
pub fn read_observations(bytes: &[u8]) -> Result<Page, ReadError> {
    let reply: Reply = read_or_said(bytes, "time series of NWIS")?;
    let mut page = Page {
        rows: Vec::new(),
        faults: Vec::new(),
        next: None,
    };
    for (k, series) in reply.value.time_series.into_iter().enumerate() {
        let place = format!("value.timeSeries[{k}]");
        match Head::of(&series) {
            Ok(head) => rows(&mut page, &place, &head, series),
            Err((field, wanted)) => page.faults.push(RowFault {
                place: format!("{place}.{field}"),
                found: format!("nothing in the series \"{}\"", series.name),
                wanted,
            }),
        }
    }
    Ok(page)
}

/// What all rows of a series share.
struct Head {
    station: String,
    parameter: String,
    statistic: Option<String>,
    unit: String,
    no_data: Option<f64>,
}

impl Head {
    fn of(series: &TimeSeries) -> Result<Head, (&'static str, &'static str)> {
        let site = series
            .source_info
            .site_code
            .first()
            .ok_or(("sourceInfo.siteCode", "a site"))?;
        let code = series
            .variable
            .variable_code
            .first()
            .ok_or(("variable.variableCode", "a parameter code"))?;
        let options = series.variable.options.option.iter();
        let statistic = options
            .filter(|option| option.name.as_deref() == Some("Statistic"))
            .find_map(|option| option.option_code.clone())
            .filter(|code| code != NO_STATISTIC);
        Ok(Head {
            station: format!("{}-{}", site.agency_code.as_deref().unwrap_or("USGS"), site.value),
            parameter: code.value.clone(),
            statistic,
            unit: series.variable.unit.unit_code.clone().unwrap_or_default(),
            no_data: series.variable.no_data_value,
        })
    }
}

fn rows(page: &mut Page, place: &str, head: &Head, series: TimeSeries) {
    for (k, values) in series.values.into_iter().enumerate() {
        let method = values.method.first().and_then(|m| m.method_id);
        let series_id = method.map_or_else(String::new, |id| id.to_string());
        for (n, reading) in values.value.into_iter().enumerate() {
            match row(head, &series_id, reading) {
                Ok(row) => page.rows.push(row),
                Err((field, found, wanted)) => page.faults.push(RowFault {
                    place: format!("{place}.values[{k}].value[{n}].{field}"),
                    found,
                    wanted,
                }),
            }
        }
    }
}

fn row(head: &Head, series_id: &str, reading: Reading) -> Result<Row, (&'static str, String, &'static str)> {
    let text = reading.date_time.unwrap_or_default();
    let stamp = stamp(&text).ok_or_else(|| {
        let wanted = "a time with its offset, or the midnight of a day without one";
        ("dateTime", format!("\"{text}\""), wanted)
    })?;
    let mut words = reading.qualifiers.clone();
    let value = match reading.value {
        Figure::Number(number) if Some(number) == head.no_data => {
            words.push(number.to_string());
            None
        }
        Figure::Number(number) => Some(number),
        Figure::Nothing => None,
        Figure::Word(word) if is_gap_word(&word) => {
            words.push(word);
            None
        }
        Figure::Word(word) => return Err(("value", format!("\"{word}\""), "a number")),
    };
    Ok(Row {
        station: head.station.clone(),
        parameter: head.parameter.clone(),
        statistic: head.statistic.clone(),
        series_id: series_id.to_owned(),
        stamp,
        value,
        unit: head.unit.clone(),
        approval: approval(&reading.qualifiers),
        qualifier: (!words.is_empty()).then(|| words.join(", ")),
        last_modified: None,
    })
}

/// A time with its offset is an instant; a midnight without one is the day of a daily value.
fn stamp(text: &str) -> Option<Stamp> {
    if let Some(instant) = read_rfc3339(text) {
        return Some(Stamp::Instant(instant));
    }
    let civil = read_civil(text, &["%Y-%m-%dT%H:%M:%S%.f"])?;
    (civil.time() == chrono::NaiveTime::MIN).then(|| Stamp::Day(civil.date()))
}

/// Approval from the qualifiers: `A` and `P`.
pub(super) fn approval<T: AsRef<str>>(qualifiers: &[T]) -> Approval {
    let has = |code: &str| qualifiers.iter().any(|q| q.as_ref() == code);
    if has("P") {
        Approval::Provisional
    } else if has("A") {
        Approval::Approved
    } else {
        Approval::Unstated
    }
}
