//! Writes the invented log of the demonstration, `fixtures/trips/season.csv`:
//!
//!     cargo run --example generate_season

#[path = "../tests/properties/learning/angler.rs"]
#[allow(dead_code, reason = "the tests use what this example does not")]
mod angler;
#[path = "../tests/properties/learning/season.rs"]
mod season;

use std::path::Path;
use std::process::ExitCode;

use plungeline::trips::forms::trips_csv;

fn main() -> ExitCode {
    let trips = season::season();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/trips/season.csv");
    match std::fs::write(&path, trips_csv(&trips)) {
        Ok(()) => {
            let days = season::days(&trips).map_or(String::new(), |(a, b)| format!(", {a} to {b}"));
            println!("{} trips{days}", trips.len());
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("generate_season: cannot write {}: {error}", path.display());
            ExitCode::FAILURE
        }
    }
}
