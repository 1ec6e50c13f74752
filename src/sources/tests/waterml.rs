//! Invented WaterML files through lake file and parser.

use super::scene::{all_jobs, at, client, fixture, lake, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::sources::waterml::read_values;
use crate::sources::{Fetched, ReadError, SourceError, read_saved, run};

const FILE: &str = "replies/waterml/sorrel.xml";

fn source(id: &str, quantity: Quantity, station: &str, parameter: &str, cadence: Cadence) -> SeriesSource {
    SeriesSource {
        cadences: vec![cadence],
        file: Some(FILE.into()),
        ..series(id, quantity, "waterml", station, parameter)
    }
}

#[tokio::test]
async fn two_series_of_one_file_come_with_their_instants_and_their_days() {
    let lake = lake(vec![
        source(
            "flow",
            Quantity::Inflow,
            "USGS-990000030",
            "00060",
            Cadence::Continuous,
        ),
        source(
            "storage",
            Quantity::Storage,
            "HARROW-DAM",
            "storage",
            Cadence::Daily,
        ),
    ]);
    let mut jobs = all_jobs(&lake, at("2025-11-03T12:00:00Z"));
    assert_eq!(jobs.len(), 1);
    let fetched = run(&client("http://127.0.0.1:1").await, &lake, &jobs.pop().unwrap())
        .await
        .unwrap();
    let batches: Vec<_> = fetched
        .iter()
        .filter_map(|part| match part {
            Fetched::Observations(batch) => Some(batch),
            _ => None,
        })
        .collect();
    // 01:30 of the night when clocks go back, at -07:00 and at -08:00, is 08:30 and 09:30 UTC.
    let times: Vec<String> = batches[0]
        .rows
        .iter()
        .map(|row| row.time.format("%H:%M").to_string())
        .collect();
    assert_eq!(times, ["08:30", "09:30", "10:00", "10:45"]);
    assert_eq!(batches[0].rows[2].value, None);
    assert_eq!(batches[0].rows[2].qualifier.as_deref(), Some("P, Ice, -999999"));
    // 612 x 0.028316846592; tolerance: the ninth figure.
    assert!((batches[0].rows[0].value.unwrap() - 17.329_910_114).abs() < 1e-8);
    // Midnights without an offset are days, of standard time: 08:00 UTC on both sides of 9 March.
    let days: Vec<String> = batches[1]
        .rows
        .iter()
        .map(|row| row.time.format("%m-%dT%H").to_string())
        .collect();
    assert_eq!(days, ["03-09T08", "03-10T08"]);
    // 401000 x 1233.48183754752; tolerance: the ninth figure.
    assert!((batches[1].rows[0].value.unwrap() / 494_626_216.857 - 1.0).abs() < 1e-9);
}

#[test]
fn a_time_without_an_offset_a_word_and_a_series_without_a_site_are_named() {
    let page = read_values(&fixture(FILE)).unwrap();
    let faults: Vec<String> = page.faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        faults,
        [
            "timeSeries 1, value 4: found \"2025-11-02T02:15:00\", wanted a time with its offset, or the midnight of a day",
            "timeSeries 1, value 5: found \"lots\", wanted a number",
            "timeSeries 3: found nothing, wanted a siteCode",
        ]
    );
    assert_eq!(page.rows.len(), 6);
    assert_eq!(page.rows[0].series_id, "7");
}

#[test]
fn a_cut_file_a_bomb_and_another_kind_are_refused() {
    for (file, words) in [
        ("damaged/reply-waterml-cut.xml", "found XML that cannot be read"),
        ("damaged/reply-waterml-bomb.xml", "found XML that cannot be read"),
        ("damaged/reply-page.html", ""),
    ] {
        let fault = read_values(&fixture(file)).unwrap_err();
        assert!(
            matches!(&fault, ReadError::Markup { .. } | ReadError::Kind { .. })
                && fault.to_string().contains(words),
            "{file}: {fault}"
        );
    }
}

#[tokio::test]
async fn a_file_that_is_not_there_is_named() {
    let mut series = source(
        "flow",
        Quantity::Inflow,
        "USGS-990000030",
        "00060",
        Cadence::Continuous,
    );
    series.file = Some("nowhere.xml".into());
    let lake = lake(vec![series]);
    let job = all_jobs(&lake, at("2025-11-03T12:00:00Z")).pop().unwrap();
    let error = run(&client("http://127.0.0.1:1").await, &lake, &job)
        .await
        .unwrap_err();
    assert!(
        matches!(&error, SourceError::File { path, .. } if path.ends_with("nowhere.xml")),
        "{error}"
    );
}

#[test]
fn a_saved_file_is_recognised() {
    let saved = read_saved(None, &fixture(FILE), FILE).unwrap();
    assert_eq!((saved.service, saved.records.len()), ("waterml", 6));
}
