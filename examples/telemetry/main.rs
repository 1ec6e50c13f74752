//! Where tagged rainbow trout were in a lake with arms, month by month, beside what the rules say of a lake of that shape.
//!
//!     cargo run --release --example telemetry -- DATA                 tables
//!     cargo run --release --example telemetry -- DATA --json          the same for programs
//!     cargo run --release --example telemetry -- DATA --from 2012-01-01 --until 2014-03-31
//!     cargo run --release --example telemetry -- DATA --resamples 1000
//!
//! DATA holds the recorded data, which are not in the repository: the folder with the tables of Kootenay Lake (Thorley & Andrusak 2017,
//! PeerJ 5:e2874, CC BY 4.0), or one with these in `fish/kootenay-trout`. `--from` and `--until` count days of a span alone; the
//! steps of the hidden states are fitted up to its end. Shares are of main lake, arms and rivers, in per cent; intervals are of 80 %:
//! over fish (resampled whole), or over the rules' draws.

#[path = "../../tests/validation/telemetry/areas.rs"]
mod areas;
#[path = "../../tests/validation/telemetry/estimates.rs"]
mod estimates;
#[path = "../../tests/validation/telemetry/record.rs"]
mod record;
mod report;
#[path = "../../tests/validation/telemetry/rules.rs"]
#[allow(dead_code, reason = "shared with a test, which looks at its parts")]
mod rules;
mod table;
#[path = "../../tests/validation/telemetry/tracks.rs"]
mod tracks;

use std::path::PathBuf;
use std::process::ExitCode;

use chrono::NaiveDate;

type Fault = Box<dyn std::error::Error>;

/// Resamples of the fish.
const RESAMPLES: usize = 400;

/// What was asked for.
struct Asked {
    data: PathBuf,
    json: bool,
    from: Option<NaiveDate>,
    until: Option<NaiveDate>,
    resamples: usize,
}

fn main() -> ExitCode {
    let Some(asked) = asked(std::env::args().skip(1)) else {
        eprintln!(
            "usage: telemetry DATA [--json] [--from YYYY-MM-DD] [--until YYYY-MM-DD] [--resamples N, 100 or more]"
        );
        return ExitCode::from(2);
    };
    match run(&asked) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("telemetry: {fault}");
            ExitCode::FAILURE
        }
    }
}

fn asked(mut words: impl Iterator<Item = String>) -> Option<Asked> {
    let mut asked = Asked {
        data: PathBuf::new(),
        json: false,
        from: None,
        until: None,
        resamples: RESAMPLES,
    };
    while let Some(word) = words.next() {
        match word.as_str() {
            "--json" => asked.json = true,
            "--from" => asked.from = Some(words.next()?.parse().ok()?),
            "--until" => asked.until = Some(words.next()?.parse().ok()?),
            "--resamples" => asked.resamples = words.next()?.parse().ok().filter(|n| *n >= 100)?,
            folder if asked.data.as_os_str().is_empty() && !folder.starts_with("--") => {
                asked.data = PathBuf::from(folder);
            }
            _ => return None,
        }
    }
    (!asked.data.as_os_str().is_empty()).then_some(asked)
}

fn run(asked: &Asked) -> Result<(), Fault> {
    let within = asked.data.join("fish/kootenay-trout");
    let folder = if within.is_dir() { &within } else { &asked.data };
    let record = record::read_record(folder)?;
    let report = report::report(&record, (asked.from, asked.until), asked.resamples)?;
    if asked.json {
        println!("{}", serde_json::to_string_pretty(&report)?);
    } else {
        print!("{}", table::text(&report));
    }
    Ok(())
}
