//! Whatever the services of rivers send (`cdec`, `nwps`), their readers answer; they never panic.

use std::path::PathBuf;

use chrono::{DateTime, Utc};
use plungeline::clock::LakeClock;
use plungeline::lake::{Cadence, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::series::Batch;
use plungeline::sources::nwps::Part;
use plungeline::sources::{Want, cdec, nwps, read_saved};
use proptest::prelude::*;

const FILES: [&str; 6] = [
    "cdec/daily-xhg-15.json",
    "cdec/event-xhg-25.csv",
    "nwps/observed-srlx9.json",
    "nwps/forecast-srlx9.json",
    "nwps/stageflow-srlx9.json",
    "nwps/forecast-none.json",
];

/// Values that have tripped readers of such replies.
const TRAPS: [&str; 16] = [
    "null",
    "1e308",
    "-1e308",
    "99999999999999999999",
    "\"\"",
    "{}",
    "[]",
    "true",
    "\"262142-12-31 0:00\"",
    "\"9999-12-31 23:59\"",
    "\"9999-12-31T23:59:60Z\"",
    "\"0000-01-01T00:00:00-23:59\"",
    "99991231 2359",
    "-9999",
    "\"NaN\"",
    "é",
];

fn as_of() -> DateTime<Utc> {
    "2025-10-09T11:30:00Z".parse().unwrap()
}

fn good(which: usize) -> Vec<u8> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/replies");
    std::fs::read(folder.join(FILES[which])).unwrap()
}

fn want(quantity: Quantity, cadence: Cadence, station: &str, parameter: &str) -> Want {
    let series = SeriesSource {
        station: station.to_owned(),
        cadences: vec![cadence],
        datum_offset_m: Some(1.0),
        ..SeriesSource::of("any", quantity, "", parameter)
    };
    Want {
        series,
        cadence,
        from: None,
    }
}

fn assert_in_order(batch: &Batch) {
    assert!(batch.rows.windows(2).all(|w| w[0].time < w[1].time));
    assert!(
        batch
            .rows
            .iter()
            .all(|row| row.time <= as_of() && row.value.is_none_or(f64::is_finite))
    );
}

/// Every reader on the same bytes, and what follows from what they read.
fn read_all(bytes: &[u8]) {
    let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
    for service in ["cdec", "nwps"] {
        let _ = read_saved(Some(service), bytes, "any");
    }
    if let Ok(readings) = cdec::read_readings(bytes) {
        for want in [
            want(Quantity::Storage, Cadence::Daily, "XHG", "15"),
            want(Quantity::RiverTemp, Cadence::Continuous, "XHG", "25/E"),
        ] {
            if let Ok(filled) = cdec::to_batch(&readings.rows, &want, clock, as_of(), as_of()) {
                assert_in_order(&filled.batch);
            }
        }
    }
    for part in [Part::Observed, Part::Forecast] {
        let Ok(block) = nwps::read_stageflow(bytes, part) else {
            continue;
        };
        for (quantity, name) in [(Quantity::PoolElevation, "stage"), (Quantity::Inflow, "flow")] {
            let observed = want(quantity, Cadence::Continuous, "SRLX9", name);
            if let Ok(found) = nwps::to_batch(&block, &observed, as_of(), as_of()) {
                assert_in_order(&found.filled);
            }
            let forecast = want(quantity, Cadence::Forecast, "SRLX9", name);
            if let Ok(found) = nwps::to_forecast(&block, &forecast, as_of())
                && let Some(forecast) = found.filled
            {
                assert!(forecast.time.windows(2).all(|w| w[0] < w[1]));
                assert_eq!(forecast.value[0].len(), forecast.time.len());
                assert!(forecast.value[0].iter().any(Option::is_some));
            }
        }
    }
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        read_all(&bytes);
    }

    #[test]
    fn a_header_with_any_text_below_is_read(below in "[0-9A-Z,. \\-\n]{0,300}") {
        let header = "STATION_ID,DURATION,SENSOR_NUMBER,SENSOR_TYPE,DATE TIME,OBS DATE,VALUE,DATA_FLAG,UNITS\n";
        let text = format!("{header}{below}");
        prop_assert!(cdec::read_readings(text.as_bytes()).is_ok());
        read_all(text.as_bytes());
    }

    #[test]
    fn a_good_reply_with_bytes_changed_or_cut_is_read_or_refused(
        which in 0..FILES.len(),
        changes in proptest::collection::vec((any::<proptest::sample::Index>(), any::<u8>()), 0..6),
        cut in any::<proptest::sample::Index>(),
        is_cut in any::<bool>(),
    ) {
        let mut bytes = good(which);
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        if is_cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        read_all(&bytes);
    }

    #[test]
    fn cut_json_is_never_taken_for_a_whole_reply(which in 0..FILES.len(), cut in any::<proptest::sample::Index>()) {
        let mut bytes = good(which);
        prop_assume!(FILES[which].ends_with("json"));
        bytes.truncate(cut.index(bytes.len() - 2));
        prop_assert!(cdec::read_readings(&bytes).is_err());
        prop_assert!(nwps::read_stageflow(&bytes, Part::Observed).is_err());
    }

    #[test]
    fn a_trap_in_place_of_any_value_is_read_or_refused(which in 0..FILES.len(), nth in 0..140_usize, trap in 0..TRAPS.len()) {
        let text = String::from_utf8(good(which)).unwrap();
        let mark = if FILES[which].ends_with("csv") { "," } else { "\": " };
        let starts: Vec<usize> = text.match_indices(mark).map(|(k, _)| k + mark.len()).collect();
        let start = starts[nth % starts.len()];
        let end = text[start..].find(['\n', ',']).map_or(text.len(), |k| start + k);
        read_all(format!("{}{}{}", &text[..start], TRAPS[trap], &text[end..]).as_bytes());
    }
}
