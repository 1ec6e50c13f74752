//! Every check row that the program can be held to is named by a test.

use crate::house::source::{root, sources};

/// Rows that must have a test. The others are of functions that the program does not have: bioenergetics (F-TL, F-K77).
const HELD_TO: [&str; 11] = [
    "S-", "F-HSI", "F-HAB", "F-RULE", "F-35-60", "F-SOFT", "F-OR", "F-NB", "F-REG", "F-DM", "F-MN",
];

/// Rows of physics that must have a test: waves and the towed cable. The two of mercury and the langley are of units that no
/// source of the program gives.
const PHYSICS_HELD_TO: [&str; 2] = ["P9-", "P10-"];
const NOT_IN_THE_PROGRAM: [&str; 3] = ["P10-U-INHG", "P10-U-MMHG", "P10-U-LY"];

#[test]
fn every_row_of_waves_and_cable_is_named_by_a_test() {
    let held = |id: &str| {
        PHYSICS_HELD_TO.iter().any(|start| id.starts_with(start)) && !NOT_IN_THE_PROGRAM.contains(&id)
    };
    let ids = ids_of("physics-checks.csv", held);
    // 18 rows of waves, 9 of the cable, 11 of units.
    assert_eq!(ids.len(), 38);
    assert_named(&ids);
}

#[test]
fn every_row_of_fish_and_series_is_named_by_a_test() {
    let ids = ids_of("fish-series-checks.csv", |id| {
        HELD_TO.iter().any(|start| id.starts_with(start))
    });
    // 13 + 10 + 8 + 7 rows of fish; the rest are of series.
    assert!(ids.len() > 38 + 60, "{} rows only", ids.len());
    assert_named(&ids);
}

/// Ids of the rows of a file that are held to.
fn ids_of(file: &str, held: impl Fn(&str) -> bool) -> Vec<String> {
    let path = root().join("fixtures/published").join(file);
    let mut reader = csv::Reader::from_path(path).expect("the rows are in the repository");
    reader
        .records()
        .map(|record| record.expect("a readable row")[0].to_owned())
        .filter(|id| held(id))
        .collect()
}

fn assert_named(ids: &[String]) {
    let texts: Vec<String> = ["src", "tests"]
        .into_iter()
        .flat_map(sources)
        .filter(|s| s.path != "tests/outside/every_row.rs")
        .map(|s| s.text)
        .collect();
    let unnamed: Vec<&String> = ids
        .iter()
        .filter(|id| {
            let literal = format!("\"{id}\"");
            !texts.iter().any(|text| text.contains(&literal))
        })
        .collect();
    assert!(
        unnamed.is_empty(),
        "{} rows are named by no test:\n{unnamed:#?}",
        unnamed.len()
    );
}
