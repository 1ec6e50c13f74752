//! The California service: two recorded replies of the CSV servlet and one of the JSON servlet; figures read off
//! the files by eye.

use chrono_tz::America::Los_Angeles;
use plungeline::clock::LakeClock;
use plungeline::lake::Cadence;
use plungeline::quantity::Quantity;
use plungeline::series::Flag;
use plungeline::sources::cdec::{Readings, read_readings, to_batch};
use plungeline::sources::read_saved;

use super::{at, want};
use crate::validation::data;

fn bytes(file: &str) -> Option<Vec<u8>> {
    let path = data(&format!("recordings/cdec/{file}"))?;
    Some(std::fs::read(path).unwrap())
}

fn readings(file: &str) -> Option<Readings> {
    Some(read_readings(&bytes(file)?).unwrap())
}

#[test]
fn recorded_water_temperatures_of_every_quarter_of_an_hour_are_read_with_their_gaps() {
    let Some(found) = readings("lis_sensor25_20260130.csv") else {
        return;
    };
    assert!(found.faults.is_empty());
    let want = want(Quantity::RiverTemp, Cadence::Continuous, "cdec", "LIS", "25/E");
    let now = at("2026-01-31T00:00:00Z");
    let rows = to_batch(&found.rows, &want, LakeClock::new(Los_Angeles), now, now)
        .unwrap()
        .batch
        .rows;
    assert_eq!(rows.len(), 7);
    // 00:00 Pacific standard time is 08:00 UTC; the last row, without a line end, is 01:30.
    assert_eq!(rows[0].time, at("2026-01-30T08:00:00Z"));
    assert_eq!(rows[6].time, at("2026-01-30T09:30:00Z"));
    for row in &rows[..4] {
        // (52.4 - 32) / 1.8; tolerance: the tenth figure.
        assert!((row.value.unwrap() - 11.333_333_333).abs() < 1e-9);
        assert_eq!(row.original_value, Some(52.4));
    }
    for row in &rows[4..] {
        assert_eq!(
            (row.value, row.flag, row.qualifier.as_deref()),
            (None, Flag::Missing, Some("---"))
        );
    }
}

#[test]
fn a_recorded_river_stage_is_shown_and_is_no_lake_level() {
    let Some(bytes) = bytes("lis_sensor1_excerpt_202601.csv") else {
        return;
    };
    let saved = read_saved(None, &bytes, "any").unwrap();
    assert_eq!(
        (saved.service, saved.records.len(), saved.faults.len()),
        ("cdec", 3, 0)
    );
    let values: Vec<_> = saved.records.iter().map(|r| (r.time.as_str(), r.value)).collect();
    assert_eq!(
        values,
        [
            ("2026-01-15T02:00:00Z", Some(13.31)),
            ("2026-01-15T06:00:00Z", None),
            ("2026-01-15T08:00:00Z", Some(13.27)),
        ]
    );
    assert!(
        saved
            .records
            .iter()
            .all(|r| r.quantity.is_none() && r.unit == "FEET")
    );
}

#[test]
fn a_recorded_storage_with_its_date_without_zeros_is_read() {
    let Some(found) = readings("sha_sensor15_records.json") else {
        return;
    };
    assert!(found.faults.is_empty());
    let want = want(Quantity::Storage, Cadence::Continuous, "cdec", "SHA", "15");
    let now = at("2026-04-02T00:00:00Z");
    let rows = to_batch(&found.rows, &want, LakeClock::new(Los_Angeles), now, now)
        .unwrap()
        .batch
        .rows;
    assert_eq!(rows.len(), 1);
    // In daylight time, and still UTC-8.
    assert_eq!(rows[0].time, at("2026-04-01T08:00:00Z"));
    // 4090763 AF x 1233.48183754752; tolerance: the tenth figure.
    assert!((rows[0].value.unwrap() - 5_045_881_862.2).abs() < 1.0);
    assert_eq!(rows[0].qualifier, None, "a blank flag is none");
}
