//! How accurate the modelled water is: runs the model over every lake file of a folder, without fitting and fitted, and
//! prints its error beside that of climatology.
//!
//!     cargo run --release --example accuracy -- DATA LAKES [--json]
//!
//! DATA is a folder of recorded lakes, LAKES one of lake files that name series in it. The table has a row for each lake
//! and figure (RMSE, degC); `--json` prints `{lake: {figure: {unfitted, fitted, climatology, n}}}` instead.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use comfy_table::{Table, presets};
use plungeline::faces::text::hindcast::figure_words;
use plungeline::hindcast::figures::Figure;
use plungeline::hindcast::report::Reference;
use plungeline::hindcast::{Compared, HindcastReport, judge_hindcast, load_hindcast};
use plungeline::lake::read_lake_file;
use plungeline::sources::service_rules;
use serde::Serialize;

/// One figure of one lake, degC.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
struct Row {
    unfitted: Option<f64>,
    fitted: Option<f64>,
    climatology: Option<f64>,
    n: usize,
}

type Rows = BTreeMap<String, BTreeMap<&'static str, Row>>;

fn main() -> ExitCode {
    let mut folders: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let given = folders.len();
    folders.retain(|f| f != Path::new("--json"));
    let json = folders.len() < given;
    let [data, lakes] = &folders[..] else {
        eprintln!("usage: accuracy DATA LAKES [--json]");
        return ExitCode::from(2);
    };
    let (rows, failed) = match lake_files(lakes) {
        Ok(files) => all_lakes(data, &files),
        Err(error) => {
            eprintln!("cannot list lake files in {}: {error}", lakes.display());
            return ExitCode::FAILURE;
        }
    };
    match json {
        true => match serde_json::to_string_pretty(&rows) {
            Ok(text) => println!("{text}"),
            Err(error) => {
                eprintln!("cannot write the figures as JSON: {error}");
                return ExitCode::FAILURE;
            }
        },
        false => println!("{}", table(&rows)),
    }
    ExitCode::from(u8::from(failed > 0))
}

/// Reads the lake file and its series under `data`, runs the model over them, with factors fitted to the observations of other
/// years where `fitted`, and compares. A lake with profiles of one year has nothing to be fitted on but itself, and is not.
fn run_lake(lake_file: &Path, data: &Path, fitted: bool) -> Result<Option<HindcastReport>, String> {
    let lake = read_lake_file(lake_file, &service_rules()).map_err(|error| error.to_string())?;
    let input = load_hindcast(lake, data).map_err(|error| error.to_string())?;
    let judged = judge_hindcast(&input, fitted).map_err(|error| error.to_string())?;
    let held_out = judged.fitted.as_ref().is_none_or(|fit| !fit.blocks.is_empty());
    Ok(held_out.then_some(judged.hindcast.report))
}

/// Lake files of a folder, by name.
fn lake_files(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    Ok(files)
}

/// Rows of every lake that could be run, and how many runs failed; each failure is told on standard error.
fn all_lakes(data: &Path, files: &[PathBuf]) -> (Rows, usize) {
    let (mut rows, mut failed) = (Rows::new(), 0);
    for file in files {
        for fitted in [false, true] {
            match run_lake(file, data, fitted) {
                Ok(Some(report)) => add(&mut rows, &report, fitted),
                Ok(None) => {}
                Err(error) => {
                    eprintln!("{error}");
                    failed += 1;
                }
            }
        }
    }
    (rows, failed)
}

fn add(rows: &mut Rows, report: &HindcastReport, fitted: bool) {
    let lake = rows.entry(report.lake.clone()).or_default();
    for figure in Figure::ALL {
        let Some(found) = report.row(Compared::Temperature, figure) else {
            continue;
        };
        let Some(model) = found.model else { continue };
        let climatology = found
            .references
            .iter()
            .find(|r| r.reference == Reference::Climatology);
        let row = lake.entry(figure.key()).or_default();
        match fitted {
            true => row.fitted = Some(model.rmse),
            false => row.unfitted = Some(model.rmse),
        }
        row.climatology = climatology.and_then(|c| c.figures).map(|f| f.rmse);
        row.n = model.n;
    }
}

fn table(rows: &Rows) -> Table {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_header([
        "lake",
        "figure",
        "unfitted",
        "fitted",
        "climatology",
        "n",
    ]);
    let number = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| format!("{v:.2}"));
    for (lake, figures) in rows {
        for figure in Figure::ALL {
            if let Some(row) = figures.get(figure.key()) {
                table.add_row([
                    lake.clone(),
                    figure_words(figure).to_owned(),
                    number(row.unfitted),
                    number(row.fitted),
                    number(row.climatology),
                    row.n.to_string(),
                ]);
            }
        }
    }
    table
}
