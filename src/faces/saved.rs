//! The records of a saved reply of a service: in aligned columns, or as a table for programs.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use crate::series::Flag;
use crate::sources::{Saved, SavedRecord};

/// Header of the table for programs.
const HEADER: [&str; 14] = [
    "time_utc",
    "series",
    "station",
    "parameter",
    "member",
    "value",
    "unit",
    "quantity",
    "value_si",
    "unit_si",
    "flag",
    "approval",
    "qualifier",
    "note",
];

/// The records as CSV (RFC 4180, but with bare line feeds): one header line, one line a record, an empty field
/// where there is nothing. Figures have all their digits. A day without an instant stands as a day.
pub fn render_saved_csv(saved: &Saved) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory does not fail, and every line has as many fields as the header.
    let _ = writer.write_record(HEADER);
    for record in &saved.records {
        let figure = |value: Option<f64>| value.map_or(String::new(), |value| value.to_string());
        let quantity = record.quantity;
        let fields: [String; HEADER.len()] = [
            record.time.clone(),
            record.series.clone(),
            record.station.clone(),
            record.parameter.clone(),
            record.member.map_or(String::new(), |member| member.to_string()),
            figure(record.value),
            record.unit.clone(),
            quantity.map_or(String::new(), |q| q.word().to_owned()),
            figure(record.value_si),
            quantity.map_or(String::new(), |q| q.si_unit().to_owned()),
            record.flag.word().to_owned(),
            record.approval.word().to_owned(),
            record.qualifier.clone(),
            record.note.clone(),
        ];
        let _ = writer.write_record(&fields);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// What could not be read of a reply, a line each; empty where all was.
pub fn render_left_out(saved: &Saved) -> String {
    let mut text = String::new();
    if !saved.faults.is_empty() {
        // Writing to a text does not fail.
        let _ = writeln!(text, "{} left out:", count(saved.faults.len(), "row", "rows"));
        for fault in &saved.faults {
            let _ = writeln!(text, "  {fault}");
        }
    }
    text
}

fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{n} {many}")
    }
}

/// Records in aligned columns, then what was left out.
pub fn render_saved(saved: &Saved) -> String {
    let sensors = several_sensors(saved);
    let rows: Vec<[String; 6]> = saved
        .records
        .iter()
        .map(|record| columns(record, &sensors))
        .collect();
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
    text.push_str(&render_left_out(saved));
    text
}

/// Stations with a parameter that several time series of them have.
fn several_sensors(saved: &Saved) -> BTreeSet<(&str, &str)> {
    let mut first: BTreeMap<(&str, &str), &str> = BTreeMap::new();
    let mut several = BTreeSet::new();
    for record in &saved.records {
        let of = (record.station.as_str(), record.parameter.as_str());
        if *first.entry(of).or_insert(&record.series) != record.series {
            several.insert(of);
        }
    }
    several
}

/// Station, time, parameter with member, value with unit, value in SI, and everything else.
fn columns(record: &SavedRecord, sensors: &BTreeSet<(&str, &str)>) -> [String; 6] {
    let has_several = sensors.contains(&(record.station.as_str(), record.parameter.as_str()));
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
        // A value that merely has not been judged says nothing.
        [
            if has_several { record.series.as_str() } else { "" },
            if matches!(record.flag, Flag::Fail | Flag::Suspect) {
                record.flag.word()
            } else {
                ""
            },
            record.approval.word(),
            &record.qualifier,
            &record.note,
        ]
        .into_iter()
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(", "),
    ]
}
