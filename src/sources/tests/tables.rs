//! Local tables through the same road.

use super::scene::{at, client, clock, fetch_all, fixture, lake, table};
use crate::lake::{Cadence, CsvColumns, SeriesSource};
use crate::quantity::Quantity;
use crate::series::Batch;
use crate::sources::{Fetched, ReadError, RowFault, SourceError, jobs, run};

fn parts(fetched: &[Fetched]) -> (&Batch, Vec<&RowFault>) {
    let batch = fetched.iter().find_map(|f| {
        if let Fetched::Observations(batch) = f {
            Some(batch)
        } else {
            None
        }
    });
    let faults = fetched.iter().filter_map(|f| {
        if let Fetched::Faults { faults, .. } = f {
            Some(faults)
        } else {
            None
        }
    });
    (batch.unwrap(), faults.flatten().collect())
}

fn evaporation(file: &str) -> SeriesSource {
    table(
        "evaporation",
        Quantity::Evaporation,
        file,
        "date",
        "evaporation_acre_ft",
        "acre-ft",
    )
}

#[tokio::test]
async fn a_day_of_evaporation_becomes_a_flow() {
    let lake = lake(vec![evaporation("replies/csv/evaporation-harrow-gap.csv")]);
    let fetched = fetch_all(&client("http://127.0.0.1:9").await, &lake).await;
    let (batch, faults) = parts(&fetched);
    assert!(faults.is_empty());
    let times: Vec<_> = batch.rows.iter().map(|row| row.time).collect();
    assert_eq!(
        times,
        [5, 6, 7, 8].map(|day| at(&format!("2025-10-0{day}T08:00:00Z")))
    );
    // 41.2 acre-ft x 1233.48183754752 / 86400; tolerance: the ninth figure.
    assert!((batch.rows[0].value.unwrap() - 0.588_188_098).abs() < 1e-8);
    assert_eq!(batch.rows[1].value, None);
    assert_eq!(batch.rows[0].provenance.station, "evaporation-harrow-gap.csv");
}

#[tokio::test]
async fn casts_keep_their_depths_and_contradictions_are_named() {
    let base = table(
        "casts",
        Quantity::WaterTemp,
        "replies/csv/casts-harrow-gap.csv",
        "time",
        "temp_f",
        "degF",
    );
    let csv = CsvColumns {
        depth: Some("depth_m".to_owned()),
        stamp_zone: "America/Los_Angeles".to_owned(),
        ..base.csv.clone().unwrap()
    };
    let lake = lake(vec![SeriesSource {
        cadences: vec![Cadence::Continuous],
        continuous_from: Some("2025-01-01".parse().unwrap()),
        csv: Some(csv),
        ..base
    }]);
    let fetched = fetch_all(&client("http://127.0.0.1:9").await, &lake).await;
    let (batch, faults) = parts(&fetched);
    // 60.8 degF = 16 degC, 59 degF = 15 degC; the cast of November is after the clock.
    let rows: Vec<_> = batch
        .rows
        .iter()
        .map(|r| (r.time, r.depth_m.unwrap(), r.value.unwrap()))
        .collect();
    assert_eq!(rows.len(), 2);
    for (row, (depth_m, degc)) in rows.iter().zip([(0.91, 16.0), (9.14, 15.0)]) {
        assert_eq!((row.0, row.1), (at("2025-10-05T16:30:00Z"), depth_m));
        assert!((row.2 - degc).abs() < 1e-9);
    }
    let places: Vec<&str> = faults.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(places, ["line 6", "line 7", "line 5"]);
    assert!(faults[2].found.contains("line 3"), "{}", faults[2]);
}

#[tokio::test]
async fn bad_rows_cost_themselves_only() {
    let lake = lake(vec![evaporation("damaged/reply-csv-rows.csv")]);
    let fetched = fetch_all(&client("http://127.0.0.1:9").await, &lake).await;
    let (batch, faults) = parts(&fetched);
    assert_eq!((batch.rows.len(), faults.len()), (1, 3));
}

#[tokio::test]
async fn a_file_that_is_not_there_or_cut_short_is_named() {
    let client = client("http://127.0.0.1:9").await;
    for (file, words) in [
        ("replies/csv/nothing.csv", "cannot open"),
        ("damaged/reply-csv-cut.csv.gz", "the file is cut short or damaged"),
        (
            "damaged/reply-empty.json",
            "found an empty body, wanted a header line",
        ),
    ] {
        let lake = lake(vec![evaporation(file)]);
        let need = crate::sources::Need {
            series: &lake.series[0],
            cadence: Cadence::Daily,
            from: None,
            to: clock(),
        };
        let job = jobs(&lake, &[need]).remove(0);
        let error = run(&client, &lake, &job).await.unwrap_err();
        let not_there = matches!(error, SourceError::File { .. });
        assert_eq!(not_there, file.ends_with("nothing.csv"), "{error}");
        assert!(error.to_string().contains(words), "{error}");
        assert!(error.to_string().contains(file), "{error}");
    }
}

#[test]
fn a_saved_file_is_recognised_and_read_without_a_lake() {
    use crate::sources::read_saved;
    for (file, service, kind, records) in [
        (
            "replies/usgs-ogc/daily-990000010-62614.json",
            "usgs-ogc",
            "observations",
            7,
        ),
        (
            "replies/usgs-ogc/monitoring-locations-990000010.json",
            "usgs-ogc",
            "stations",
            1,
        ),
        (
            "replies/open-meteo/ensemble-harrow-gap.json",
            "open-meteo",
            "ensemble",
            36,
        ),
        (
            "replies/open-meteo/archive-daily-harrow-gap.json",
            "open-meteo",
            "weather",
            16,
        ),
        ("replies/csv/evaporation-harrow-gap.csv", "csv", "table", 5),
    ] {
        let saved = read_saved(None, &fixture(file), file).unwrap();
        assert_eq!(
            (saved.service, saved.kind.as_str(), saved.records.len()),
            (service, kind, records),
            "{file}"
        );
    }
    let saved = read_saved(None, &fixture("replies/usgs-ogc/daily-990000010-62614.json"), "x").unwrap();
    // 812.40 x 0.3048, no datum offset; tolerance: the eighth figure.
    assert!((saved.records[0].value_si.unwrap() - 247.619_52).abs() < 1e-6);
    assert_eq!(saved.records[0].approval, crate::series::Approval::Approved);
}

#[test]
fn a_damaged_file_is_told_apart_by_what_is_wrong_with_it() {
    use crate::sources::read_saved;
    let fault = |file: &str| match read_saved(None, &fixture(file), file) {
        Err(SourceError::Read { fault, .. }) => fault,
        other => panic!("{file}: {other:?}"),
    };
    assert!(matches!(
        fault("damaged/reply-page.html"),
        ReadError::NotJson {
            found: "an HTML page",
            ..
        }
    ));
    assert!(matches!(
        fault("damaged/reply-empty.json"),
        ReadError::Empty { .. }
    ));
    assert!(matches!(
        fault("damaged/reply-usgs-ogc-cut.json"),
        ReadError::CutShort { .. }
    ));
    assert!(matches!(
        fault("damaged/reply-open-meteo-cut.json"),
        ReadError::CutShort { .. }
    ));
    assert!(matches!(
        fault("damaged/reply-open-meteo-unequal.json"),
        ReadError::Lengths {
            found: 3,
            wanted: 6,
            ..
        }
    ));
    assert!(matches!(
        read_saved(Some("no-such-service"), b"", "x"),
        Err(SourceError::UnknownService { .. })
    ));
    assert!(matches!(
        read_saved(None, b"{\"a\": 1}", "x"),
        Err(SourceError::Read {
            fault: ReadError::Kind { .. },
            ..
        })
    ));
}
