//! Bytes to rows: one value column, its times, its depths. A row that cannot be read is named by its
//! line and left out; the others stand.

use chrono::{DateTime, Duration, Utc};

use super::stamp::{StampZone, read_stamp};
use crate::lake::{Cadence, CsvColumns};
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::{FILE_CAP_BYTES, beginning, unpacked};
use crate::sources::saved::{Saved, SavedRecord};
use crate::sources::stamp::Stamp;

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Line in the file, from 1.
    pub line: u64,
    /// Day or instant.
    pub stamp: Stamp,
    /// Depth below the surface.
    pub depth_m: Option<f64>,
    /// Value; `None` for a missing one.
    pub value: Option<f64>,
}

/// One value column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Rows, in the order of the file.
    pub rows: Vec<Row>,
    /// Rows left out.
    pub faults: Vec<RowFault>,
    /// Zone of stamps that carry none.
    pub zone: StampZone,
}

/// Where the columns of a map stand in a header.
struct Places {
    time: usize,
    value: usize,
    depth: Option<usize>,
    width: usize,
}

/// The rows of one value column. Gzip is unpacked.
///
/// # Errors
/// [`ReadError::Header`] for a column that is not there, [`ReadError::Zone`], [`ReadError::Unpack`],
/// [`ReadError::Empty`]. A row that cannot be read is no error.
pub fn read_table(bytes: &[u8], columns: &CsvColumns) -> Result<Table, ReadError> {
    let plain = unpacked(bytes, FILE_CAP_BYTES)?;
    let zone = StampZone::read(&columns.stamp_zone)?;
    let mut reader = reader(&plain);
    let header = header(&mut reader)?;
    let places = places(&header, columns)?;
    let missing = Missing::new(&columns.missing);
    let mut table = Table {
        rows: Vec::new(),
        faults: Vec::new(),
        zone,
    };
    let mut earliest: Option<DateTime<Utc>> = None;
    let mut record = ::csv::ByteRecord::new();
    loop {
        let line = reader.position().line();
        match reader.read_byte_record(&mut record) {
            Ok(false) => return Ok(table),
            Ok(true) => {}
            Err(error) => {
                // Only reading can fail here, and bytes in memory can be read; go no further if it does.
                table.faults.push(fault(line, error.to_string(), "a row"));
                return Ok(table);
            }
        }
        let line = record.position().map_or(line, ::csv::Position::line);
        match read_row(&record, &places, &missing, zone, earliest, line) {
            Ok(row) => {
                if let Stamp::Instant(instant) = row.stamp {
                    // Depths share their time; without them, each time comes once.
                    let step = if places.depth.is_some() {
                        Duration::zero()
                    } else {
                        Duration::seconds(1)
                    };
                    earliest = Some(instant + step);
                }
                table.rows.push(row);
            }
            Err(fault) => table.faults.push(fault),
        }
    }
}

pub(super) fn reader(plain: &[u8]) -> ::csv::Reader<&[u8]> {
    let plain = plain.strip_prefix(b"\xef\xbb\xbf").unwrap_or(plain);
    ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(::csv::Trim::All)
        .from_reader(plain)
}

pub(super) fn header(reader: &mut ::csv::Reader<&[u8]>) -> Result<Vec<String>, ReadError> {
    let mut record = ::csv::ByteRecord::new();
    match reader.read_byte_record(&mut record) {
        Ok(true) => Ok(record
            .iter()
            .map(|name| String::from_utf8_lossy(name).into_owned())
            .collect()),
        _ => Err(ReadError::Empty {
            wanted: "a header line",
        }),
    }
}

fn places(header: &[String], columns: &CsvColumns) -> Result<Places, ReadError> {
    let place = |name: &str| {
        header
            .iter()
            .position(|found| found == name)
            .ok_or_else(|| ReadError::Header {
                found: header_words(header),
                wanted: name.to_owned(),
            })
    };
    Ok(Places {
        time: place(&columns.time)?,
        value: place(&columns.value)?,
        depth: columns.depth.as_deref().map(place).transpose()?,
        width: header.len(),
    })
}

pub(super) fn header_words(header: &[String]) -> String {
    let names: Vec<String> = header
        .iter()
        .take(20)
        .map(|name| format!("\"{}\"", beginning(name.as_bytes())))
        .collect();
    names.join(", ")
}

/// Texts that mean "no value": compared as text, and where both are numbers, as numbers.
pub(super) struct Missing<'a> {
    texts: &'a [String],
    numbers: Vec<f64>,
}

impl<'a> Missing<'a> {
    pub(super) fn new(texts: &'a [String]) -> Self {
        // A sentinel may be larger than any figure that is believed.
        let number = |text: &String| text.trim().parse().ok().filter(|n: &f64| n.is_finite());
        Missing {
            texts,
            numbers: texts.iter().filter_map(number).collect(),
        }
    }

    pub(super) fn has(&self, text: &str, figure: &Figure) -> bool {
        self.texts.iter().any(|missing| missing.trim() == text)
            || match figure {
                Figure::Number(number) => self.numbers.contains(number),
                Figure::Word(word) => word.parse().is_ok_and(|n: f64| self.numbers.contains(&n)),
                Figure::Nothing => false,
            }
    }
}

fn read_row(
    record: &::csv::ByteRecord,
    places: &Places,
    missing: &Missing<'_>,
    zone: StampZone,
    earliest: Option<DateTime<Utc>>,
    line: u64,
) -> Result<Row, RowFault> {
    if record.len() != places.width {
        return Err(fault(
            line,
            format!("{} fields", record.len()),
            "as many as the header has",
        ));
    }
    let text = |place: usize| {
        std::str::from_utf8(&record[place])
            .map_err(|_| fault(line, "bytes that are no UTF-8".to_owned(), "text"))
    };
    let time = text(places.time)?;
    let stamp = read_stamp(time, zone, earliest).map_err(|wanted| fault(line, quoted(time), wanted))?;
    let depth_m = places
        .depth
        .map(text)
        .transpose()?
        .map(|text| read_depth(text, line))
        .transpose()?;
    let value_text = text(places.value)?;
    let figure = Figure::from_text(value_text);
    let value = match figure {
        _ if missing.has(value_text, &figure) => None,
        Figure::Number(number) => Some(number),
        Figure::Nothing => None,
        Figure::Word(word) => {
            return Err(fault(
                line,
                quoted(&word),
                "a number, or a text named under `missing`",
            ));
        }
    };
    Ok(Row {
        line,
        stamp,
        depth_m,
        value,
    })
}

fn read_depth(text: &str, line: u64) -> Result<f64, RowFault> {
    match Figure::from_text(text) {
        Figure::Number(depth_m) if depth_m >= 0.0 => Ok(depth_m),
        _ => Err(fault(line, quoted(text), "a depth in metres, not below 0")),
    }
}

pub(super) fn quoted(text: &str) -> String {
    format!("\"{}\"", beginning(text.as_bytes()))
}

pub(super) fn fault(line: u64, found: String, wanted: &'static str) -> RowFault {
    RowFault {
        place: format!("line {line}"),
        found,
        wanted,
    }
}

/// Whether bytes look like a table with a time column first.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    let first = bytes.split(|b| *b == b'\n').next().unwrap_or_default();
    let text = String::from_utf8_lossy(&first[..first.len().min(4096)]).to_ascii_lowercase();
    let name = text.split(',').next().unwrap_or_default().trim();
    text.contains(',')
        && ["time", "date", "datetime", "timestamp"].contains(&name.trim_start_matches('\u{feff}'))
}

/// The records of every column of a table, without a map: the first column is the time, every other one
/// a value without unit; stamps without an offset are shown as UTC.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let plain = unpacked(bytes, FILE_CAP_BYTES)?;
    let header = header(&mut reader(&plain))?;
    let Some((time, values)) = header.split_first().filter(|(_, values)| !values.is_empty()) else {
        return Err(ReadError::Header {
            found: header_words(&header),
            wanted: "a value column".to_owned(),
        });
    };
    let mut saved = Saved {
        service: super::NAME,
        kind: "table".to_owned(),
        records: Vec::new(),
        faults: Vec::new(),
    };
    for value in values {
        let columns = CsvColumns {
            path: std::path::PathBuf::new(),
            time: time.clone(),
            value: value.clone(),
            depth: None,
            stamp_zone: "UTC".to_owned(),
            missing: ["NA", "NaN", "---", "null"].map(str::to_owned).to_vec(),
        };
        let table = read_table(&plain, &columns)?;
        saved.records.extend(table.rows.iter().map(|row| SavedRecord {
            time: row.stamp.to_string(),
            note: format!("line {}", row.line),
            ..SavedRecord::of("", value).with_value(row.value, "", None, Cadence::Continuous)
        }));
        saved.faults.extend(table.faults);
    }
    saved
        .faults
        .sort_by(|a, b| (a.place.len(), &a.place).cmp(&(b.place.len(), &b.place)));
    saved.faults.dedup();
    Ok(saved)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn columns(depth: Option<&str>) -> CsvColumns {
        CsvColumns {
            path: "x.csv".into(),
            time: "time".into(),
            value: "temp".into(),
            depth: depth.map(str::to_owned),
            stamp_zone: "UTC".into(),
            missing: vec!["NA".into(), "-999".into()],
        }
    }

    #[test]
    fn columns_are_found_by_name_wherever_they_stand() {
        let table = read_table(b"depth,temp,time\n3,12.5,2025-01-01\n", &columns(Some("depth"))).unwrap();
        assert_eq!(
            (table.rows[0].depth_m, table.rows[0].value, table.rows[0].line),
            (Some(3.0), Some(12.5), 2)
        );
    }

    #[test]
    fn declared_texts_and_blanks_are_gaps() {
        let text = b"time,temp\n2025-01-01,NA\n2025-01-02,-999.0\n2025-01-03,\n2025-01-04,4\n";
        let table = read_table(text, &columns(None)).unwrap();
        let values: Vec<Option<f64>> = table.rows.iter().map(|r| r.value).collect();
        assert_eq!(values, [None, None, None, Some(4.0)]);
        assert!(table.faults.is_empty());
    }

    #[test]
    fn a_bad_row_is_named_by_its_line_and_the_others_stand() {
        let text = b"\xef\xbb\xbftime,temp\n2025-01-01,4\nyesterday,5\n2025-01-03,six\n2025-01-04\n\xff,1\n2025-01-06,7";
        let table = read_table(text, &columns(None)).unwrap();
        assert_eq!(table.rows.len(), 2);
        let places: Vec<&str> = table.faults.iter().map(|f| f.place.as_str()).collect();
        assert_eq!(places, ["line 3", "line 4", "line 5", "line 6"]);
        assert_eq!(
            table.faults[1].to_string(),
            "line 4: found \"six\", wanted a number, or a text named under `missing`"
        );
    }

    #[test]
    fn a_column_that_is_not_there_is_named_with_those_that_are() {
        let fault = read_table(b"date,temp\n", &columns(None)).unwrap_err();
        assert!(matches!(fault, ReadError::Header { .. }), "{fault}");
        let fault = fault.to_string();
        assert!(
            fault.contains("found columns \"date\", \"temp\", wanted one named \"time\""),
            "{fault}"
        );
        assert!(matches!(
            read_table(b"", &columns(None)),
            Err(ReadError::Empty { .. })
        ));
    }

    #[test]
    fn in_the_hour_that_occurs_twice_instants_go_on_and_a_profile_stays_together() {
        let zoned = |depth| CsvColumns {
            stamp_zone: "America/Los_Angeles".into(),
            ..columns(depth)
        };
        let hours = |table: Table| -> Vec<String> {
            let hour = |row: &Row| row.stamp.to_string()[11..16].to_owned();
            table.rows.iter().map(hour).collect()
        };
        let text =
            b"time,temp\n2025-11-02 01:00,1\n2025-11-02 01:30,2\n2025-11-02 01:00,3\n2025-11-02 01:30,4\n";
        assert_eq!(
            hours(read_table(text, &zoned(None)).unwrap()),
            ["08:00", "08:30", "09:00", "09:30"]
        );
        let text = b"time,depth,temp\n2025-11-02 01:30,1,9\n2025-11-02 01:30,5,8\n";
        assert_eq!(
            hours(read_table(text, &zoned(Some("depth"))).unwrap()),
            ["08:30", "08:30"]
        );
    }

    #[test]
    fn a_negative_depth_is_refused() {
        let table = read_table(b"time,depth,temp\n2025-01-01,-1,4\n", &columns(Some("depth"))).unwrap();
        assert!(table.rows.is_empty());
        assert_eq!(table.faults[0].wanted, "a depth in metres, not below 0");
    }
}
