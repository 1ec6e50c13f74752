//! The records of a saved reply of a service, in aligned columns.

use std::fmt::Write;

use crate::sources::{Saved, SavedRecord};

/// Records in aligned columns, then what was left out.
pub fn render_saved(saved: &Saved) -> String {
    let rows: Vec<[String; 6]> = saved.records.iter().map(columns).collect();
    let width = |k: usize| rows.iter().map(|row| row[k].chars().count()).max().unwrap_or(0);
    let widths: [usize; 6] = std::array::from_fn(width);
    let mut text = String::new();
    for row in &rows {
        let mut line = String::new();
        for (k, cell) in row.iter().enumerate().filter(|(k, _)| widths[*k] > 0) {
            let pad = " ".repeat(widths[k] - cell.chars().count());
            let is_number = k == 3;
            let (before, after) = if is_number {
                (pad.as_str(), "")
            } else {
                ("", pad.as_str())
            };
            line.extend([before, cell, after, "  "]);
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    let count = |n: usize, one: &str, many: &str| {
        if n == 1 {
            format!("1 {one}")
        } else {
            format!("{n} {many}")
        }
    };
    let missing = saved
        .records
        .iter()
        .filter(|record| record.value.is_none() && !record.parameter.is_empty())
        .count();
    let records = count(saved.records.len(), "record", "records");
    // Writing to a text does not fail.
    let _ = writeln!(text, "{} of {} ({})", records, saved.service, saved.kind);
    if missing > 0 {
        let _ = writeln!(text, "{missing} of them without a value");
    }
    if !saved.faults.is_empty() {
        let _ = writeln!(text, "{} left out:", count(saved.faults.len(), "row", "rows"));
        for fault in &saved.faults {
            let _ = writeln!(text, "  {fault}");
        }
    }
    text
}

/// Station, time, parameter with member, value with unit, value in SI, note.
fn columns(record: &SavedRecord) -> [String; 6] {
    let member = record
        .member
        .map(|member| format!(" member {member}"))
        .unwrap_or_default();
    let value = match record.value {
        Some(value) => format!("{value} {}", record.unit),
        None if record.parameter.is_empty() => String::new(),
        None => "no value".to_owned(),
    };
    let in_si = record.quantity.zip(record.value_si);
    [
        record.station.clone(),
        record.time.clone(),
        format!("{}{member}", record.parameter),
        value.trim_end().to_owned(),
        in_si
            .map(|(quantity, si)| format!("{} {si:.6}", quantity.column()))
            .unwrap_or_default(),
        record.note.clone(),
    ]
}
