//! `plungeline read`: the records in a saved reply of a service, or what is wrong in it.

use std::fmt::Write;
use std::path::PathBuf;

use crate::sources::{Saved, SavedRecord, SourceError, read_saved};

/// What to read, and how to show it.
#[derive(Debug, clap::Args)]
pub struct ReadArgs {
    /// File with the reply as the service sent it, plain or gzip.
    pub file: PathBuf,
    /// Service that sent it; without it, the one whose replies look so.
    #[arg(long, value_name = "NAME")]
    pub service: Option<String>,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub format: ReadFormat,
}

/// Form of the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum ReadFormat {
    /// One line a record.
    Text,
    /// One JSON object.
    Json,
}

/// The records of the file, ready to print.
///
/// # Errors
/// [`SourceError`]: the file cannot be opened, or holds no reply of the service.
pub fn read(args: &ReadArgs) -> Result<String, SourceError> {
    let bytes = std::fs::read(&args.file).map_err(|source| SourceError::File {
        path: args.file.clone(),
        source,
    })?;
    let saved = read_saved(args.service.as_deref(), &bytes, &args.file.display().to_string())?;
    Ok(match args.format {
        ReadFormat::Text => as_text(&saved),
        ReadFormat::Json => {
            let mut json =
                serde_json::to_string_pretty(&saved).expect("texts and numbers always become JSON");
            json.push('\n');
            json
        }
    })
}

/// Records in aligned columns, then what was left out.
fn as_text(saved: &Saved) -> String {
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
        .filter(|record| record.value.is_none())
        .count();
    let records = count(saved.records.len(), "record", "records");
    // Writing to a text does not fail.
    let _ = writeln!(text, "{} of {} ({})", records, saved.service, saved.kind);
    if saved.kind != "stations" && missing > 0 {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(file: &str, format: ReadFormat) -> Result<String, SourceError> {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures");
        read(&ReadArgs {
            file: folder.join(file),
            service: None,
            format,
        })
    }

    #[test]
    fn a_saved_reply_is_shown_a_line_a_record_with_its_gaps() {
        let text = shown(
            "replies/usgs-ogc/continuous-990000030-00060-page2.json",
            ReadFormat::Text,
        )
        .unwrap();
        let wanted = "\
USGS-990000030  2025-10-09T11:00:00Z  00060  415 ft^3/s  inflow_m3s 11.751491  provisional
USGS-990000030  2025-10-09T10:45:00Z  00060    no value                        provisional, P, Ice, Ice
USGS-990000030  2025-10-09T11:45:00Z  00060  433 ft^3/s  inflow_m3s 12.261195  provisional
3 records of usgs-ogc (observations)
1 of them without a value
";
        assert_eq!(text, wanted);
    }

    #[test]
    fn rows_left_out_are_listed_with_their_lines() {
        let text = shown("damaged/reply-csv-rows.csv", ReadFormat::Text).unwrap();
        assert!(
            text.contains("3 rows left out:\n  line 3: found \"10 October\", wanted a day"),
            "{text}"
        );
    }

    #[test]
    fn json_holds_the_same_records() {
        let json = shown("replies/open-meteo/ensemble-harrow-gap.json", ReadFormat::Json).unwrap();
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(value["records"].as_array().map(Vec::len), Some(36));
        assert_eq!(value["records"][0]["quantity"], "air_temp");
    }

    #[test]
    fn a_file_that_is_no_reply_or_not_there_is_refused() {
        for (file, words) in [
            ("damaged/reply-page.html", "an HTML page"),
            ("damaged/nothing", "cannot open"),
        ] {
            let message = shown(file, ReadFormat::Text).unwrap_err().to_string();
            assert!(message.contains(words), "{message}");
        }
    }
}
