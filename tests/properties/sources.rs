//! Whatever a service sends, a parser answers; it never panics.

use std::path::PathBuf;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use plungeline::clock::LakeClock;
use plungeline::lake::{Cadence, CsvColumns, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::series::{Approval, Batch, Provenance};
use plungeline::sources::open_meteo::{Context, read_weather};
use plungeline::sources::replay::Index;
use plungeline::sources::usgs_ogc::{read_observations, read_stations};
use plungeline::sources::{SERVICES, Want, csv, open_meteo, read_saved, usgs_ogc};
use proptest::prelude::*;

/// Texts that have tripped readers of such replies.
const TRAPS: [&str; 14] = [
    "262142-12-31",
    "-262143-01-01",
    "9999-12-31T23:59:60Z",
    "1e999",
    "-999999",
    "null",
    "NaN",
    "\"\"",
    "{}",
    "[",
    "99999999999999999999",
    "-1e12",
    "é",
    "\u{0}",
];

fn as_of() -> DateTime<Utc> {
    DateTime::parse_from_rfc3339("2025-10-09T11:30:00Z")
        .unwrap()
        .with_timezone(&Utc)
}

fn fixtures() -> Vec<Vec<u8>> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/replies");
    let files = [
        "usgs-ogc/daily-990000010-62614.json",
        "usgs-ogc/continuous-990000030-00060-page2.json",
        "usgs-ogc/monitoring-locations-990000010.json",
        "open-meteo/forecast-harrow-gap.json",
        "open-meteo/ensemble-harrow-gap.json",
        "open-meteo/archive-daily-harrow-gap.json",
        "csv/casts-harrow-gap.csv",
        "csv/readings-harrow-gap.csv",
    ];
    files
        .iter()
        .map(|file| std::fs::read(folder.join(file)).unwrap())
        .collect()
}

fn want(quantity: Quantity, cadence: Cadence, parameter: &str) -> Want {
    let series = SeriesSource {
        station: "USGS-990000010".to_owned(),
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

fn is_in_order(batch: &Batch) -> bool {
    batch
        .rows
        .windows(2)
        .all(|w| (w[0].time, w[0].depth_m) < (w[1].time, w[1].depth_m))
        && batch
            .rows
            .iter()
            .all(|row| row.time <= as_of() && row.value.is_none_or(f64::is_finite))
}

/// Every reader on the same bytes, and what follows from what they read.
fn read_all(bytes: &[u8]) {
    let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
    let _ = read_saved(None, bytes, "any");
    for service in SERVICES {
        let _ = read_saved(Some(service.name), bytes, "any");
    }
    let _ = read_stations(bytes);
    if let Ok(page) = read_observations(bytes) {
        for (quantity, code) in [(Quantity::PoolElevation, "62614"), (Quantity::Inflow, "00060")] {
            for cadence in [Cadence::Daily, Cadence::Continuous] {
                let want = want(quantity, cadence, code);
                if let Ok(filled) = usgs_ogc::to_batch(&page.rows, &want, clock, as_of(), as_of()) {
                    assert!(is_in_order(&filled.batch));
                }
            }
        }
    }
    if let Ok(weather) = read_weather(bytes) {
        let context = Context {
            clock,
            as_of: as_of(),
            retrieved_at: as_of(),
            issued_at: as_of(),
            position: "any",
            approval: Approval::Unstated,
        };
        let air = |cadence| want(Quantity::AirTemp, cadence, "temperature_2m");
        for (table, cadence) in [
            (&weather.daily, Cadence::Daily),
            (&weather.hourly, Cadence::Continuous),
        ] {
            if let Some(Ok(batch)) = table
                .as_ref()
                .map(|t| open_meteo::to_batch(t, &air(cadence), context))
            {
                assert!(is_in_order(&batch));
            }
        }
        if let Some(Ok(forecast)) = weather
            .hourly
            .as_ref()
            .map(|t| open_meteo::to_forecast(t, &air(Cadence::Forecast), context))
        {
            assert!(forecast.time.windows(2).all(|w| w[0] < w[1]));
            assert!(
                forecast
                    .value
                    .iter()
                    .all(|member| member.len() == forecast.time.len())
            );
        }
    }
    let columns = CsvColumns {
        path: "any.csv".into(),
        time: "time".to_owned(),
        value: "temp_f".to_owned(),
        depth: Some("depth_m".to_owned()),
        stamp_zone: "America/Los_Angeles".to_owned(),
        missing: vec!["NA".to_owned()],
    };
    let zone = csv::StampZone::Named(chrono_tz::America::Los_Angeles);
    if let Ok(readings) = csv::read_water_readings(bytes, zone) {
        assert!(
            readings
                .rows
                .iter()
                .all(|row| row.depth_m >= 0.0 && row.depth_m.is_finite())
        );
    }
    if let Ok(table) = csv::read_table(bytes, &columns) {
        let provenance = Arc::new(Provenance {
            service: "csv".to_owned(),
            station: "any".to_owned(),
            parameter: "temp_f".to_owned(),
            original_unit: "degF".to_owned(),
            retrieved_at: as_of(),
        });
        let want = want(Quantity::WaterTemp, Cadence::Continuous, "temp_f");
        let (batch, _) = csv::to_batch(&table, &want, clock, as_of(), &provenance).unwrap();
        assert!(is_in_order(&batch));
    }
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        read_all(&bytes);
    }

    #[test]
    fn a_good_reply_with_bytes_changed_is_read_or_refused(
        which in 0..7_usize,
        changes in proptest::collection::vec((any::<proptest::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let mut bytes = fixtures().swap_remove(which);
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        read_all(&bytes);
    }

    #[test]
    fn a_good_reply_with_a_trap_or_cut_short_is_read_or_refused(
        which in 0..7_usize,
        place in any::<proptest::sample::Index>(),
        trap in 0..TRAPS.len(),
        replaces in 0..12_usize,
        is_cut in any::<bool>(),
    ) {
        let mut bytes = fixtures().swap_remove(which);
        let place = place.index(bytes.len());
        if is_cut {
            bytes.truncate(place);
        } else {
            let end = (place + replaces).min(bytes.len());
            bytes.splice(place..end, TRAPS[trap].bytes());
        }
        read_all(&bytes);
    }

    #[test]
    fn a_trap_in_place_of_any_json_value_is_read_or_refused(which in 0..6_usize, nth in 0..120_usize, trap in 0..TRAPS.len()) {
        let text = String::from_utf8(fixtures().swap_remove(which)).unwrap();
        // What stands after the n-th `": "` up to the end of its line is a value.
        let starts: Vec<usize> = text.match_indices("\": ").map(|(k, _)| k + 3).collect();
        let start = starts[nth % starts.len()];
        let end = text[start..].find(['\n', ',']).map_or(text.len(), |k| start + k);
        for quoted in [TRAPS[trap].to_owned(), format!("\"{}\"", TRAPS[trap])] {
            read_all(format!("{}{quoted}{}", &text[..start], &text[end..]).as_bytes());
        }
    }

    #[test]
    fn a_damaged_replay_index_is_read_or_refused(place in any::<proptest::sample::Index>(), byte in any::<u8>()) {
        let good = br#"{"format": "plungeline-replay-1", "entries": [{"service": "s", "host": "h", "path": "/p",
            "query": {"a": "b"}, "window": {"from": "2014-01-01", "to": "2014-12-31"}, "known_from": null,
            "known_until": "2025-10-09T12:30:00Z", "status": 200, "body": "s/x.json.gz"}]}"#;
        let mut bytes = good.to_vec();
        let place = place.index(bytes.len());
        bytes[place] = byte;
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("index.json"), bytes).unwrap();
        if let Ok(index) = Index::read(folder.path()) {
            let _ = index.find("h", "/p", &[("a".to_owned(), "b".to_owned())], as_of());
        }
    }
}
