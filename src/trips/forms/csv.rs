//! Trips as CSV: one table of rows.
//!
//! A text that begins with `=`, `+`, `-`, `@`, a tab or a line break is a formula to a spreadsheet, which runs it on opening.
//! Such a text is written with an apostrophe before it, and so is one that begins with an apostrophe; reading takes
//! one apostrophe off again, so that every text comes back as it was.

use crate::trips::error::TripFault;
use crate::trips::model::Trip;
use crate::trips::rows::{COLUMNS, Holds, Placed, Row, rows_of, trips_of};

/// What a spreadsheet takes for the beginning of a formula, and the sign that is put before it.
const FORMULAS: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];
const SIGN: char = '\'';
/// Columns that are not there: so many are named.
const ABSENT_NAMED: usize = 3;

/// A text as it may stand in a cell.
fn guarded(text: &str) -> String {
    match text.chars().next() {
        Some(first) if first == SIGN || first == '\n' || FORMULAS.contains(&first) => format!("{SIGN}{text}"),
        _ => text.to_owned(),
    }
}

/// The text of a cell.
fn unguarded(cell: &str) -> &str {
    cell.strip_prefix(SIGN).unwrap_or(cell)
}

/// Trips as CSV.
pub fn trips_csv(trips: &[Trip]) -> String {
    let mut out = String::new();
    let header: Vec<String> = COLUMNS.iter().map(|(name, _)| (*name).to_owned()).collect();
    put_line(&mut out, &header);
    for row in rows_of(trips) {
        let cells: Vec<String> = row
            .iter()
            .zip(COLUMNS)
            .map(|(cell, (_, holds))| match (cell, holds) {
                (None, _) => String::new(),
                (Some(text), Holds::Text) => guarded(text),
                (Some(number), Holds::Number) => number.clone(),
            })
            .collect();
        put_line(&mut out, &cells);
    }
    out
}

/// A line of cells, quoted where they need it.
fn put_line(out: &mut String, cells: &[String]) {
    for (i, cell) in cells.iter().enumerate() {
        if i > 0 {
            out.push(',');
        }
        if cell.contains([',', '"', '\n', '\r']) || cell.starts_with([' ', '\t']) {
            out.push('"');
            out.push_str(&cell.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(cell);
        }
    }
    out.push('\n');
}

/// The trips of a table that [`trips_csv`] wrote; columns may stand in any order.
///
/// # Errors
/// Every fault, with its line.
pub fn read_trips_csv(bytes: &[u8]) -> Result<Vec<Placed>, Vec<TripFault>> {
    let plain = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut reader = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .from_reader(plain);
    let mut records = reader.byte_records();
    let header = match records.next() {
        Some(Ok(header)) => header,
        _ => return Err(vec![no_header("an empty file")]),
    };
    let names: Vec<String> = header
        .iter()
        .map(|n| String::from_utf8_lossy(n).trim().to_owned())
        .collect();
    let absent: Vec<&str> = COLUMNS
        .iter()
        .map(|(name, _)| *name)
        .filter(|name| !names.iter().any(|n| n == name))
        .collect();
    if !absent.is_empty() {
        let first: Vec<&str> = absent.iter().take(ABSENT_NAMED).copied().collect();
        let more = absent.len() - first.len();
        let more = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        return Err(vec![no_header(&format!("no column {}{more}", first.join(", ")))]);
    }
    let places: Vec<Option<usize>> = names
        .iter()
        .map(|name| COLUMNS.iter().position(|(column, _)| column == name))
        .collect();
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    for record in records {
        match record {
            Ok(record) => {
                let line = record.position().map_or(0, ::csv::Position::line);
                match row_of(&record, &places) {
                    Ok(row) => rows.push((format!("line {line}"), row)),
                    Err((found, wanted, mend)) => {
                        faults.push(TripFault::new(format!("line {line}"), found, wanted, mend));
                    }
                }
            }
            Err(error) => {
                faults.push(TripFault::new(
                    "the table",
                    error.to_string(),
                    "CSV",
                    "export it again",
                ));
                break;
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    trips_of(&rows)
}

fn no_header(found: &str) -> TripFault {
    TripFault::new(
        "line 1",
        found,
        "the header of an exported trip log",
        "for a table of your own give its columns with --map (docs/trip-log.md)",
    )
}

type Refused = (String, &'static str, &'static str);

fn row_of(record: &::csv::ByteRecord, places: &[Option<usize>]) -> Result<Row, Refused> {
    if record.len() != places.len() {
        let found = format!("{} cells", record.len());
        return Err((
            found,
            "as many as the header has",
            "the file is cut short or altered: export it again",
        ));
    }
    let mut row: Row = std::array::from_fn(|_| None);
    for (cell, place) in record.iter().zip(places) {
        let Some(place) = place else { continue };
        let text = std::str::from_utf8(cell).map_err(|_| {
            (
                "bytes that are no UTF-8".to_owned(),
                "text",
                "save the table as UTF-8",
            )
        })?;
        let text = match COLUMNS[*place].1 {
            Holds::Text => unguarded(text),
            Holds::Number => text.trim(),
        };
        row[*place] = (!text.is_empty()).then(|| text.to_owned());
    }
    Ok(row)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_that_a_spreadsheet_would_run_is_guarded_and_comes_back() {
        for text in [
            "=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "'quoted", "plain", "\n=1",
        ] {
            let cell = guarded(text);
            assert!(!cell.starts_with(FORMULAS), "{cell:?}");
            assert_eq!(unguarded(&cell), text);
        }
    }
}
