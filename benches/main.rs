//! Timings by hand: `cargo bench --profile dev`. They are no tests; machines are noisy.

mod column;
mod lake;
mod learning;
mod season;
mod throughput;
mod trips;

use std::path::Path;

use plungeline::analysis::{MorningSource, morning_water};
use plungeline::archive::analysed::{AnalysedStates, hash_of};
use plungeline::lake::{Lake, read_lake};
use plungeline::quality::{Thresholds, flag_set};
use plungeline::reports::make_brief;
use plungeline::series::Store;
use plungeline::sources::{read_saved, service_rules};

fn main() {
    // Ratios want their parts timed in turn, which divan does not do.
    if std::env::args().any(|word| word == "throughput") {
        throughput::report();
    } else if std::env::args().any(|word| word == "learning") {
        learning::report();
    } else if std::env::args().any(|word| word == "trips") {
        let (text, file) = demo_lake();
        trips::report(&read_lake(&text, &file, &service_rules()).expect("no faults"));
    } else if std::env::args().any(|word| word == "season") {
        let (lake, store, as_of, _folder) = demo_store();
        let mut set = store.load(&lake, as_of);
        flag_set(&mut set, &lake, &Thresholds::built_in());
        season::report(&lake, &set);
    } else if std::env::args().any(|word| word == "column") {
        column::report();
        let (text, file) = demo_lake();
        lake::report(&read_lake(&text, &file, &service_rules()).expect("no faults"));
    } else {
        divan::main();
    }
}

fn demo_lake() -> (String, std::path::PathBuf) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    (
        std::fs::read_to_string(&file).expect("the demonstration lake"),
        file,
    )
}

/// The demonstration lake with a store just pulled, its clock, and the folder that holds it.
fn demo_store() -> (Lake, Store, chrono::DateTime<chrono::Utc>, tempfile::TempDir) {
    let (text, file) = demo_lake();
    let lake = read_lake(&text, &file, &service_rules()).expect("no faults");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let status = std::process::Command::new(env!("CARGO_BIN_EXE_plungeline"))
        .args(["pull", "--demo", "--store"])
        .arg(folder.path())
        .env("XDG_CACHE_HOME", folder.path())
        .stdout(std::process::Stdio::null())
        .status()
        .expect("the program starts");
    assert!(status.success());
    let morning = "2025-10-09T11:30:00Z".parse().expect("an instant");
    let store =
        Store::open(&folder.path().join("20251009T113000Z"), &lake.id).expect("the store just pulled");
    (lake, store, morning, folder)
}

#[divan::bench]
fn lake_file(bencher: divan::Bencher<'_, '_>) {
    let (text, file) = demo_lake();
    bencher.bench(|| -> Lake { read_lake(&text, &file, &service_rules()).expect("no faults") });
}

#[divan::bench]
fn hourly_weather_of_a_year(bencher: divan::Bencher<'_, '_>) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/demo/open-meteo");
    let largest = std::fs::read_dir(folder)
        .expect("the demonstration replies")
        .filter_map(|entry| entry.ok())
        .max_by_key(|entry| entry.metadata().map(|m| m.len()).unwrap_or(0))
        .expect("a reply");
    let bytes = std::fs::read(largest.path()).expect("readable");
    bencher
        .counter(divan::counter::BytesCount::of_slice(&bytes))
        .bench(|| read_saved(Some("open-meteo"), &bytes, "bench").expect("a good reply"));
}

/// The forcing of the columns from a cold start to the end of the forecast, 30 members, from a set in memory.
#[divan::bench]
fn forcing_from_the_store(bencher: divan::Bencher<'_, '_>) {
    use plungeline::column::stored::{StoredOptions, cold_start, stored_forcing};
    let (lake, store, morning, _folder) = demo_store();
    let mut set = store.load(&lake, morning);
    flag_set(&mut set, &lake, &Thresholds::built_in());
    let options = StoredOptions {
        from: cold_start(&lake, &set, morning).expect("years of air temperature"),
        as_of: morning,
        members: 30,
        seed: 1,
        ahead_days: 16,
    };
    bencher.bench(|| stored_forcing(&lake, &set, &options).expect("all is known"));
}

/// Everything that `brief` does on a warm store but start, print and keep: load, flag, conditions, water,
/// cautions, shares.
#[divan::bench]
fn warm_brief(bencher: divan::Bencher<'_, '_>) {
    let (lake, store, morning, _folder) = demo_store();
    let thresholds = Thresholds::built_in();
    let folder = tempfile::tempdir().expect("a folder");
    let states = AnalysedStates::new(folder.path());
    bencher.bench(|| {
        let mut set = store.load(&lake, morning);
        flag_set(&mut set, &lake, &thresholds);
        let source = MorningSource {
            lake_file: hash_of(b"bench"),
            own: &[],
            states: Some(&states),
            forage: &[],
            ahead: true,
        };
        let water = morning_water(&lake, &set, &source);
        make_brief(&lake, &set, (water.conditions, &water.water), None).expect("species files")
    });
}
