//! Every check row that the program can be held to is named by a test.

use crate::house::source::{root, sources};

/// Rows that must have a test. The others are of functions that the program does not have: bioenergetics (F-TL, F-K77).
const HELD_TO: [&str; 11] = [
    "S-", "F-HSI", "F-HAB", "F-RULE", "F-35-60", "F-SOFT", "F-OR", "F-NB", "F-REG", "F-DM", "F-MN",
];

#[test]
fn every_row_of_fish_and_series_is_named_by_a_test() {
    let path = root().join("fixtures/published/fish-series-checks.csv");
    let mut reader = csv::Reader::from_path(path).expect("the rows are in the repository");
    let ids: Vec<String> = reader
        .records()
        .map(|record| record.expect("a readable row")[0].to_owned())
        .filter(|id| HELD_TO.iter().any(|start| id.starts_with(start)))
        .collect();
    // 13 + 10 + 8 + 7 rows of fish; the rest are of series.
    assert!(ids.len() > 38 + 60, "{} rows only", ids.len());
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
