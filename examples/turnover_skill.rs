//! How good outlooks on the autumn turnover would have been: issued anew in every past year of recorded lakes, and scored.
//!
//!     cargo run --release --example turnover_skill -- DATA [LAKE.toml ...] [--json]
//!
//! DATA is a folder of recorded lakes, or one with these in its folder `lakes`; without a lake file, those of Rappbode, Erken and
//! Sparkling in `tests/validation/lakes`. A row is a number of days ahead of a lake: CRPS in days, of the outlook, of its members as they
//! ran, of the dates of the other years, and of these shifted by the surface at the issue; skill against both with 90 % intervals
//! over years; in how many years the members were moved as the others teach; dates within the 80 % interval, with Jeffreys' interval; number of years and of dates known to ten days.
//! `--json` gives the same with what each year's outlook said.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use comfy_table::{Table, presets};
use plungeline::hindcast::load_hindcast;
use plungeline::hindcast::outlook::{
    IssueRule, LakeTurnover, LeadRow, OutlookOptions, TurnoverHindcast, lake_turnover,
};
use plungeline::lake::read_lake_file;
use plungeline::skill::seasons::Skill;
use plungeline::sources::service_rules;

/// Lakes whose records hold many autumns and their weather.
const LAKES: [&str; 3] = ["rappbode", "erken", "sparkling"];

fn main() -> ExitCode {
    let mut given: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let all = given.len();
    given.retain(|f| f != Path::new("--json"));
    let json = given.len() < all;
    let Some((data, files)) = given.split_first() else {
        eprintln!("usage: turnover_skill DATA [LAKE.toml ...] [--json]");
        return ExitCode::from(2);
    };
    let within = data.join("lakes");
    let data = if within.is_dir() { &within } else { data };
    let ours = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/validation/lakes");
    let files = match files {
        [] => LAKES
            .iter()
            .map(|lake| ours.join(format!("{lake}.toml")))
            .collect(),
        _ => files.to_vec(),
    };
    let mut found = TurnoverHindcast::of(Vec::new());
    let mut failed = false;
    for file in &files {
        match one_lake(file, data) {
            Ok(lake) => found.lakes.push(lake),
            Err(error) => {
                eprintln!("{}: {error}", file.display());
                failed = true;
            }
        }
    }
    if json {
        match serde_json::to_string_pretty(&found) {
            Ok(text) => println!("{text}"),
            Err(error) => {
                eprintln!("cannot write the scores as JSON: {error}");
                failed = true;
            }
        }
    } else {
        print_tables(&found);
    }
    ExitCode::from(u8::from(failed))
}

fn one_lake(file: &Path, data: &Path) -> Result<LakeTurnover, String> {
    let lake = read_lake_file(file, &service_rules()).map_err(|error| error.to_string())?;
    let input = load_hindcast(lake, data).map_err(|error| error.to_string())?;
    lake_turnover(&input, &OutlookOptions::default()).map_err(|error| error.to_string())
}

fn print_tables(found: &TurnoverHindcast) {
    for rule in IssueRule::ALL {
        println!(
            "{}",
            match rule {
                IssueRule::BeforeNormal => "Days ahead of the mean date of the other years:",
                IssueRule::BeforeObserved => "Days ahead of the year's own date:",
            }
        );
        let mut table = Table::new();
        table.load_preset(presets::ASCII_MARKDOWN).set_header([
            "lake",
            "days ahead",
            "CRPS",
            "members",
            "other years",
            "shifted",
            "skill, other years",
            "skill, shifted",
            "taught",
            "within 80 %",
            "met",
            "log scores",
            "years",
            "dates",
        ]);
        for lake in &found.lakes {
            for row in lake.rows.iter().filter(|row| row.issued == rule) {
                table.add_row(cells(&lake.lake, row));
            }
        }
        println!("{table}\n");
    }
    for lake in &found.lakes {
        println!(
            "{}: {} autumns, {} of them known to no better than 45 days and left out; {} more whose profiles end before it had mixed",
            lake.lake, lake.autumns, lake.too_wide, lake.not_seen_to_end
        );
    }
}

fn cells(lake: &str, row: &LeadRow) -> Vec<String> {
    let number = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| format!("{v:.2}"));
    let skill = |skill: Option<Skill>| match skill {
        Some(Skill {
            skill_frac,
            low: Some(low),
            high: Some(high),
        }) => format!("{skill_frac:.2} ({low:.2} to {high:.2})"),
        Some(skill) => format!("{:.2}", skill.skill_frac),
        None => "-".to_owned(),
    };
    let coverage = row.coverage.map_or_else(
        || "-".to_owned(),
        |c| format!("{} of {} ({:.2} to {:.2})", c.hits, c.trials, c.low, c.high),
    );
    vec![
        lake.to_owned(),
        row.lead_days.to_string(),
        number(row.crps_days),
        number(row.members_crps_days),
        number(row.climatology_crps_days),
        number(row.shifted_crps_days),
        skill(row.skill_climatology),
        skill(row.skill_shifted),
        format!("{} of {}", row.taught_years, row.years),
        coverage,
        format!("{} of {}", row.met, row.years),
        format!(
            "{}, {}, {}",
            number(row.log_score),
            number(row.climatology_log_score),
            number(row.shifted_log_score)
        ),
        format!("{} ({} mixed before)", row.years, row.already_mixed),
        row.usable_dates.to_string(),
    ]
}
