//! Makes the invented data of the demonstration lake, Harrow Gap Reservoir.
//!
//! ```text
//! cargo run --features generator --example generate_harrow_gap -- fixtures/demo          writes them
//! cargo run --features generator --example generate_harrow_gap -- --check fixtures/demo  compares
//! cargo run --features generator --example generate_harrow_gap -- --tables               prints the truth
//! ```
//!
//! The same bytes come out on every x86-64 Linux machine: seeded streams of ChaCha, elementary functions in
//! plain Rust, sums in a fixed order, a compressor that does not look at the processor. What is simulated,
//! with which constants, and which faults are put in: docs/demonstration-lake.md. The constants are fixed;
//! changing one so that some check of the program passes is a defect.

mod basin;
mod body;
mod bowl;
mod dice;
mod fluxes;
mod folder_check;
mod forecast;
mod hours;
mod mornings;
mod operation;
mod publish;
mod reanalysis;
mod rivers;
mod script;
mod storms;
mod sun;
mod tables;
#[cfg(test)]
mod tests;
mod truth;
mod weather;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use bowl::Bowl;
use truth::Truth;

/// Largest residual of a day's water balance that counts as rounding: 1e-10 of a storage of 5e8 m3.
const LARGEST_RESIDUAL_M3: f64 = 0.05;

enum Task {
    Write(PathBuf),
    Check(PathBuf),
    Tables,
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let task = match arguments.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["--tables"] => Task::Tables,
        ["--check", folder] => Task::Check(folder.into()),
        [folder] if !folder.starts_with('-') => Task::Write(folder.into()),
        _ => {
            eprintln!("usage: generate_harrow_gap FOLDER | --check FOLDER | --tables");
            return ExitCode::from(2);
        }
    };
    let lake_file = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let bowl = match Bowl::read(&lake_file) {
        Ok(bowl) => bowl,
        Err(error) => {
            eprintln!(
                "{error}: {}",
                std::error::Error::source(&error)
                    .map(ToString::to_string)
                    .unwrap_or_default()
            );
            return ExitCode::FAILURE;
        }
    };
    let truth = Truth::make(&bowl);
    let balance = truth.balance(&bowl);
    eprintln!(
        "water balance: worst day {:.1e} m3, all days {:.1e} m3 of {:.3e} m3 that came in",
        balance.worst_day_m3, balance.all_days_m3, balance.inflow_m3
    );
    if balance.worst_day_m3 > LARGEST_RESIDUAL_M3 {
        eprintln!("the water balance does not close: more than {LARGEST_RESIDUAL_M3} m3 in a day");
        return ExitCode::FAILURE;
    }
    let done = match task {
        Task::Tables => {
            print!("{}", tables::tables(&truth, &bowl));
            return ExitCode::SUCCESS;
        }
        Task::Write(folder) => folder_check::write(&folder, &publish::all_files(&truth)),
        Task::Check(folder) => folder_check::check(&folder, &publish::all_files(&truth)),
    };
    match done {
        Ok(report) => {
            eprintln!("{report}");
            ExitCode::SUCCESS
        }
        Err(report) => {
            eprintln!("{report}");
            ExitCode::FAILURE
        }
    }
}
