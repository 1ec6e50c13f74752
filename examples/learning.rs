//! How fast trips teach the rules: simulated anglers on the demonstration lake, whose fish do not follow the rules' means.
//!
//!     cargo run --release --example learning            a table
//!     cargo run --release --example learning -- --json     {trips: {rules, fitted, truth}} and more
//!     cargo run --release --example learning -- --anglers 200
//!     cargo run --release --example learning -- --derive DIR   the mornings anew, with a store laid in DIR
//!
//! Each angler's fish have coefficients of their own, drawn from the priors of the species file; zones are caught alike. He fishes
//! mornings of the demonstration lake's year, drawn at random, and goes where the rules send him (half of the trips), as always
//! (three in ten), or scouting (two in ten), one or two zones a trip. After 10, 40 and 160 trips the shares on mornings that he
//! did not fish are scored: the log score of the zone of a fish under equal hours in each zone that can be fished, in nats,
//! averaged over where the fish truly are. Rules and fit give the mean share over 2000 draws, as a brief does.
//!
//! The mornings (`fixtures/learning/mornings.json`) are of the demonstration lake; see the README there. `--derive` makes them anew, every
//! fifth day of a year, with the quick model of the water: the columns would take minutes.

#[path = "../tests/properties/learning/angler.rs"]
mod angler;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use chrono::{DateTime, Duration, NaiveDate, TimeZone as _, Utc};
use plungeline::clock::LakeClock;
use plungeline::column::{WaterOptions, water_at};
use plungeline::conditions::conditions_at;
use plungeline::lake::{Lake, ZoneId, read_lake_file};
use plungeline::math::streams::stream;
use plungeline::quality::{Thresholds, flag_set};
use plungeline::series::Store;
use plungeline::sources::service_rules;
use plungeline::species::{Species, builtin};
use plungeline::whereabouts::Belief;
use plungeline::whereabouts::learn::report::{morning_shares, shares_at};
use plungeline::whereabouts::learn::{
    FitOptions, Morning, SpeciesRows, TripRows, catch_responses_of, fit_species, morning_of,
};
use rand_chacha::ChaCha12Rng;
use serde::Serialize;

use angler::{StoredMorning, Truth, mean_log_score, simulate_trip, stored_mornings};

/// Trips after which the shares are scored.
const AFTER: [usize; 3] = [10, 40, 160];
/// Draws of the coefficients for a share.
const DRAWS: usize = 2000;
/// Mornings that are scored.
const SCORED: usize = 12;
/// Days from one stored morning to the next.
const EVERY_DAYS: i64 = 5;

type Fault = Box<dyn std::error::Error>;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let after = |flag: &str| {
        words
            .iter()
            .position(|w| w == flag)
            .and_then(|i| words.get(i + 1))
    };
    let done = match after("--derive") {
        Some(folder) => derive(Path::new(folder)),
        None => {
            let anglers = after("--anglers").map_or(Ok(100), |n| n.parse::<usize>());
            anglers
                .map_err(Fault::from)
                .and_then(|n| learn(n, words.iter().any(|w| w == "--json")))
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("learning: {fault}");
            ExitCode::FAILURE
        }
    }
}

/// Log scores after some trips: means over anglers, with the standard errors of the differences.
#[derive(Debug, Serialize)]
struct Scores {
    rules: f64,
    fitted: f64,
    truth: f64,
    /// Mean of rules less fitted: how much was gained.
    gained: f64,
    /// Its standard error.
    gained_se: f64,
    /// The gain as part of what there is to gain.
    gained_frac: f64,
    anglers: usize,
}

fn learn(anglers: usize, json: bool) -> Result<(), Fault> {
    let mut by_trips: BTreeMap<usize, Vec<[f64; 3]>> = BTreeMap::new();
    let mut by_species: BTreeMap<String, BTreeMap<usize, Scores>> = BTreeMap::new();
    for id in ["rainbow-trout", "landlocked-chinook"] {
        let species = builtin(id)?;
        let mornings = stored_mornings(id);
        // The rules say the same to every angler.
        let none = SpeciesRows {
            species: &species,
            mature_frac: species.maturity.as_ref().map(|m| m.mean_frac()),
            trips: &[],
        };
        let rules = Belief::rules(&species);
        let told: Vec<Vec<f64>> = (mornings.iter())
            .map(|m| mean_shares(&none, &rules, &m.morning))
            .collect();
        let mut own: BTreeMap<usize, Vec<[f64; 3]>> = BTreeMap::new();
        for angler in 0..anglers {
            for (trips, scores) in one_angler(&species, (&mornings, &told), angler)? {
                own.entry(trips).or_default().push(scores);
                by_trips.entry(trips).or_default().push(scores);
            }
        }
        by_species.insert(id.to_owned(), own.iter().map(|(n, s)| (*n, scores(s))).collect());
    }
    let all: BTreeMap<usize, Scores> = by_trips.iter().map(|(n, s)| (*n, scores(s))).collect();
    if json {
        println!("{}", serde_json::to_string_pretty(&all)?);
        return Ok(());
    }
    println!("log score, nats (smaller is better); {anglers} anglers a species\n");
    println!(
        "| species | trips | rules | fitted | truth | gained | of what there is |\n|---|---|---|---|---|---|---|"
    );
    let every = by_species
        .iter()
        .map(|(id, s)| (id.as_str(), s))
        .chain([("both", &all)]);
    for (id, scores) in every {
        for (trips, s) in scores {
            println!(
                "| {id} | {trips} | {:.4} | {:.4} | {:.4} | {:.4} +- {:.4} | {:.0} % |",
                s.rules,
                s.fitted,
                s.truth,
                s.gained,
                s.gained_se,
                100.0 * s.gained_frac
            );
        }
    }
    Ok(())
}

fn scores(each: &[[f64; 3]]) -> Scores {
    let n = each.len() as f64;
    let mean = |i: usize| each.iter().map(|s| s[i]).sum::<f64>() / n;
    let gains: Vec<f64> = each.iter().map(|s| s[0] - s[1]).collect();
    let gained = mean(0) - mean(1);
    let variance = gains.iter().map(|g| (g - gained).powi(2)).sum::<f64>() / (n - 1.0);
    Scores {
        rules: mean(0),
        fitted: mean(1),
        truth: mean(2),
        gained,
        gained_se: (variance / n).sqrt(),
        gained_frac: gained / (mean(0) - mean(2)),
        anglers: each.len(),
    }
}

/// Rules, fit and truth of one angler after each number of trips.
fn one_angler(
    species: &Species,
    (mornings, told): (&[StoredMorning], &[Vec<f64>]),
    angler: usize,
) -> Result<Vec<(usize, [f64; 3])>, Fault> {
    let mut numbers = stream(1, &format!("learning/{}/{angler}", species.id));
    let mature_frac = species.maturity.as_ref().map(|m| m.mean_frac());
    let truth = Truth::drawn(species, &mut numbers);
    // Every sixth morning (of fewer: one) is scored, the others are fished.
    let turn = mornings.len().min(6);
    let (scored, fished): (Vec<_>, Vec<_>) = mornings
        .iter()
        .enumerate()
        .partition(|(i, _)| i % turn == angler % turn);
    let mut trips: Vec<TripRows> = Vec::new();
    let mut found = Vec::new();
    for after in AFTER {
        while trips.len() < after {
            let stored = pick(&fished, &mut numbers);
            trips.push(simulate_trip(
                (species, mature_frac),
                &truth,
                stored,
                trips.len(),
                &mut numbers,
            ));
        }
        let rows = SpeciesRows {
            species,
            mature_frac,
            trips: &trips,
        };
        let fit = fit_species(&rows, &FitOptions::on(last_day(&trips)))?;
        let score = |shares: &dyn Fn(usize, &Morning) -> Vec<f64>| {
            let each = scored.iter().take(SCORED).map(|(i, m)| {
                let fish = shares_at(species, mature_frac, &m.morning, &truth.beta);
                mean_log_score(&m.morning, &fish, &shares(*i, &m.morning))
            });
            let each: Vec<f64> = each.collect();
            each.iter().sum::<f64>() / each.len() as f64
        };
        let of_rules = score(&|i, _| told[i].clone());
        let of_fit = score(&|_, m| mean_shares(&rows, &fit.belief, m));
        let of_truth = score(&|_, m| shares_at(species, mature_frac, m, &truth.beta));
        found.push((after, [of_rules, of_fit, of_truth]));
    }
    Ok(found)
}

fn pick<'a>(fished: &[(usize, &'a StoredMorning)], numbers: &mut ChaCha12Rng) -> &'a StoredMorning {
    let at = plungeline::math::streams::uniform(numbers) * fished.len() as f64;
    fished[(at as usize).min(fished.len() - 1)].1
}

fn last_day(trips: &[TripRows]) -> NaiveDate {
    trips.iter().map(|t| t.date).max().unwrap_or_default()
}

fn mean_shares(rows: &SpeciesRows<'_>, belief: &Belief, morning: &Morning) -> Vec<f64> {
    let draws = morning_shares(rows, belief, morning, (DRAWS, 1));
    draws
        .iter()
        .map(|(_, s)| s.iter().sum::<f64>() / s.len() as f64)
        .collect()
}

/// Writes the stored mornings anew.
fn derive(folder: &Path) -> Result<(), Fault> {
    let (lake, store) = demonstration(folder)?;
    let thresholds = Thresholds::built_in();
    let clock = LakeClock::new(lake.time_zone);
    let mut by_species: BTreeMap<&str, Vec<StoredMorning>> = BTreeMap::new();
    let ids = ["rainbow-trout", "landlocked-chinook"];
    let all: Vec<(&str, Species)> = (ids.iter())
        .map(|id| Ok((*id, builtin(id)?)))
        .collect::<Result<_, Fault>>()?;
    let mut at: DateTime<Utc> = Utc
        .with_ymd_and_hms(2025, 3, 8, 12, 0, 0)
        .single()
        .ok_or("an instant")?;
    let end = Utc
        .with_ymd_and_hms(2026, 3, 8, 12, 0, 0)
        .single()
        .ok_or("an instant")?;
    while at < end {
        let mut set = store.load(&lake, at);
        flag_set(&mut set, &lake, &thresholds);
        let conditions = conditions_at(&lake, &set);
        let water = water_at(&lake, &conditions, &set, &WaterOptions { members: 32, seed: 1 });
        let date = clock.civil_day(at);
        for (id, species) in &all {
            by_species.entry(*id).or_default().push(StoredMorning {
                date,
                morning: rounded(morning_of(&lake, species, &conditions, &water, date)),
                catch_response: catch_responses_of(&lake, species, &conditions, &water)
                    .into_iter()
                    .map(|(zone, of)| (zone, of.into_iter().map(round).collect()))
                    .collect::<BTreeMap<ZoneId, Vec<f64>>>(),
            });
        }
        at += Duration::days(EVERY_DAYS);
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/learning/mornings.json");
    std::fs::write(&path, serde_json::to_string(&by_species)? + "\n")?;
    println!(
        "{} mornings a species",
        by_species.values().map(Vec::len).max().unwrap_or(0)
    );
    Ok(())
}

fn round(x: f64) -> f64 {
    // Four places: the file stays small, and no share moves by what anybody could see.
    (x * 1e4).round() / 1e4
}

fn rounded(mut morning: Morning) -> Morning {
    for zone in &mut morning.zones {
        zone.response.iter_mut().for_each(|x| *x = round(*x));
    }
    morning
}

/// The store of the last demonstration morning, which holds the year before it.
fn demonstration(folder: &Path) -> Result<(Lake, Store), Fault> {
    let root: PathBuf = folder.join("20260312T113000Z");
    if !root.exists() {
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let status = Command::new(cargo)
            .args(["run", "--quiet", "--bin", "plungeline", "--"])
            .args(["pull", "--demo", "--as-of", "2026-03-12", "--store"])
            .arg(folder)
            .env("XDG_CACHE_HOME", folder.join("cache"))
            .status()?;
        if !status.success() {
            return Err("plungeline pull --demo has failed; see above".into());
        }
    }
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let lake = read_lake_file(&file, &service_rules())?;
    let store = Store::open(&root, &lake.id)?;
    Ok((lake, store))
}
