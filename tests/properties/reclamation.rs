//! Whatever the services of the Bureau of Reclamation send (`rise`, `hydromet`), their readers answer; they never panic.

use std::path::PathBuf;

use chrono::{DateTime, Utc};
use plungeline::clock::LakeClock;
use plungeline::lake::{Cadence, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::sources::csv::StampZone;
use plungeline::sources::usgs_ogc::{Row, to_batch};
use plungeline::sources::{Want, hydromet, read_saved, rise};
use proptest::prelude::*;

const FILES: [&str; 5] = [
    "rise/result-99001-page1.json",
    "rise/result-99001-page2.json",
    "rise/catalog-item-99001.json",
    "rise/location-990-items.json",
    "hydromet/webdaycsv-xhgx-clocks-back.txt",
];

/// Values that have tripped readers of such replies.
const TRAPS: [&str; 12] = [
    "null",
    "1e308",
    "99999999999999999999",
    "\"\"",
    "{}",
    "[]",
    "\"9999-12-31T23:59:60Z\"",
    "\"0000-01-01T00:00:00-23:59\"",
    "12/31/9999 23:59",
    "NaN",
    "é",
    "\u{0}",
];

fn as_of() -> DateTime<Utc> {
    "2025-12-01T00:00:00Z".parse().unwrap()
}

fn good(which: usize) -> Vec<u8> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/replies");
    std::fs::read(folder.join(FILES[which])).unwrap()
}

fn want(cadence: Cadence, station: &str, parameter: &str) -> Want {
    let series = SeriesSource {
        station: station.to_owned(),
        cadences: vec![cadence],
        datum_offset_m: Some(1.0),
        ..SeriesSource::of("any", Quantity::PoolElevation, "", parameter)
    };
    Want {
        series,
        cadence,
        from: None,
    }
}

/// Rows become observations in order, none later than the clock, each a finite figure or none.
fn check(rows: &[Row], want: &Want) {
    let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
    if let Ok(filled) = to_batch(rows, want, clock, as_of(), as_of()) {
        let rows = &filled.batch.rows;
        assert!(rows.windows(2).all(|w| w[0].time < w[1].time));
        assert!(
            rows.iter()
                .all(|row| row.time <= as_of() && row.value.is_none_or(f64::is_finite))
        );
    }
}

fn read_all(bytes: &[u8]) {
    let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
    for service in ["rise", "hydromet"] {
        let _ = read_saved(Some(service), bytes, "any");
    }
    let _ = rise::read_locations(bytes);
    if let Ok(results) = rise::read_results(bytes) {
        let item = rise::read_items(&good(2)).unwrap().0.remove(0);
        for cadence in [Cadence::Daily, Cadence::Continuous] {
            let want = want(cadence, "990", "99001");
            let (rows, faults) = rise::to_rows(&results, &item, &want, clock);
            // Nothing is lost in silence.
            assert_eq!(rows.len() + faults.len(), results.outcomes.len());
            check(&rows, &want);
        }
    }
    if let Ok(page) = hydromet::read_values(bytes) {
        let want = want(Cadence::Continuous, "XHGX", "fb");
        for zone in ["America/Los_Angeles", "-08:00"] {
            let (rows, _) = hydromet::to_rows(&page, &want, StampZone::read(zone).unwrap());
            check(&rows, &want);
        }
    }
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        read_all(&bytes);
    }

    #[test]
    fn a_good_reply_with_a_trap_anywhere_is_read_or_refused(
        which in 0..FILES.len(),
        trap in 0..TRAPS.len(),
        at in 0.0..1.0f64,
        cut in 0..24usize,
    ) {
        let mut bytes = good(which);
        let from = (at * bytes.len() as f64) as usize;
        let to = (from + cut).min(bytes.len());
        bytes.splice(from..to, TRAPS[trap].bytes());
        read_all(&bytes);
    }

    #[test]
    fn a_page_with_any_text_between_its_marks_is_read(below in "[0-9A-Z,./: +\\-\n]{0,300}") {
        let text = format!("BEGIN DATA\nDATE TIME , XHGX FB\n{below}\nEND DATA\n");
        prop_assert!(hydromet::read_values(text.as_bytes()).is_ok());
        read_all(text.as_bytes());
    }

    #[test]
    fn a_reply_cut_anywhere_is_refused(which in 0..FILES.len(), at in 0.0..0.95f64) {
        let mut bytes = good(which);
        bytes.truncate((at * bytes.len() as f64) as usize);
        let is_refused = if which == 4 {
            hydromet::read_values(&bytes).is_err()
        } else {
            rise::read_results(&bytes).is_err()
        };
        prop_assert!(is_refused);
    }
}
