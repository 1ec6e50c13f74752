//! Bytes to columns: times in UTC, units as stated, ensemble members told apart, no lake yet.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, NaiveDate, Utc};
use serde::Deserialize;

use super::table::variable_of;
use crate::lake::Cadence;
use crate::series::Member;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::{begins_with_word, read_json};
use crate::sources::saved::{Saved, SavedRecord};
use crate::sources::stamp::{self, read_civil, read_unix};

/// Unit of a variable that the model does not have.
const UNDEFINED: &str = "undefined";

/// A reply.
#[derive(Debug, Clone, PartialEq)]
pub struct Weather {
    /// Latitude of the model's cell, degrees north.
    pub latitude_deg: f64,
    /// Longitude of the model's cell, degrees east.
    pub longitude_deg: f64,
    /// Hourly block.
    pub hourly: Option<Table>,
    /// Daily block.
    pub daily: Option<Table>,
    /// Steps left out.
    pub faults: Vec<RowFault>,
}

/// One block of a reply.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Times of the steps, increasing.
    pub times: Times,
    /// Columns by name without member suffix, then by member. Each has one figure a step.
    pub columns: BTreeMap<String, BTreeMap<Member, Column>>,
}

/// Times of the steps.
#[derive(Debug, Clone, PartialEq)]
pub enum Times {
    /// Instants.
    Instants(Vec<DateTime<Utc>>),
    /// Days of the reply's time zone.
    Days(Vec<NaiveDate>),
}

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Unit as stated; `None` where the reply states none, or says that the variable is undefined.
    pub unit: Option<String>,
    /// Values; `None` for null or a word. Shape `[step]`.
    pub value: Vec<Option<f64>>,
}

impl Column {
    /// Whether it holds any value.
    pub fn has_values(&self) -> bool {
        self.value.iter().any(Option::is_some)
    }
}

#[derive(Deserialize)]
struct Body {
    #[serde(rename = "latitude")]
    latitude_deg: Option<f64>,
    #[serde(rename = "longitude")]
    longitude_deg: Option<f64>,
    utc_offset_seconds: Option<i64>,
    hourly: Option<Block>,
    hourly_units: Option<BTreeMap<String, String>>,
    daily: Option<Block>,
    daily_units: Option<BTreeMap<String, String>>,
    #[serde(default)]
    error: bool,
    reason: Option<String>,
}

type Block = BTreeMap<String, Vec<Figure>>;

/// Whether bytes look like a reply of this service.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    begins_with_word(bytes, "\"utc_offset_seconds\"")
        || begins_with_word(bytes, "\"error\"") && begins_with_word(bytes, "\"reason\"")
}

/// A reply of forecast, archive or ensemble. A step whose time cannot be read, or comes twice, is left
/// out and named.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, an error body, arrays of unequal length.
pub fn read_weather(bytes: &[u8]) -> Result<Weather, ReadError> {
    let body: Body = read_json(bytes, "a weather reply")?;
    if body.error || body.reason.is_some() {
        return Err(ReadError::Said {
            reason: body
                .reason
                .unwrap_or_else(|| "an error without a reason".to_owned()),
        });
    }
    if body.hourly.is_none() && body.daily.is_none() {
        return Err(ReadError::Kind {
            found: "JSON without hourly or daily values".to_owned(),
            wanted: "a weather reply".to_owned(),
        });
    }
    let mut faults = Vec::new();
    let offset_s = body.utc_offset_seconds;
    let mut table = |place, block: Option<Block>, units: Option<BTreeMap<String, String>>| {
        block
            .map(|block| read_table(place, block, units.unwrap_or_default(), offset_s, &mut faults))
            .transpose()
    };
    let hourly = table("hourly", body.hourly, body.hourly_units)?;
    let daily = table("daily", body.daily, body.daily_units)?;
    Ok(Weather {
        latitude_deg: body.latitude_deg.unwrap_or(f64::NAN),
        longitude_deg: body.longitude_deg.unwrap_or(f64::NAN),
        hourly,
        daily,
        faults,
    })
}

fn read_table(
    place: &'static str,
    mut block: Block,
    units: BTreeMap<String, String>,
    offset_s: Option<i64>,
    faults: &mut Vec<RowFault>,
) -> Result<Table, ReadError> {
    let no_variable = |variable: &str| ReadError::NoVariable {
        variable: variable.to_owned(),
        place,
    };
    let stamps = block.remove("time").ok_or_else(|| no_variable("time"))?;
    for (name, column) in &block {
        if column.len() != stamps.len() {
            let path = format!("{place}.{name}");
            return Err(ReadError::Lengths {
                path,
                found: column.len(),
                wanted: stamps.len(),
            });
        }
    }
    let has_text = stamps.iter().any(|stamp| matches!(stamp, Figure::Word(_)));
    let offset_s = match offset_s {
        Some(offset_s) => offset_s,
        // Whole days and unix time need none.
        None if place == "daily" || !has_text => 0,
        None => return Err(no_variable("utc_offset_seconds")),
    };
    let (times, steps) = if place == "daily" {
        let (days, steps) = in_order(place, &stamps, |stamp| read_day(stamp, offset_s), faults);
        (Times::Days(days), steps)
    } else {
        let (instants, steps) = in_order(place, &stamps, |stamp| read_instant(stamp, offset_s), faults);
        (Times::Instants(instants), steps)
    };
    let mut columns: BTreeMap<String, BTreeMap<Member, Column>> = BTreeMap::new();
    for (name, figures) in block {
        let unit = units.get(&name).filter(|unit| *unit != UNDEFINED).cloned();
        let (variable, member) = variable_and_member(&name);
        let value = steps
            .iter()
            .map(|&k| {
                if let Figure::Number(v) = figures[k] {
                    Some(v)
                } else {
                    None
                }
            })
            .collect();
        columns
            .entry(variable.to_owned())
            .or_default()
            .insert(member, Column { unit, value });
    }
    Ok(Table { times, columns })
}

/// Times in order, each once, and the step each came from.
fn in_order<T: Ord + Copy>(
    place: &str,
    stamps: &[Figure],
    read: impl Fn(&Figure) -> Option<T>,
    faults: &mut Vec<RowFault>,
) -> (Vec<T>, Vec<usize>) {
    let mut by_time: BTreeMap<T, usize> = BTreeMap::new();
    for (k, stamp) in stamps.iter().enumerate() {
        let fault = |wanted| RowFault {
            place: format!("{place}.time[{k}]"),
            found: shown(stamp),
            wanted,
        };
        match read(stamp) {
            None => faults.push(fault("an ISO 8601 time or a unix time")),
            Some(time) if by_time.contains_key(&time) => faults.push(fault("each time once")),
            Some(time) => {
                by_time.insert(time, k);
            }
        }
    }
    by_time.into_iter().unzip()
}

fn shown(figure: &Figure) -> String {
    match figure {
        Figure::Number(number) => number.to_string(),
        Figure::Nothing => "null".to_owned(),
        Figure::Word(word) => format!("\"{word}\""),
    }
}

/// ISO stamps are local to the reply's time zone and carry no offset; unix time is UTC.
fn read_instant(stamp: &Figure, offset_s: i64) -> Option<DateTime<Utc>> {
    match stamp {
        Figure::Word(text) => {
            let local = read_civil(text, &["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"])?;
            local
                .checked_sub_signed(Duration::try_seconds(offset_s)?)
                .map(|utc| utc.and_utc())
        }
        Figure::Number(seconds) => read_unix(*seconds),
        Figure::Nothing => None,
    }
}

fn read_day(figure: &Figure, offset_s: i64) -> Option<NaiveDate> {
    match figure {
        Figure::Word(text) => stamp::read_day(text, &["%Y-%m-%d"]),
        other => {
            let local =
                read_instant(other, offset_s)?.checked_add_signed(Duration::try_seconds(offset_s)?)?;
            Some(local.date_naive())
        }
    }
}

/// `temperature_2m_member07` is member 7 of `temperature_2m`; the plain name is the control.
fn variable_and_member(name: &str) -> (&str, Member) {
    name.rsplit_once("_member")
        .and_then(|(variable, digits)| Some((variable, Member(digits.parse().ok()?))))
        .unwrap_or((name, Member(0)))
}

/// The records of a saved reply.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let weather = read_weather(bytes)?;
    let position = format!("{} N {} E", weather.latitude_deg, weather.longitude_deg);
    let mut records = Vec::new();
    let blocks = [
        (&weather.hourly, Cadence::Forecast),
        (&weather.daily, Cadence::Daily),
    ];
    for (table, cadence) in blocks
        .iter()
        .filter_map(|(table, cadence)| Some((table.as_ref()?, *cadence)))
    {
        let times: Vec<String> = match &table.times {
            Times::Instants(times) => times
                .iter()
                .map(|t| t.format("%Y-%m-%dT%H:%M:%SZ").to_string())
                .collect(),
            Times::Days(days) => days.iter().map(NaiveDate::to_string).collect(),
        };
        for (parameter, members) in &table.columns {
            let quantity = variable_of(parameter).map(|v| v.quantity);
            for (member, column) in members {
                let unit = column.unit.clone().unwrap_or_default();
                records.extend(times.iter().zip(&column.value).map(|(time, value)| SavedRecord {
                    time: time.clone(),
                    member: (members.len() > 1).then_some(member.0),
                    ..SavedRecord::of(&position, parameter).with_value(*value, &unit, quantity, cadence)
                }));
            }
        }
    }
    let kind = if records.iter().any(|r| r.member.is_some()) {
        "ensemble"
    } else {
        "weather"
    };
    Ok(Saved {
        service: super::NAME,
        kind: kind.to_owned(),
        records,
        faults: weather.faults,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hourly(time: &str, further: &str) -> Result<Weather, ReadError> {
        let json = format!(
            r#"{{"latitude":42.2,"longitude":-119.6,{further}"hourly_units":{{"temperature_2m":"°C"}},
               "hourly":{{"time":{time},"temperature_2m":[1.0,2.0,3.0]}}}}"#
        );
        read_weather(json.as_bytes())
    }

    fn instants(weather: &Weather) -> Vec<String> {
        match &weather.hourly.as_ref().unwrap().times {
            Times::Instants(times) => times.iter().map(|t| t.format("%dT%H:%M").to_string()).collect(),
            Times::Days(_) => unreachable!(),
        }
    }

    #[test]
    fn local_stamps_lose_their_offset_and_unix_times_keep_theirs() {
        let iso = r#"["2025-01-10T00:00","2025-01-10T01:00","2025-01-10T02:00"]"#;
        let weather = hourly(iso, r#""utc_offset_seconds":34200,"#).unwrap();
        assert_eq!(instants(&weather), ["09T14:30", "09T15:30", "09T16:30"]);
        let unix = "[1736467200,1736470800,1736474400]"; // 2025-01-10T00:00Z by `date -u -d`
        let weather = hourly(unix, r#""utc_offset_seconds":34200,"#).unwrap();
        assert_eq!(instants(&weather), ["10T00:00", "10T01:00", "10T02:00"]);
    }

    #[test]
    fn local_stamps_without_an_offset_are_refused() {
        let fault = hourly(
            r#"["2025-01-10T00:00","2025-01-10T01:00","2025-01-10T02:00"]"#,
            "",
        )
        .unwrap_err();
        assert!(fault.to_string().contains("utc_offset_seconds"), "{fault}");
    }

    #[test]
    fn a_repeated_hour_is_named_and_unsorted_ones_are_sorted() {
        let iso = r#"["2025-01-10T01:00","2025-01-10T00:00","2025-01-10T01:00"]"#;
        let weather = hourly(iso, r#""utc_offset_seconds":0,"#).unwrap();
        assert_eq!(instants(&weather), ["10T00:00", "10T01:00"]);
        assert_eq!(
            weather.hourly.unwrap().columns["temperature_2m"][&Member(0)].value,
            [Some(2.0), Some(1.0)]
        );
        assert_eq!(weather.faults[0].place, "hourly.time[2]");
    }

    #[test]
    fn arrays_of_unequal_length_are_refused_by_name() {
        let fault = hourly(r#"["2025-01-10T00:00"]"#, r#""utc_offset_seconds":0,"#).unwrap_err();
        assert!(
            matches!(&fault, ReadError::Lengths { path, found: 3, wanted: 1 } if path == "hourly.temperature_2m")
        );
    }

    #[test]
    fn an_error_body_speaks() {
        let fault = read_weather(br#"{"error":true,"reason":"Latitude must be in range"}"#).unwrap_err();
        assert!(matches!(fault, ReadError::Said { reason } if reason == "Latitude must be in range"));
    }

    #[test]
    fn members_are_told_from_their_names() {
        assert_eq!(
            variable_and_member("temperature_2m_member07"),
            ("temperature_2m", Member(7))
        );
        assert_eq!(
            variable_and_member("temperature_2m"),
            ("temperature_2m", Member(0))
        );
        assert_eq!(variable_and_member("a_memberx"), ("a_memberx", Member(0)));
    }
}
