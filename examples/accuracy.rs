//! How accurate the modelled water is: runs the model over every lake file of a folder, without fitting and fitted, and
//! prints its error beside that of climatology.
//!
//!     cargo run --release --example accuracy -- DATA [LAKES] [--json]
//!
//! DATA is a folder of recorded lakes, or one with these in its folder `lakes`; LAKES one of lake files that name series in it,
//! `tests/validation/lakes` where it is left out. The table has a row for each lake and figure (RMSE, degC; of the turnover the
//! mean size of the error, days), and the median lake at its end; `--json` prints
//! `{lake: {figure: {unfitted, fitted, climatology, n}}}` instead, the median lake as `median` with the number of lakes.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use chrono::NaiveDate;
use comfy_table::{Table, presets};
use plungeline::faces::text::hindcast::figure_words;
use plungeline::hindcast::figures::Figure;
use plungeline::hindcast::report::Reference;
use plungeline::hindcast::turnover::{TurnoverReport, TurnoverYear};
use plungeline::hindcast::{Compared, HindcastReport, judge_hindcast, load_hindcast};
use plungeline::lake::read_lake_file;
use plungeline::math::quantiles::median;
use plungeline::sources::service_rules;
use serde::Serialize;

/// Key of the turnover among the figures.
const TURNOVER: &str = "turnover_days";
/// Name of the median lake.
const MEDIAN: &str = "median";

/// One figure of one lake, degC or days.
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
    let ours = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/validation/lakes");
    let (data, lakes) = match &folders[..] {
        [data] => (data, &ours),
        [data, lakes] => (data, lakes),
        _ => {
            eprintln!("usage: accuracy DATA [LAKES] [--json]");
            return ExitCode::from(2);
        }
    };
    let within = data.join("lakes");
    let data = if within.is_dir() { &within } else { data };
    let (mut rows, failed) = match lake_files(lakes) {
        Ok(files) => all_lakes(data, &files),
        Err(error) => {
            eprintln!("cannot list lake files in {}: {error}", lakes.display());
            return ExitCode::FAILURE;
        }
    };
    let middle = median_lake(&rows);
    rows.insert(MEDIAN.to_owned(), middle);
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
    if let Some(days) = report.turnover.mean_absolute_days {
        let row = lake.entry(TURNOVER).or_default();
        match fitted {
            true => row.fitted = Some(days),
            false => row.unfitted = Some(days),
        }
        row.climatology = turnover_climatology(&report.turnover);
        row.n = report.turnover.scored;
    }
}

/// Mean size of the error of the mean of the other years, over the years that are scored; `None` of fewer than two.
fn turnover_climatology(turnover: &TurnoverReport) -> Option<f64> {
    // The middle of what was observed, in days after the new year before it.
    let middle = |year: &TurnoverYear| {
        let new_year = NaiveDate::from_ymd_opt(year.year, 1, 1)?;
        Some((year.modelled? - new_year).num_days() as f64 - year.error_days?)
    };
    let days: Vec<f64> = turnover.years.iter().filter_map(middle).collect();
    let others = days.len().checked_sub(1).filter(|others| *others > 0)? as f64;
    let sum: f64 = days.iter().sum();
    let errors = days.iter().map(|day| ((sum - day) / others - day).abs());
    Some(errors.sum::<f64>() / days.len() as f64)
}

/// The median over lakes of each figure; `n` is the number of lakes.
fn median_lake(rows: &Rows) -> BTreeMap<&'static str, Row> {
    let mut found = BTreeMap::new();
    for key in Figure::ALL.map(Figure::key).into_iter().chain([TURNOVER]) {
        let lakes: Vec<&Row> = rows.values().filter_map(|lake| lake.get(key)).collect();
        let of = |which: fn(&Row) -> Option<f64>| {
            median(&lakes.iter().filter_map(|row| which(row)).collect::<Vec<_>>())
        };
        if !lakes.is_empty() {
            let row = Row {
                unfitted: of(|row| row.unfitted),
                fitted: of(|row| row.fitted),
                climatology: of(|row| row.climatology),
                n: lakes.len(),
            };
            found.insert(key, row);
        }
    }
    found
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
    let figures_of = Figure::ALL.map(|figure| (figure.key(), figure_words(figure)));
    let (median_row, lakes): (Vec<_>, Vec<_>) = rows.iter().partition(|(lake, _)| *lake == MEDIAN);
    for (lake, figures) in lakes.into_iter().chain(median_row) {
        for (key, words) in figures_of
            .into_iter()
            .chain([(TURNOVER, "autumn turnover, days")])
        {
            if let Some(row) = figures.get(key) {
                table.add_row([
                    lake.clone(),
                    words.to_owned(),
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
