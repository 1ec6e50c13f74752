//! Bytes of either servlet to rows, still in the service's unit and without a lake.

use chrono::{DateTime, FixedOffset, NaiveDateTime, Utc};
use serde::Deserialize;
use serde_json::Value;

use super::table::{Step, sensor};
use crate::lake::Cadence;
use crate::sources::client::error_words;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::{begins_with_word, first_characters, read_json};
use crate::sources::saved::{Saved, SavedRecord};
use crate::sources::stamp::read_civil;

/// Columns of the CSV servlet, in order.
const HEADER: [&str; 9] = [
    "STATION_ID",
    "DURATION",
    "SENSOR_NUMBER",
    "SENSOR_TYPE",
    "DATE TIME",
    "OBS DATE",
    "VALUE",
    "DATA_FLAG",
    "UNITS",
];

/// Numbers that mean "no value".
const SENTINELS: [f64; 3] = [-9999.0, -9998.0, -9997.0];

/// Words that mean "no value", compared without case: none sent, missing, below and above the rating table.
const GAP_WORDS: [&str; 4] = ["---", "m", "brt", "art"];

/// Hours that Pacific standard time is behind UTC, the whole year.
const BEHIND_UTC_H: i32 = 8;

/// One value as the service gave it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Station.
    pub station: String,
    /// Sensor number.
    pub sensor: u32,
    /// Letter of the step in time.
    pub step: String,
    /// What kind of sensor, in the service's word.
    pub kind: String,
    /// Time it stands for, Pacific standard.
    pub civil: NaiveDateTime,
    /// When it was taken, Pacific standard, where stated.
    pub taken: Option<NaiveDateTime>,
    /// Value; `None` for none.
    pub value: Option<f64>,
    /// The service's flag, and what stood for a missing value.
    pub qualifier: Option<String>,
    /// Unit.
    pub unit: String,
}

/// What a reply holds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Readings {
    /// Rows, in the order of the reply.
    pub rows: Vec<Row>,
    /// Rows left out.
    pub faults: Vec<RowFault>,
}

/// The instant of a stamp of Pacific standard time. `None` outside of what is a time.
pub(super) fn instant(civil: NaiveDateTime) -> Option<DateTime<Utc>> {
    let zone = FixedOffset::west_opt(BEHIND_UTC_H * 3600)?;
    Some(civil.and_local_timezone(zone).single()?.with_timezone(&Utc))
}

/// Whether bytes look like a reply of either servlet.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    begins_with_word(bytes, "STATION_ID,DURATION,SENSOR_NUMBER")
        || begins_with_word(bytes, "\"stationId\"") && begins_with_word(bytes, "\"SENSOR_NUM\"")
}

/// A reply of `JSONDataServlet` or `CSVDataServlet`. A row that cannot be read is left out and named; the others
/// stand. An empty list, or a header alone, is a reply without values.
///
/// # Errors
/// [`ReadError`]: empty, a page, JSON cut short or of another shape, an error body, a header that is not the known one.
pub fn read_readings(bytes: &[u8]) -> Result<Readings, ReadError> {
    let plain = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let first = plain.iter().find(|b| !b.is_ascii_whitespace());
    match first {
        // A text that is neither JSON nor a page can only be the other servlet's.
        Some(b) if !matches!(b, b'{' | b'[' | b'<') => read_csv(plain),
        _ => read_list(plain),
    }
}

#[derive(Deserialize)]
struct RawRow {
    #[serde(rename = "stationId")]
    station: String,
    #[serde(rename = "durCode")]
    step: String,
    #[serde(rename = "SENSOR_NUM")]
    sensor: Figure,
    #[serde(rename = "sensorType")]
    kind: Option<String>,
    date: String,
    #[serde(rename = "obsDate")]
    obs_date: Option<String>,
    value: Option<Figure>,
    #[serde(rename = "dataFlag")]
    flag: Option<String>,
    units: Option<String>,
}

fn read_list(bytes: &[u8]) -> Result<Readings, ReadError> {
    let wanted = "a list of readings";
    let list: Vec<Value> = read_json(bytes, wanted).map_err(|fault| {
        let is_shape = matches!(&fault, ReadError::Json { .. });
        let body = is_shape.then(|| read_json::<Value>(bytes, wanted).ok()).flatten();
        match body.as_ref().and_then(error_words) {
            Some(reason) => ReadError::Said { reason },
            None => fault,
        }
    })?;
    let mut readings = Readings::default();
    for (k, value) in list.into_iter().enumerate() {
        let place = format!("[{k}]");
        let row = RawRow::deserialize(value)
            .map_err(|fault| ("", fault.to_string(), "a reading"))
            .and_then(row_of_json);
        push(&mut readings, place, row);
    }
    Ok(readings)
}

/// What cannot be read of a row: field, found, wanted.
type Refusal = (&'static str, String, &'static str);

fn push(readings: &mut Readings, place: String, row: Result<Row, Refusal>) {
    match row {
        Ok(row) => readings.rows.push(row),
        Err((field, found, wanted)) => readings.faults.push(RowFault {
            place: if field.is_empty() {
                place
            } else {
                format!("{place}.{field}")
            },
            found,
            wanted,
        }),
    }
}

fn row_of_json(raw: RawRow) -> Result<Row, Refusal> {
    let number = match raw.sensor {
        Figure::Number(number) if number.fract() == 0.0 && (1.0..1000.0).contains(&number) => number as u32,
        other => return Err(("SENSOR_NUM", format!("{other:?}"), "a sensor number")),
    };
    let stamp = |field, text: &str| {
        let civil = read_civil(text.trim(), &["%Y-%m-%d %H:%M"]).filter(|civil| instant(*civil).is_some());
        civil.ok_or_else(|| (field, format!("\"{text}\""), "a time such as 2026-4-1 0:00"))
    };
    let taken = raw.obs_date.filter(|text| !text.trim().is_empty());
    let (value, missing) = value(raw.value.unwrap_or(Figure::Nothing), "value")?;
    Ok(Row {
        station: raw.station.trim().to_owned(),
        sensor: number,
        step: raw.step.trim().to_owned(),
        kind: raw.kind.unwrap_or_default().trim().to_owned(),
        civil: stamp("date", &raw.date)?,
        taken: taken.map(|text| stamp("obsDate", &text)).transpose()?,
        value,
        qualifier: joined(raw.flag.as_deref(), missing),
        unit: raw.units.unwrap_or_default().trim().to_owned(),
    })
}

fn read_csv(plain: &[u8]) -> Result<Readings, ReadError> {
    let mut reader = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(::csv::Trim::All)
        .from_reader(plain);
    let mut record = ::csv::ByteRecord::new();
    let is_known = matches!(reader.read_byte_record(&mut record), Ok(true))
        && record.iter().eq(HEADER.iter().map(|name| name.as_bytes()));
    if !is_known {
        return Err(ReadError::Kind {
            found: format!("a text that begins \"{}\"", first_characters(plain, 100)),
            wanted: format!("the header {}", HEADER.join(",")),
        });
    }
    let mut readings = Readings::default();
    loop {
        let line = reader.position().line();
        match reader.read_byte_record(&mut record) {
            Ok(false) => return Ok(readings),
            Ok(true) => {
                let line = record.position().map_or(line, ::csv::Position::line);
                push(&mut readings, format!("line {line}"), row_of_csv(&record));
            }
            Err(error) => {
                push(
                    &mut readings,
                    format!("line {line}"),
                    Err(("", error.to_string(), "a row")),
                );
                return Ok(readings);
            }
        }
    }
}

fn row_of_csv(record: &::csv::ByteRecord) -> Result<Row, Refusal> {
    if record.len() != HEADER.len() {
        return Err((
            "",
            format!("{} fields", record.len()),
            "nine fields as in the header",
        ));
    }
    let texts: Vec<String> = record
        .iter()
        .map(|f| String::from_utf8_lossy(f).into_owned())
        .collect();
    let [station, step, number, kind, date, taken, figure, flag, unit] = texts.as_slice() else {
        return Err(("", "another number of fields".to_owned(), "nine"));
    };
    let stamp = |field, text: &str| {
        // chrono reads fewer digits too, and would then take them from the wrong place.
        let sound = text.len() == 13
            && text
                .bytes()
                .enumerate()
                .all(|(k, b)| if k == 8 { b == b' ' } else { b.is_ascii_digit() });
        let civil = sound.then(|| read_civil(text, &["%Y%m%d %H%M"])).flatten();
        civil
            .filter(|civil| instant(*civil).is_some())
            .ok_or_else(|| (field, format!("\"{text}\""), "a time such as 20260401 0000"))
    };
    let number_text = Some(number).filter(|n| n.len() <= 3 && n.bytes().all(|b| b.is_ascii_digit()));
    let number: u32 = number_text
        .and_then(|n| n.parse().ok())
        .ok_or_else(|| ("SENSOR_NUMBER", format!("\"{number}\""), "a sensor number"))?;
    let (value, missing) = value(Figure::from_text(figure), "VALUE")?;
    Ok(Row {
        station: station.clone(),
        sensor: number,
        step: step.clone(),
        kind: kind.clone(),
        civil: stamp("DATE TIME", date)?,
        taken: if taken.is_empty() {
            None
        } else {
            Some(stamp("OBS DATE", taken)?)
        },
        value,
        qualifier: joined(Some(flag), missing),
        unit: unit.clone(),
    })
}

/// The value, and what stood for a missing one.
fn value(figure: Figure, field: &'static str) -> Result<(Option<f64>, Option<String>), Refusal> {
    match figure {
        Figure::Number(number) if SENTINELS.contains(&number) => Ok((None, Some(number.to_string()))),
        Figure::Number(number) => Ok((Some(number), None)),
        Figure::Nothing => Ok((None, None)),
        Figure::Word(word) if GAP_WORDS.contains(&word.to_ascii_lowercase().as_str()) => {
            Ok((None, Some(word)))
        }
        Figure::Word(word) => Err((field, format!("\"{word}\""), "a number")),
    }
}

fn joined(flag: Option<&str>, missing: Option<String>) -> Option<String> {
    let flag = flag.map(str::trim).filter(|flag| !flag.is_empty());
    let words: Vec<&str> = flag.into_iter().chain(missing.as_deref()).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// The records of a saved reply.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let readings = read_readings(bytes)?;
    let record = |row: Row| {
        let is_daily = row.step == Step::Daily.letter();
        let cadence = if is_daily {
            Cadence::Daily
        } else {
            Cadence::Continuous
        };
        let utc = instant(row.civil).map_or(String::new(), |at| at.format("%Y-%m-%dT%H:%M:%SZ").to_string());
        let quantity = sensor(row.sensor).and_then(|s| s.quantities.first().copied());
        SavedRecord {
            time: if is_daily {
                row.civil.date().to_string()
            } else {
                utc
            },
            qualifier: row.qualifier.clone().unwrap_or_default(),
            note: format!("{}, step {}", row.kind, row.step),
            ..SavedRecord::of(&row.station, &row.sensor.to_string())
                .with_value(row.value, &row.unit, quantity, cadence)
        }
    };
    Ok(Saved {
        service: super::NAME,
        kind: "readings".to_owned(),
        records: readings.rows.into_iter().map(record).collect(),
        faults: readings.faults,
    })
}
