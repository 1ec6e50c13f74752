//! The page of text: what stands between `BEGIN DATA` and `END DATA`.

use chrono::{DateTime, Duration, NaiveDateTime, Utc};

use super::table::code;
use crate::lake::Cadence;
use crate::series::Approval;
use crate::sources::csv::StampZone;
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Want};
use crate::sources::number::Figure;
use crate::sources::reply::{beginning, begins_with_word};
use crate::sources::saved::{Saved, SavedRecord};
use crate::sources::stamp::{Stamp, read_civil};
use crate::sources::usgs_ogc::Row;

/// Line before the values, and line after them.
const BEGIN: &str = "BEGIN DATA";
const END: &str = "END DATA";
/// Form of a time.
const FORM: &str = "%m/%d/%Y %H:%M";
/// Word and number for "no value" (from memory, unverified).
const NO_RECORD: &str = "NO RECORD";
const SENTINEL: f64 = 998_877.0;

/// One value.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Line of the page, from 1.
    pub line: u64,
    /// Time, in whatever zone the service has.
    pub civil: NaiveDateTime,
    /// Station.
    pub station: String,
    /// Parameter code, as the page has it.
    pub parameter: String,
    /// Value; `None` where the page has a word for none.
    pub value: Option<f64>,
    /// That word.
    pub word: Option<String>,
}

/// A page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Page {
    /// Values, line by line.
    pub cells: Vec<Cell>,
    /// What was left out.
    pub faults: Vec<RowFault>,
}

/// Whether bytes look like a page of this service.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    begins_with_word(bytes, BEGIN) && begins_with_word(bytes, "DATE")
}

/// The values of a page. A value that cannot be read is left out and named; the others stand.
///
/// # Errors
/// [`ReadError::Empty`]; [`ReadError::Header`] where the page has no `BEGIN DATA` or no line of columns, as a page of HTML has
/// none; [`ReadError::Kind`] where it stops before `END DATA`.
pub fn read_values(bytes: &[u8]) -> Result<Page, ReadError> {
    let text = String::from_utf8_lossy(bytes);
    if text.trim().is_empty() {
        return Err(ReadError::Empty {
            wanted: "a page of Hydromet",
        });
    }
    let header = |found: &str, wanted: &str| ReadError::Header {
        found: beginning(found.as_bytes()),
        wanted: wanted.to_owned(),
    };
    let mut lines = text
        .lines()
        .map(str::trim)
        .zip(1u64..)
        .skip_while(|(line, _)| *line != BEGIN)
        .skip(1);
    let Some((names, _)) = lines.find(|(line, _)| !line.is_empty()) else {
        return Err(header(
            text.trim(),
            "the line BEGIN DATA and below it the names of the columns",
        ));
    };
    let columns = columns(names)
        .ok_or_else(|| header(names, "columns DATE TIME, then station and parameter of each"))?;
    let mut page = Page::default();
    for (line, number) in lines {
        if line == END {
            return Ok(page);
        }
        if !line.is_empty() {
            read_line(&mut page, &columns, line, number);
        }
    }
    Err(ReadError::Kind {
        found: format!(
            "a page that stops after {} values, without {END}",
            page.cells.len()
        ),
        wanted: "it whole; ask again".to_owned(),
    })
}

/// Station and parameter of each column after the first.
fn columns(names: &str) -> Option<Vec<(String, String)>> {
    let mut parts = names.split(',');
    let first: Vec<&str> = parts.next()?.split_whitespace().collect();
    if first != ["DATE", "TIME"] {
        return None;
    }
    let column = |text: &str| match text.split_whitespace().collect::<Vec<_>>().as_slice() {
        [station, parameter] => Some(((*station).to_owned(), (*parameter).to_owned())),
        _ => None,
    };
    let columns: Option<Vec<_>> = parts.map(column).collect();
    columns.filter(|columns| !columns.is_empty())
}

fn read_line(page: &mut Page, columns: &[(String, String)], line: &str, number: u64) {
    let fault = |found: String, wanted| RowFault {
        place: format!("line {number}"),
        found,
        wanted,
    };
    let mut fields = line.split(',').map(str::trim);
    let stamp = fields.next().unwrap_or_default();
    let Some(civil) = read_civil(stamp, &[FORM]) else {
        let found = format!("\"{}\"", beginning(stamp.as_bytes()));
        page.faults.push(fault(found, "a time such as 05/02/2017 03:30"));
        return;
    };
    let values: Vec<&str> = fields.collect();
    if values.len() != columns.len() {
        page.faults.push(fault(
            format!("{} values", values.len()),
            "as many as the line of columns has",
        ));
        return;
    }
    for ((station, parameter), text) in columns.iter().zip(values) {
        let (value, word) = match Figure::from_text(text) {
            Figure::Word(word) if word == NO_RECORD => (None, Some(word)),
            Figure::Number(number) if number == SENTINEL => (None, Some(text.to_owned())),
            Figure::Number(number) => (Some(number), None),
            Figure::Nothing => (None, None),
            Figure::Word(word) => {
                let found = format!("\"{word}\" as {station} {parameter}");
                page.faults.push(fault(found, "a number, or a word for none"));
                continue;
            }
        };
        page.cells.push(Cell {
            line: number,
            civil,
            station: station.clone(),
            parameter: parameter.clone(),
            value,
            word,
        });
    }
}

/// The values of a series as rows, with the zone that the lake file declares, and what has no instant in it. Of an hour that
/// occurs twice the order of the lines decides; one that clocks skip has none.
pub fn to_rows(page: &Page, want: &Want, zone: StampZone) -> (Vec<Row>, Vec<RowFault>) {
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    let mut last: Option<DateTime<Utc>> = None;
    let same = |a: &str, b: &str| a.trim().eq_ignore_ascii_case(b.trim());
    let own = |cell: &&Cell| {
        same(&cell.station, &want.series.station) && same(&cell.parameter, &want.series.parameter)
    };
    for cell in page.cells.iter().filter(own) {
        let Some(instant) = zone.instant(cell.civil, last.map(|last| last + Duration::seconds(1))) else {
            faults.push(RowFault {
                place: format!("line {}", cell.line),
                found: cell.civil.format(FORM).to_string(),
                wanted: "a time that exists: clocks skip this hour on that day",
            });
            continue;
        };
        last = Some(instant);
        rows.push(Row {
            station: want.series.station.clone(),
            parameter: want.series.parameter.clone(),
            statistic: None,
            series_id: String::new(),
            stamp: Stamp::Instant(instant),
            value: cell.value,
            unit: code(&cell.parameter).map_or(String::new(), |code| code.unit.to_owned()),
            approval: Approval::Provisional,
            qualifier: cell.word.clone(),
            last_modified: None,
        });
    }
    (rows, faults)
}

/// The records of a saved page. Its times stand as they are, since the page does not say their zone.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let page = read_values(bytes)?;
    let record = |cell: &Cell| {
        let known = code(&cell.parameter);
        SavedRecord {
            time: cell.civil.format("%Y-%m-%dT%H:%M:%S").to_string(),
            approval: Approval::Provisional,
            qualifier: cell.word.clone().unwrap_or_default(),
            note: "time of the service's own zone, which it does not state".to_owned(),
            ..SavedRecord::of(&cell.station, &cell.parameter).with_value(
                cell.value,
                known.map_or("", |code| code.unit),
                known.and_then(|code| code.quantities.first().copied()),
                Cadence::Continuous,
            )
        }
    };
    Ok(Saved {
        service: super::NAME,
        kind: "values by the quarter of an hour".to_owned(),
        records: page.cells.iter().map(record).collect(),
        faults: page.faults,
    })
}
