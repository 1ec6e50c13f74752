//! The turnover outlook, end to end: the real program on the demonstration mornings.

use std::path::Path;

use plungeline::faces::json::{render_turnover_hindcast_schema, render_turnover_schema};
use serde_json::Value;

use super::demo::run;
use crate::house::source::{document, root};

/// The outlook of a morning, with the status that is wanted.
fn outlook(morning: &str, format: &str) -> String {
    let output = run(&["turnover", "--demo", "--as-of", morning, "--format", format]);
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{stderr}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

fn json(morning: &str) -> Value {
    serde_json::from_str(&outlook(morning, "json")).expect("JSON")
}

#[test]
fn the_committed_schema_of_the_outlook_is_that_of_the_code() {
    let schema = render_turnover_schema().expect("a schema");
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join("docs/turnover.schema.json"), &schema).expect("writable");
    }
    assert!(
        document("docs/turnover.schema.json") == schema,
        "docs/turnover.schema.json is not that of the code; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
}

#[test]
fn the_committed_schema_of_the_hindcast_is_that_of_the_code() {
    let schema = render_turnover_hindcast_schema().expect("a schema");
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join("docs/turnover-hindcast.schema.json"), &schema).expect("writable");
    }
    assert!(
        document("docs/turnover-hindcast.schema.json") == schema,
        "docs/turnover-hindcast.schema.json is not that of the code; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
}

#[test]
fn autumn_has_an_answer_in_plain_words_and_a_curve() {
    let text = outlook("2025-10-09", "text");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    for words in [
        "Turnover in the main body: median",
        "9 in 10 by",
        "CHANCE THAT IT HAS TURNED OVER",
        "common practice, no source",
        "Trout",
        "Kings",
        "1985 to 2024",
    ] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
    assert!(text.contains('█'), "no curve in\n{text}");
    let lower = text.to_lowercase();
    // These are official products.
    assert!(!lower.contains("watch") && !lower.contains("warning"), "{text}");
    let main = &json("2025-10-09")["places"][0];
    // The date by the other rule stands in the text as in the value.
    let alike: chrono::NaiveDate = main["median_by_degree"]
        .as_str()
        .expect("a date")
        .parse()
        .expect("ISO");
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains(&format!(
            "within 1.8 °F of each other, the median is: Main Body {}",
            alike.format("%-d %B")
        )),
        "{text}"
    );
    let metric = run(&["turnover", "--demo", "--as-of", "2025-10-09", "--units", "metric"]);
    let metric = String::from_utf8(metric.stdout).expect("UTF-8");
    assert!(metric.contains("°C") && !metric.contains("°F"), "{metric}");
}

#[test]
fn the_page_has_the_curve_as_a_picture_and_needs_nothing_else() {
    let page = outlook("2025-10-09", "html");
    assert!(
        page.starts_with("<!DOCTYPE html>") && page.contains("<svg class=\"curve\""),
        "{page}"
    );
    assert!(!page.contains("<script") && !page.contains("src="), "{page}");
    for name in [
        "Main Body",
        "Sorrel Arm",
        "within 1.8 °F of each other, the median is: ",
    ] {
        assert!(page.contains(name), "{name}");
    }
}

/// Outlooks kept below a folder.
fn kept(folder: &Path) -> usize {
    let entries = std::fs::read_dir(folder).expect("a folder");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    paths
        .map(|path| match path.is_dir() {
            true => kept(&path),
            false => usize::from(folder.ends_with("turnover-forecasts")),
        })
        .sum()
}

#[test]
fn what_was_tried_another_way_is_not_kept_and_said_so() {
    let store = tempfile::tempdir().expect("a folder");
    let folder = store.path().to_str().expect("UTF-8");
    let kept_with = |more: &[&str]| {
        let mut args = vec!["turnover", "--demo", "--as-of", "2025-10-09", "--store", folder];
        args.extend(more);
        let output = run(&args);
        assert_eq!(output.status.code(), Some(0));
        let said = String::from_utf8_lossy(&output.stderr).contains("This outlook is not kept");
        (said, kept(store.path()))
    };
    assert_eq!(kept_with(&["--analogs"]), (true, 0));
    assert_eq!(kept_with(&[]), (false, 1));
}

#[test]
fn in_january_it_is_mixed_already() {
    let found = json("2026-01-17");
    let main = &found["places"][0];
    assert!(
        main["already_mixed_prob"].as_f64().expect("a number") >= 0.95,
        "{main}"
    );
    assert_eq!(main["median"], Value::Null);
    let text = outlook("2026-01-17", "text");
    assert!(text.contains("already mixed from top to bottom"), "{text}");
}

#[test]
fn in_july_it_lies_months_ahead() {
    let found = json("2025-07-24");
    let main = &found["places"][0];
    assert_eq!(main["already_mixed_prob"].as_f64(), Some(0.0), "{main}");
    // ISO dates are in the order of their text.
    let median = main["median"].as_str().expect("a median");
    assert!(("2025-10-15".."2026-01-15").contains(&median), "{median}");
}

#[test]
fn in_march_it_is_not_the_season_and_the_next_one_is_named() {
    let found = json("2026-03-12");
    assert_eq!(found["state"]["state"], "out_of_season");
    assert_eq!(found["state"]["next_from"], "2026-07-01");
    let text = outlook("2026-03-12", "text");
    assert!(text.contains("from 1 July on"), "{text}");
}

#[test]
fn a_morning_long_after_the_last_value_ends_with_status_3() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = folder.path().to_str().expect("UTF-8");
    let pulled = run(&["pull", "--demo", "--store", store]);
    assert_eq!(pulled.status.code(), Some(0));
    let stores = folder.path().join("20251009T113000Z");
    let later = folder.path().join("20251101T113000Z");
    std::fs::rename(&stores, &later).expect("a folder to rename");
    let output = run(&[
        "turnover",
        "--demo",
        "--offline",
        "--store",
        store,
        "--as-of",
        "2025-11-01T11:30:00Z",
    ]);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(output.status.code(), Some(3), "{text}");
    assert!(
        text.contains("DO NOT RELY ON THIS") && text.contains("A level in time"),
        "{text}"
    );
}
