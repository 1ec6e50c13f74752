//! Bytes to readings of the water: surface readings, casts and gauges in one table, each with its zone, depth and error.

use chrono::{DateTime, NaiveTime, Utc};

use super::read::{fault, header, header_words, reader};
use super::stamp::{StampZone, read_stamp};
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::{FILE_CAP_BYTES, beginning, unpacked};
use crate::sources::stamp::Stamp;
use crate::units::{DEGC_PER_DEGF, M_PER_FT, degc_from_degf};

/// Temperatures, degC, and oxygen, mg/L, that lake water can have (project choice, wide).
const TEMPS_DEGC: (f64, f64) = (-1.0, 45.0);
const OXYGEN_MG_L: (f64, f64) = (0.0, 40.0);

/// One row: what was measured at one place, depth and time.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterReading {
    /// Line in the file, from 1.
    pub line: u64,
    /// When. A day without a time is taken as its noon (project choice: casts are made by day).
    pub time: DateTime<Utc>,
    /// Whether the file gave the day only.
    pub is_day: bool,
    /// Id of the zone.
    pub zone: String,
    /// Depth below the surface of that time, m.
    pub depth_m: f64,
    /// Temperature, degC.
    pub temp_degc: Option<f64>,
    /// Its standard error, degC; there where the temperature is.
    pub temp_error_degc: Option<f64>,
    /// Dissolved oxygen, mg/L.
    pub oxygen_mg_l: Option<f64>,
    /// Its standard error, mg/L; there where the oxygen is.
    pub oxygen_error_mg_l: Option<f64>,
}

/// A table of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterReadings {
    /// Rows, in the order of the file.
    pub rows: Vec<WaterReading>,
    /// Rows left out.
    pub faults: Vec<RowFault>,
}

/// Where the columns stand.
struct Places {
    time: usize,
    zone: usize,
    depth: (usize, f64),
    temp: Option<(usize, bool)>,
    oxygen: Option<usize>,
    error: usize,
    width: usize,
}

/// The readings of a table with the columns `time`, `zone`, `depth_m` or `depth_ft`, `temp_degc` or `temp_degf`, `oxygen_mg_l`,
/// `error`, in any order; of temperature and oxygen one may be absent, and other columns are passed over.
///
/// `error` is the standard error of the row's figures, each in its own unit: where those of temperature and oxygen
/// differ, they are written as two rows. `zone_of_stamps` is that of times without an offset. Gzip is unpacked.
///
/// # Errors
/// [`ReadError::Header`] for a column that is not there or is there in two units, [`ReadError::Unpack`],
/// [`ReadError::Empty`]. A row that cannot be read is no error: it is named and left out.
pub fn read_water_readings(bytes: &[u8], zone_of_stamps: StampZone) -> Result<WaterReadings, ReadError> {
    let plain = unpacked(bytes, FILE_CAP_BYTES)?;
    let mut reader = reader(&plain);
    let header = header(&mut reader)?;
    let places = places(&header)?;
    let mut readings = WaterReadings {
        rows: Vec::new(),
        faults: Vec::new(),
    };
    let mut earliest = None;
    let mut record = ::csv::ByteRecord::new();
    loop {
        let line = reader.position().line();
        match reader.read_byte_record(&mut record) {
            Ok(false) => return Ok(readings),
            Ok(true) => {}
            Err(error) => {
                // Only reading can fail here, and bytes in memory can be read; go no further if it does.
                readings.faults.push(fault(line, error.to_string(), "a row"));
                return Ok(readings);
            }
        }
        let line = record.position().map_or(line, ::csv::Position::line);
        match read_row(&record, &places, (zone_of_stamps, earliest), line) {
            Ok(row) => {
                if !row.is_day {
                    earliest = Some(row.time);
                }
                readings.rows.push(row);
            }
            Err(fault) => readings.faults.push(fault),
        }
    }
}

fn places(header: &[String]) -> Result<Places, ReadError> {
    let at = |name: &str| header.iter().position(|found| found == name);
    let wanted = |wanted: &str| ReadError::Header {
        found: header_words(header),
        wanted: wanted.to_owned(),
    };
    let depth = match (at("depth_m"), at("depth_ft")) {
        (Some(place), None) => (place, 1.0),
        (None, Some(place)) => (place, M_PER_FT),
        _ => return Err(wanted("depth_m or depth_ft, one of the two")),
    };
    let temp = match (at("temp_degc"), at("temp_degf")) {
        (Some(_), Some(_)) => return Err(wanted("temp_degc or temp_degf, one of the two")),
        (celsius, fahrenheit) => celsius.map(|p| (p, false)).or(fahrenheit.map(|p| (p, true))),
    };
    let oxygen = at("oxygen_mg_l");
    if temp.is_none() && oxygen.is_none() {
        return Err(wanted("temp_degc, temp_degf or oxygen_mg_l"));
    }
    Ok(Places {
        time: at("time").ok_or_else(|| wanted("time"))?,
        zone: at("zone").ok_or_else(|| wanted("zone"))?,
        error: at("error").ok_or_else(|| wanted("error"))?,
        depth,
        temp,
        oxygen,
        width: header.len(),
    })
}

fn read_row(
    record: &::csv::ByteRecord,
    places: &Places,
    (zone_of_stamps, earliest): (StampZone, Option<DateTime<Utc>>),
    line: u64,
) -> Result<WaterReading, RowFault> {
    if record.len() != places.width {
        let found = format!("{} fields", record.len());
        return Err(fault(line, found, "as many as the header has"));
    }
    let text = |place: usize| {
        let text = std::str::from_utf8(&record[place]);
        text.map_err(|_| fault(line, "bytes that are no UTF-8".to_owned(), "text"))
    };
    let (time, is_day) = read_time(text(places.time)?, zone_of_stamps, earliest, line)?;
    let zone = text(places.zone)?;
    if zone.is_empty() {
        return Err(fault(line, "no zone".to_owned(), "the id of a zone of the lake"));
    }
    let depth_text = text(places.depth.0)?;
    let depth = within(depth_text, (0.0, 1e5), line, "a depth, not below 0")?
        .ok_or_else(|| fault(line, "no depth".to_owned(), "a depth, not below 0"))?;
    let (temp_text, is_fahrenheit) = match places.temp {
        Some((place, is_fahrenheit)) => (text(place)?, is_fahrenheit),
        None => ("", false),
    };
    let temp = within(temp_text, (-1e3, 1e3), line, WARM)?;
    let temp_degc = temp.map(|t| if is_fahrenheit { degc_from_degf(t) } else { t });
    if temp_degc.is_some_and(|t| !(TEMPS_DEGC.0..=TEMPS_DEGC.1).contains(&t)) {
        return Err(fault(line, quoted(temp_text), WARM));
    }
    let oxygen_text = places.oxygen.map(text).transpose()?.unwrap_or("");
    let oxygen_mg_l = within(
        oxygen_text,
        OXYGEN_MG_L,
        line,
        "oxygen from 0 to 40 mg/L, or a blank",
    )?;
    if temp_degc.is_none() && oxygen_mg_l.is_none() {
        return Err(fault(line, "no figure".to_owned(), "a temperature or an oxygen"));
    }
    let error = within(text(places.error)?, (f64::MIN_POSITIVE, 1e3), line, ERROR)?
        .ok_or_else(|| fault(line, "no error".to_owned(), ERROR))?;
    let degc = if is_fahrenheit { DEGC_PER_DEGF } else { 1.0 };
    Ok(WaterReading {
        line,
        time,
        is_day,
        zone: zone.to_owned(),
        depth_m: depth * places.depth.1,
        temp_degc,
        temp_error_degc: temp_degc.map(|_| error * degc),
        oxygen_mg_l,
        oxygen_error_mg_l: oxygen_mg_l.map(|_| error),
    })
}

const WARM: &str = "a temperature that lake water can have, -1 to 45 degC, or a blank";
const ERROR: &str = "a standard error above 0 in the unit of the figure";

fn read_time(
    text: &str,
    zone: StampZone,
    earliest: Option<DateTime<Utc>>,
    line: u64,
) -> Result<(DateTime<Utc>, bool), RowFault> {
    let refused = |wanted| fault(line, quoted(text), wanted);
    match read_stamp(text, zone, earliest).map_err(refused)? {
        Stamp::Instant(instant) => Ok((instant, false)),
        Stamp::Day(day) => {
            let noon = NaiveTime::from_num_seconds_from_midnight_opt(12 * 3600, 0);
            let instant = noon.and_then(|noon| zone.instant(day.and_time(noon), None));
            Ok((instant.ok_or_else(|| refused("a day with a noon"))?, true))
        }
    }
}

/// A number within a range; `None` for a blank.
fn within(
    text: &str,
    (least, most): (f64, f64),
    line: u64,
    wanted: &'static str,
) -> Result<Option<f64>, RowFault> {
    match Figure::from_text(text) {
        Figure::Nothing => Ok(None),
        Figure::Number(number) if (least..=most).contains(&number) => Ok(Some(number)),
        _ => Err(fault(line, quoted(text), wanted)),
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", beginning(text.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<WaterReadings, ReadError> {
        read_water_readings(text.as_bytes(), StampZone::read("America/Los_Angeles").unwrap())
    }

    #[test]
    fn a_reading_of_the_angler_is_turned_into_si() {
        let text = "zone,time,depth_ft,temp_degf,error\nsorrel-arm,2025-07-24 06:30,10,68,1.8\n";
        let row = &read(text).unwrap().rows[0];
        assert_eq!(row.time.to_rfc3339(), "2025-07-24T13:30:00+00:00");
        // 10 ft and 68 degF: 3.048 m and 20 degC by definition of foot and degree; 1.8 degF are 1 K.
        assert!((row.depth_m - 3.048).abs() < 1e-12 && (row.temp_degc.unwrap() - 20.0).abs() < 1e-12);
        assert!((row.temp_error_degc.unwrap() - 1.0).abs() < 1e-12);
        assert_eq!((row.oxygen_mg_l, row.oxygen_error_mg_l), (None, None));
    }

    #[test]
    fn the_invented_table_gives_its_rows_and_names_the_bad_ones() {
        let path = concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/fixtures/replies/csv/readings-harrow-gap.csv"
        );
        let bytes = std::fs::read(path).unwrap();
        let readings = read_water_readings(&bytes, StampZone::read("America/Los_Angeles").unwrap()).unwrap();
        assert_eq!(readings.rows.len(), 8);
        assert!(readings.rows[6].is_day);
        assert_eq!(readings.rows[6].time.to_rfc3339(), "2025-09-14T19:00:00+00:00");
        assert_eq!(readings.rows[7].temp_degc, None);
        let places: Vec<&str> = readings.faults.iter().map(|f| f.place.as_str()).collect();
        assert_eq!(
            places,
            ["line 10", "line 11", "line 12", "line 13", "line 14", "line 15"]
        );
    }

    #[test]
    fn a_column_in_two_units_or_in_none_is_refused() {
        for header in [
            "time,zone,depth_m,depth_ft,temp_degc,error",
            "time,zone,depth_m,temp_degc,temp_degf,error",
            "time,zone,temp_degc,error",
            "time,zone,depth_m,error",
            "time,zone,depth_m,temp_degc",
            "zone,depth_m,temp_degc,error",
            "time,depth_m,temp_degc,error",
        ] {
            let refused = read(header);
            assert!(
                matches!(refused, Err(ReadError::Header { .. })),
                "{header}: {refused:?}"
            );
        }
    }
}
