//! A year of the demonstration lake: the rules agree with common practice (marked so).

use std::path::Path;

use chrono::{DateTime, Duration, TimeZone as _, Utc};
use plungeline::column::{WaterOptions, water_at};
use plungeline::conditions::conditions_at;
use plungeline::lake::{Lake, read_lake};
use plungeline::quality::{Thresholds, flag_set};
use plungeline::reports::make_brief;
use plungeline::series::Store;
use plungeline::sources::service_rules;

use super::demo::{cache, run};

/// The store of the last demonstration morning, which holds the year before it.
fn store() -> (Lake, Store) {
    let folder = cache().join("year");
    let text = folder.to_string_lossy();
    let output = run(&["pull", "--demo", "--as-of", "2026-03-12", "--store", &text]);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let toml = std::fs::read_to_string(&file).expect("the demonstration lake");
    let lake = read_lake(&toml, &file, &service_rules()).expect("no faults");
    let store = Store::open(&folder.join("20260312T113000Z"), &lake.id).expect("the store just pulled");
    (lake, store)
}

#[test]
fn rainbows_find_the_surface_best_from_november_to_april_and_least_from_july_to_september() {
    let (lake, store) = store();
    let thresholds = Thresholds::built_in();
    let mut months = vec![Vec::new(); 12];
    let mut at: DateTime<Utc> = Utc.with_ymd_and_hms(2025, 3, 8, 12, 0, 0).unwrap();
    let end = Utc.with_ymd_and_hms(2026, 3, 1, 12, 0, 0).unwrap();
    while at < end {
        let mut set = store.load(&lake, at);
        flag_set(&mut set, &lake, &thresholds);
        // A run of the columns for each of these mornings would take minutes: the quick model has the surface too.
        let conditions = conditions_at(&lake, &set);
        let options = WaterOptions { members: 32, seed: 1 };
        let water = water_at(&lake, &conditions, &set, &options);
        let brief = make_brief(&lake, &set, (conditions, &water), None).expect("species files");
        let call = &brief.whereabouts[&plungeline::lake::SpeciesId::new("rainbow-trout")];
        let month = chrono::Datelike::month0(&at) as usize;
        let suitability = call.near_surface_suitability;
        months[month].push(suitability.unwrap_or_else(|| panic!("{at}: no suitability near the surface")));
        let zone = |species: &str, zone: &str| {
            let depths = brief.plan.depth.iter().find(|d| d.species.as_str() == species);
            let zones = depths.into_iter().flat_map(|d| &d.zones);
            zones.into_iter().find(|z| z.zone.as_str() == zone).cloned()
        };
        // Common practice, no source: kings are caught all year, so that they have a band in every month.
        let kings = zone("landlocked-chinook", "main").unwrap_or_else(|| panic!("{at}: no main body"));
        assert!(
            kings.band_top_m.is_some() && kings.set_m.is_some(),
            "{at}: {kings:?}"
        );
        // Common practice, no source: rainbows in February lie above 30 ft (9.144 m).
        if month == 1 {
            let rainbows = zone("rainbow-trout", "main").unwrap_or_else(|| panic!("{at}: no main body"));
            let run_m = rainbows.surface_m.or(rainbows.set_m);
            assert!(run_m.is_some_and(|m| m < 9.144), "{at}: {rainbows:?}");
        }
        at += Duration::days(10);
    }
    // Twelve full months: every tenth day of a year, so at least two mornings in each.
    let seen: Vec<usize> = months.iter().map(Vec::len).collect();
    assert!(
        seen.iter().all(|n| *n >= 2),
        "mornings a month, January first: {seen:?}"
    );
    assert_eq!(seen.iter().sum::<usize>(), 36, "{seen:?}"); // 8 March to 1 March is 358 days: 0, 10, ..., 350
    let mean: Vec<f64> = months
        .iter()
        .map(|m| m.iter().sum::<f64>() / m.len() as f64)
        .collect();
    println!("near-surface suitability of rainbows by month, January first: {mean:.2?}");
    let best = (0..12)
        .max_by(|a, b| mean[*a].total_cmp(&mean[*b]))
        .expect("twelve months");
    let least = (0..12)
        .min_by(|a, b| mean[*a].total_cmp(&mean[*b]))
        .expect("twelve months");
    // Common practice, no source: near the surface in late autumn, winter and early spring; deep in summer.
    assert!(
        [10, 11, 0, 1, 2, 3].contains(&best),
        "best in month {}: {mean:.2?}",
        best + 1
    );
    assert!(
        [6, 7, 8].contains(&least),
        "least in month {}: {mean:.2?}",
        least + 1
    );
}
