//! Bytes to several columns at once: stamps and numbers side by side, for tables of many years.

use chrono::{DateTime, Utc};

use super::read::{Missing, fault, header, header_words, quoted, reader};
use super::stamp::{StampZone, read_stamp};
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::{FILE_CAP_BYTES, unpacked};
use crate::sources::stamp::Stamp;

/// Most faults of rows that are kept; the others are counted (project choice: nobody reads more).
const MOST_FAULTS: usize = 20;

/// What is wanted of a table.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'w> {
    /// Column of the time; `None` for a table without one.
    pub time: Option<&'w str>,
    /// Zone of stamps that carry none.
    pub zone: StampZone,
    /// Texts that mean "no value", beside an empty field.
    pub missing: &'w [String],
    /// Columns of numbers.
    pub columns: &'w [&'w str],
    /// Whether several rows may share a stamp, such as the depths of a profile.
    pub times_repeat: bool,
}

/// Columns of a table, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Columns {
    /// Line of each row in the file, from 1. Shape `[row]`.
    pub lines: Vec<u64>,
    /// Stamp of each row; empty where no time was wanted. Shape `[row]`.
    pub stamps: Vec<Stamp>,
    /// Values in the unit of the file, `None` for a missing one. Shape `[column][row]`.
    pub values: Vec<Vec<Option<f64>>>,
    /// Rows left out, the first twenty of them.
    pub faults: Vec<RowFault>,
    /// How many rows were left out in all.
    pub fault_count: usize,
}

/// The wanted columns of a table. Gzip is unpacked. A row of which anything wanted cannot be read is left out and
/// named.
///
/// # Errors
/// [`ReadError::Header`] for a column that is not there, [`ReadError::Unpack`], [`ReadError::TooLarge`],
/// [`ReadError::Empty`].
pub fn read_columns(bytes: &[u8], wanted: &Wanted<'_>) -> Result<Columns, ReadError> {
    let plain = unpacked(bytes, FILE_CAP_BYTES)?;
    let mut reader = reader(&plain);
    let header = header(&mut reader)?;
    let place = |name: &str| {
        let at = header.iter().position(|found| found == name);
        at.ok_or_else(|| ReadError::Header {
            found: header_words(&header),
            wanted: name.to_owned(),
        })
    };
    let time = wanted.time.map(place).transpose()?;
    let places = wanted.columns.iter().map(|name| place(name));
    let places: Vec<usize> = places.collect::<Result<_, _>>()?;
    let missing = Missing::new(wanted.missing);
    let mut columns = Columns {
        lines: Vec::new(),
        stamps: Vec::new(),
        values: vec![Vec::new(); places.len()],
        faults: Vec::new(),
        fault_count: 0,
    };
    let mut earliest = None;
    let mut record = ::csv::ByteRecord::new();
    let mut row = vec![None; places.len()];
    loop {
        let line = reader.position().line();
        match reader.read_byte_record(&mut record) {
            Ok(false) => return Ok(columns),
            Ok(true) => {}
            Err(error) => {
                // Only reading can fail here, and bytes in memory can be read; go no further if it does.
                columns.leave_out(fault(line, error.to_string(), "a row"));
                return Ok(columns);
            }
        }
        let line = record.position().map_or(line, ::csv::Position::line);
        if record.len() != header.len() {
            let found = format!("{} fields", record.len());
            columns.leave_out(fault(line, found, "as many as the header has"));
            continue;
        }
        let read = read_row(
            &record,
            (time, &places),
            wanted,
            &missing,
            earliest,
            line,
            &mut row,
        );
        match read {
            Ok(stamp) => {
                if let Some(Stamp::Instant(instant)) = stamp {
                    earliest = Some(instant + chrono::Duration::seconds(i64::from(!wanted.times_repeat)));
                }
                columns.lines.push(line);
                columns.stamps.extend(stamp);
                for (column, value) in columns.values.iter_mut().zip(&row) {
                    column.push(*value);
                }
            }
            Err(fault) => columns.leave_out(fault),
        }
    }
}

impl Columns {
    fn leave_out(&mut self, fault: RowFault) {
        self.fault_count += 1;
        if self.faults.len() < MOST_FAULTS {
            self.faults.push(fault);
        }
    }
}

fn read_row(
    record: &::csv::ByteRecord,
    (time, places): (Option<usize>, &[usize]),
    wanted: &Wanted<'_>,
    missing: &Missing<'_>,
    earliest: Option<DateTime<Utc>>,
    line: u64,
    row: &mut [Option<f64>],
) -> Result<Option<Stamp>, RowFault> {
    let text = |place: usize| {
        std::str::from_utf8(&record[place])
            .map_err(|_| fault(line, "bytes that are no UTF-8".to_owned(), "text"))
    };
    let stamp = match time {
        Some(place) => {
            let time = text(place)?;
            let stamp = read_stamp(time, wanted.zone, earliest);
            Some(stamp.map_err(|wanted| fault(line, quoted(time), wanted))?)
        }
        None => None,
    };
    for (value, &place) in row.iter_mut().zip(places) {
        let text = text(place)?;
        let figure = Figure::from_text(text);
        *value = match figure {
            _ if missing.has(text, &figure) => None,
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
    }
    Ok(stamp)
}

/// The days of two columns, row by row; `None` where a field is empty or missing. For tables of winters.
///
/// # Errors
/// As of [`read_columns`]. A field that is no day counts as a row left out.
pub fn read_days(bytes: &[u8], names: [&str; 2], missing: &[String]) -> Result<DayRows, ReadError> {
    let plain = unpacked(bytes, FILE_CAP_BYTES)?;
    let mut reader = reader(&plain);
    let header = header(&mut reader)?;
    let mut places = [0; 2];
    for (place, name) in places.iter_mut().zip(names) {
        let at = header.iter().position(|found| found == name);
        *place = at.ok_or_else(|| ReadError::Header {
            found: header_words(&header),
            wanted: name.to_owned(),
        })?;
    }
    let zone = StampZone::Named(chrono_tz::UTC);
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    for (k, record) in reader.byte_records().enumerate() {
        // The header is line 1.
        let line = k as u64 + 2;
        let Ok(record) = record else { break };
        let day = |place: usize| {
            let text = String::from_utf8_lossy(record.get(place).unwrap_or_default()).into_owned();
            if text.is_empty() || missing.contains(&text) {
                return Ok(None);
            }
            match read_stamp(&text, zone, None) {
                Ok(Stamp::Day(day)) => Ok(Some(day)),
                _ => Err(fault(line, quoted(&text), "a day such as 2016-01-14")),
            }
        };
        match places.map(day) {
            [Ok(first), Ok(last)] => rows.push((first, last)),
            [Err(fault), _] | [_, Err(fault)] => faults.push(fault),
        }
    }
    Ok((rows, faults))
}

/// First and last day of each row, and the rows left out.
pub type DayRows = (
    Vec<(Option<chrono::NaiveDate>, Option<chrono::NaiveDate>)>,
    Vec<RowFault>,
);

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    const NONE: &[String] = &[];

    fn wanted<'w>(columns: &'w [&'w str], missing: &'w [String]) -> Wanted<'w> {
        Wanted {
            time: Some("time"),
            zone: StampZone::read("UTC").unwrap(),
            missing,
            columns,
            times_repeat: false,
        }
    }

    #[test]
    fn columns_come_in_the_order_asked_for_and_a_bad_row_is_named() {
        let text = b"time,a,b\n2025-01-01,1,2\n2025-01-02,x,3\n2025-01-03,,-999\n";
        let missing = ["-999".to_owned()];
        let found = read_columns(text, &wanted(&["b", "a"], &missing)).unwrap();
        assert_eq!(found.values, [vec![Some(2.0), None], vec![Some(1.0), None]]);
        assert_eq!(found.lines, [2, 4]);
        let day = |d| Stamp::Day(NaiveDate::from_ymd_opt(2025, 1, d).unwrap());
        assert_eq!(found.stamps, [day(1), day(3)]);
        assert_eq!((found.fault_count, found.faults[0].place.as_str()), (1, "line 3"));
    }

    #[test]
    fn a_column_that_is_not_there_is_named_with_those_that_are() {
        let error = read_columns(b"time,a\n", &wanted(&["b"], NONE)).unwrap_err();
        assert!(error.to_string().contains("\"a\""), "{error}");
    }

    #[test]
    fn faults_beyond_twenty_are_counted_only() {
        let text = format!("time,a\n{}", "2025-01-01,x\n".repeat(100));
        let found = read_columns(text.as_bytes(), &wanted(&["a"], NONE)).unwrap();
        assert_eq!((found.fault_count, found.faults.len()), (100, 20));
    }

    #[test]
    fn winters_may_lack_a_day() {
        let text = b"year,on,off\n1853,,1853-04-05\n1855,1853-12-27,\n1900,soon,NA\n";
        let (rows, faults) = read_days(text, ["on", "off"], &["NA".to_owned()]).unwrap();
        let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d);
        assert_eq!(rows, [(None, day(1853, 4, 5)), (day(1853, 12, 27), None)]);
        assert_eq!(faults[0].place, "line 4");
    }
}
