//! `plungeline read`: the records in a saved reply of a service, or what is wrong in it.

use std::path::PathBuf;

use super::output;
use crate::error::{Error, Status};
use crate::faces::saved::{render_left_out, render_saved, render_saved_csv};
use crate::sources::{SERVICES, Saved, Settings, SourceError, read_file, read_saved, read_standard_input};

/// What to read, and how to show it.
///
/// Rows that had to be left out are told on standard error (in JSON: under `faults`), and the status is 1.
#[derive(Debug, clap::Args)]
#[command(allow_missing_positional = true)]
pub struct ReadArgs {
    /// Service that sent it; without it, the one whose replies look so
    #[arg(value_parser = service_names())]
    pub service: Option<String>,
    /// File with the reply as the service sent it, plain or gzip; - for standard input
    pub file: PathBuf,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = ReadFormat::Csv)]
    pub format: ReadFormat,
}

/// Form of the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum ReadFormat {
    /// One line a record, with a header
    Csv,
    /// One JSON object
    Json,
    /// For people: one line a record, in aligned columns
    Text,
}

fn service_names() -> clap::builder::PossibleValuesParser {
    SERVICES
        .iter()
        .map(|service| service.name)
        .collect::<Vec<_>>()
        .into()
}

/// The command. Rows that had to be left out make the status 1.
///
/// # Errors
/// The file cannot be opened, or holds no reply of the service.
pub fn run(args: &ReadArgs) -> Result<Status, Error> {
    let saved = saved_of(args)?;
    output::print(&shown(&saved, args.format))?;
    if args.format == ReadFormat::Csv && !saved.faults.is_empty() {
        output::remark(render_left_out(&saved).trim_end());
    }
    Ok(if saved.faults.is_empty() {
        Status::Good
    } else {
        Status::Failed
    })
}

/// The records of the file.
///
/// # Errors
/// [`SourceError`]: the file cannot be opened, is longer than any reply may be, or holds no reply of the service.
fn saved_of(args: &ReadArgs) -> Result<Saved, SourceError> {
    let cap_bytes = Settings::default().reply_cap_bytes;
    let (bytes, origin) = if args.file.as_os_str() == "-" {
        (read_standard_input(cap_bytes)?, "standard input".to_owned())
    } else {
        (read_file(&args.file, cap_bytes)?, args.file.display().to_string())
    };
    read_saved(args.service.as_deref(), &bytes, &origin)
}

fn shown(saved: &Saved, format: ReadFormat) -> String {
    match format {
        ReadFormat::Csv => render_saved_csv(saved),
        ReadFormat::Text => render_saved(saved),
        ReadFormat::Json => {
            let mut json = serde_json::to_string_pretty(saved).expect("texts and numbers always become JSON");
            json.push('\n');
            json
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text_of(file: &str, format: ReadFormat) -> Result<String, SourceError> {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures");
        let saved = saved_of(&ReadArgs {
            file: folder.join(file),
            service: None,
            format,
        })?;
        Ok(shown(&saved, format))
    }

    #[test]
    fn a_saved_reply_is_shown_a_line_a_record_with_its_gaps() {
        let text = text_of(
            "replies/usgs-ogc/continuous-990000030-00060-page2.json",
            ReadFormat::Text,
        )
        .unwrap();
        let wanted = "\
USGS-990000030  2025-10-09T11:00:00Z  00060  415 ft^3/s  inflow_m3s 11.751491  provisional, statistic 00011
USGS-990000030  2025-10-09T10:45:00Z  00060    no value                        provisional, P, Ice, Ice, statistic 00011
USGS-990000030  2025-10-09T11:45:00Z  00060  433 ft^3/s  inflow_m3s 12.261195  provisional, statistic 00011
3 records of usgs-ogc (observations)
1 of them without a value
";
        assert_eq!(text, wanted);
    }

    #[test]
    fn rows_left_out_are_listed_with_their_lines() {
        let text = text_of("damaged/reply-csv-rows.csv", ReadFormat::Text).unwrap();
        assert!(
            text.contains("3 rows left out:\n  line 3: found \"10 October\", wanted a day"),
            "{text}"
        );
    }

    #[test]
    fn replies_of_the_weather_service_are_known_by_what_they_hold() {
        let of = |file: &str| text_of(&format!("replies/nws/{file}.json"), ReadFormat::Text).unwrap();
        let holds = |file: &str, words: &[&str]| {
            let text = of(file);
            for word in words {
                assert!(text.contains(word), "{word:?} is not in\n{text}");
            }
            assert!(
                !text.contains("without a value") || text.contains("no value"),
                "{text}"
            );
        };
        holds(
            "point-harrow-gap",
            &[
                "XHG/40,71",
                "time zone America/Los_Angeles",
                "1 record of nws (grid cell of a position)",
            ],
        );
        holds(
            "stations-harrow-gap",
            &["XHGA", "Harrow Gap Airstrip", "2 records of nws (stations)"],
        );
        // 3.5 degC at 10:00 and again at 11:00, from one merged interval.
        holds(
            "grid-harrow-gap",
            &[
                "2025-10-09T11:00:00Z  temperature",
                "thunder_prob 0.25",
                "issued 2025-10-09T09:42:10Z",
                "(raw grid)",
            ],
        );
        holds(
            "observations-xhga",
            &[
                "quality X",
                "wind_speed_m_s 3",
                "no value",
                "8 records of nws (observations)",
            ],
        );
        holds(
            "alerts-harrow-gap",
            &[
                "2025-10-09T17:00:00Z",
                "Lake Wind Advisory, Moderate, NWS Harrow Gap (invented), to 2025-10-10T03:00:00Z",
                "1 record of nws (alerts)",
            ],
        );
        holds("alerts-none", &["0 records of nws (alerts)"]);
        let problem = text_of("replies/nws/problem-invalid-point.json", ReadFormat::Text).unwrap_err();
        assert!(problem.to_string().contains("(InvalidPoint)"), "{problem}");
    }

    #[test]
    fn a_table_for_programs_has_every_figure_flag_and_qualifier() {
        let csv = text_of(
            "replies/usgs-ogc/continuous-990000030-00060-page2.json",
            ReadFormat::Csv,
        )
        .unwrap();
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let header = reader.headers().unwrap().clone();
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let cell = |row: usize, name: &str| {
            let place = header.iter().position(|n| n == name).unwrap();
            rows[row][place].to_owned()
        };
        assert_eq!(rows.len(), 3);
        assert_eq!(cell(0, "time_utc"), "2025-10-09T11:00:00Z");
        assert_eq!(cell(0, "value"), "415");
        assert_eq!(cell(0, "unit"), "ft^3/s");
        // 415 x 0.028316846592, the cubic foot of NIST SP 811.
        assert!((cell(0, "value_si").parse::<f64>().unwrap() - 11.751_491_335_68).abs() < 1e-9);
        assert_eq!(cell(0, "unit_si"), "m3/s");
        assert_eq!(cell(0, "flag"), "not_evaluated");
        assert_eq!(cell(0, "approval"), "provisional");
        assert_eq!(
            [cell(1, "value"), cell(1, "flag"), cell(1, "qualifier")],
            ["", "missing", "P, Ice, Ice"]
        );
    }

    #[test]
    fn json_holds_the_same_records() {
        let json = text_of("replies/open-meteo/ensemble-harrow-gap.json", ReadFormat::Json).unwrap();
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
            let message = text_of(file, ReadFormat::Text).unwrap_err().to_string();
            assert!(message.contains(words), "{message}");
        }
    }
}
