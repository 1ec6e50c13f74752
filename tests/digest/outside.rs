//! The message, read by Python's email and by icalendar from PyPI: a script that is stored beside this file's kin.

use std::process::Command;

use plungeline::faces::Units;
use serde_json::Value;

use super::digest;
use super::message::{message, reader};
use crate::house::source::root;

/// A Python with the wanted libraries, or `None` after printing that the test skips. With `PLUNGELINE_PYTHON` set, a skip is a failure.
fn python() -> Option<String> {
    let named = std::env::var("PLUNGELINE_PYTHON").ok();
    let python = named.clone().unwrap_or_else(|| "python3".to_owned());
    let found = Command::new(&python).args(["-c", "import icalendar"]).output();
    let found = found.is_ok_and(|output| output.status.success());
    assert!(
        found || named.is_none(),
        "{python}: no icalendar, and PLUNGELINE_PYTHON asks for it"
    );
    if !found {
        println!("skipped: no python3 with icalendar (tests/outside/mail/requirements.txt)");
    }
    found.then_some(python)
}

#[test]
fn an_independent_library_reads_every_part() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().expect("a folder");
    for units in [Units::Us, Units::Metric] {
        let file = folder.path().join("digest.eml");
        std::fs::write(&file, message().for_reader(&reader(7, units)).expect("a reader")).expect("writable");
        let script = root().join("tests/outside/mail/check_message.py");
        let output = Command::new(&python)
            .arg(script)
            .arg(&file)
            .output()
            .expect("Python starts");
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        assert_eq!(found["to"], serde_json::json!(["Zoë Doe", "reader7@example.org"]));
        assert_eq!(found["from"], "digest@lake.example.org");
        assert_eq!(
            found["message_id"],
            format!("<{}>", message().message_id("reader7@example.org"))
        );
        assert_eq!(found["pictures"], 2);
        let date: chrono::DateTime<chrono::Utc> = found["date"]
            .as_str()
            .and_then(|d| d.parse().ok())
            .expect("a date");
        assert_eq!(date, digest().brief.as_of);
        let events = found["events"].as_array().expect("events");
        let turnover = digest().turnover;
        assert_eq!(
            events.len(),
            digest().best_hours.len() + usize::from(turnover.is_some())
        );
        if let (Some(window), Some(last)) = (turnover, events.last()) {
            // By whole days, from the day of the letter where it may have begun.
            let first = window
                .early
                .map_or("2025-10-09".to_owned(), |day| day.to_string());
            assert_eq!(last["from"], first);
        }
        for (event, best) in events.iter().zip(&digest().best_hours) {
            let from: chrono::DateTime<chrono::Utc> = event["from"]
                .as_str()
                .and_then(|d| d.parse().ok())
                .expect("a time");
            assert_eq!(from, best.from);
        }
        both_parts_have_the_same_numbers(&found);
        assert!(
            found["bytes"].as_u64() <= Some(500_000)
                && found["bytes_without_pictures"].as_u64() <= Some(100_000)
        );
    }
}

/// Every number of the text stands in the HTML.
fn both_parts_have_the_same_numbers(found: &Value) {
    let numbers = |text: &str| -> std::collections::BTreeSet<String> {
        let parts = text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','));
        let parts = parts.map(|p| p.trim_matches(['.', ',']).to_owned());
        parts.filter(|p| p.chars().any(|c| c.is_ascii_digit())).collect()
    };
    let text = numbers(found["text"].as_str().expect("text"));
    let html = numbers(found["html_words"].as_str().expect("words"));
    let only: Vec<&String> = text.difference(&html).collect();
    assert!(only.is_empty() && text.len() > 50, "in the text alone: {only:?}");
}
