//! Whatever the National Weather Service sends, its readers answer; they never panic.

use std::path::PathBuf;

use chrono::{DateTime, Utc};
use plungeline::lake::{Cadence, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::sources::nws::{
    LAYERS, read_alerts, read_grid, read_observations, read_point, read_stations, to_batch, to_forecast,
};
use plungeline::sources::{Want, read_saved};
use proptest::prelude::*;

const FILES: [&str; 8] = [
    "point-harrow-gap",
    "stations-harrow-gap",
    "grid-harrow-gap",
    "observations-xhga",
    "alerts-harrow-gap",
    "alerts-none",
    "problem-invalid-point",
    "problem-grid-expired",
];

/// Values that have tripped readers of such replies, as JSON.
const TRAPS: [&str; 14] = [
    "null",
    "1e308",
    "-1e308",
    "99999999999999999999",
    "\"\"",
    "{}",
    "[]",
    "true",
    "\"2025-10-09T09:00:00+00:00/P60D\"",
    "\"2025-10-09T09:00:00+00:00/PT1S\"",
    "\"9999-12-31T23:59:59+00:00/P7D\"",
    "\"0000-01-01T00:00:00-23:59\"",
    "\"NaN\"",
    "\"../..\"",
];

fn as_of() -> DateTime<Utc> {
    "2025-10-09T11:30:00Z".parse().unwrap()
}

fn good(which: usize) -> String {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/replies/nws");
    std::fs::read_to_string(folder.join(format!("{}.json", FILES[which]))).unwrap()
}

fn want(quantity: Quantity, cadence: Cadence, parameter: &str) -> Want {
    let series = SeriesSource {
        station: "XHGA".to_owned(),
        cadences: vec![cadence],
        ..SeriesSource::of("any", quantity, "nws", parameter)
    };
    Want {
        series,
        cadence,
        from: None,
    }
}

/// Every reader on the same bytes, and what follows from what they read.
fn read_all(bytes: &[u8]) {
    let _ = read_saved(Some("nws"), bytes, "any");
    let _ = read_saved(None, bytes, "any");
    let _ = read_stations(bytes);
    if let Ok(point) = read_point(bytes) {
        let path = point.grid_path();
        assert!(!path.contains("..") && path.matches('/').count() == 3, "{path}");
    }
    if let Ok(found) = read_alerts(bytes) {
        let far = (DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MAX_UTC);
        assert!(
            found
                .alerts
                .iter()
                .all(|alert| !alert.event.is_empty() || alert.touches(far.0, far.1))
        );
        assert!(found.unread <= found.faults.len(), "each one left out is named");
    }
    if let Ok(grid) = read_grid(bytes) {
        for layer in LAYERS {
            let want = want(layer.quantity, Cadence::Forecast, layer.name);
            if let Ok(forecast) = to_forecast(&grid, &want, as_of(), as_of(), "any") {
                assert!(forecast.time.windows(2).all(|w| w[0] < w[1]), "{}", layer.name);
                assert_eq!(forecast.value.len(), 1);
                assert_eq!(forecast.value[0].len(), forecast.time.len());
                assert!(forecast.value[0].iter().flatten().all(|v| v.is_finite()));
            }
        }
    }
    if let Ok(observed) = read_observations(bytes) {
        for layer in LAYERS {
            let want = want(layer.quantity, Cadence::Continuous, layer.name);
            if let Ok(filled) = to_batch(&observed, &want, as_of(), as_of()) {
                let rows = &filled.batch.rows;
                assert!(rows.windows(2).all(|w| w[0].time < w[1].time), "{}", layer.name);
                let sound = |v: Option<f64>| v.is_none_or(f64::is_finite);
                assert!(rows.iter().all(|r| r.time <= as_of() && sound(r.value)));
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
    fn a_good_reply_with_bytes_changed_or_cut_short_is_read_or_refused(
        which in 0..FILES.len(),
        changes in proptest::collection::vec((any::<proptest::sample::Index>(), any::<u8>()), 0..6),
        cut in proptest::option::of(any::<proptest::sample::Index>()),
    ) {
        let mut bytes = good(which).into_bytes();
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        read_all(&bytes);
    }

    #[test]
    fn a_trap_in_place_of_any_value_is_read_or_refused(which in 0..FILES.len(), nth in 0..200_usize, trap in 0..TRAPS.len()) {
        let mut value: serde_json::Value = serde_json::from_str(&good(which)).unwrap();
        let mut places = Vec::new();
        pointers(&value, String::new(), &mut places);
        let place = &places[nth % places.len()];
        *value.pointer_mut(place).unwrap() = serde_json::from_str(TRAPS[trap]).unwrap();
        read_all(value.to_string().as_bytes());
    }
}

/// The JSON pointers of all values below.
fn pointers(value: &serde_json::Value, at: String, found: &mut Vec<String>) {
    let escaped = |key: &str| key.replace('~', "~0").replace('/', "~1");
    match value {
        serde_json::Value::Object(map) => {
            for (key, inner) in map {
                pointers(inner, format!("{at}/{}", escaped(key)), found);
            }
        }
        serde_json::Value::Array(list) => {
            for (k, inner) in list.iter().enumerate() {
                pointers(inner, format!("{at}/{k}"), found);
            }
        }
        _ => {}
    }
    if !at.is_empty() {
        found.push(at);
    }
}
