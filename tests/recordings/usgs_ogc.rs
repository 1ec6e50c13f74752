//! USGS Water Data: recorded features of `daily`, `continuous`, `latest-continuous` and
//! `monitoring-locations`; figures read off the file by eye.

use chrono_tz::America::Chicago;
use plungeline::clock::LakeClock;
use plungeline::lake::Cadence;
use plungeline::quantity::Quantity;
use plungeline::series::Approval;
use plungeline::sources::read_saved;
use plungeline::sources::usgs_ogc::{
    read_locations, read_observations, read_stations, read_time_series, to_batch,
};

use super::{at, want};
use crate::validation::data;

/// One collection of the recording, as bytes; the recording holds them all in one object.
fn collection(name: &str) -> Option<Vec<u8>> {
    let path = data("recordings/usgs-ogc/waterdata_ogc_fixtures.json")?;
    let all: serde_json::Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    Some(serde_json::to_vec(&all[name]).unwrap())
}

#[test]
fn recorded_daily_flows_become_standard_days_in_m3s() {
    let Some(bytes) = collection("daily") else { return };
    let page = read_observations(&bytes).unwrap();
    assert!(page.faults.is_empty() && page.next.is_none());
    let want = want(
        Quantity::Inflow,
        Cadence::Daily,
        "usgs-ogc",
        "USGS-05427718",
        "00060",
    );
    let now = at("2026-08-01T00:00:00Z");
    let rows = to_batch(&page.rows, &want, LakeClock::new(Chicago), now, now)
        .unwrap()
        .batch
        .rows;
    assert_eq!(rows.len(), 2);
    // The day of 2026-03-19 lies in daylight time; a gauge's day still begins at 00:00 CST, 06:00 UTC.
    assert_eq!(
        [rows[0].time, rows[1].time],
        [at("2025-12-26T06:00:00Z"), at("2026-03-19T06:00:00Z")]
    );
    assert_eq!(
        [rows[0].original_value, rows[1].original_value],
        [Some(20.2), Some(27.1)]
    );
    // 20.2 and 27.1 ft3/s x 0.028316846592 (exact factor); tolerance: the tenth figure.
    assert!((rows[0].value.unwrap() - 0.572_000_301_2).abs() < 1e-9);
    assert!((rows[1].value.unwrap() - 0.767_386_542_6).abs() < 1e-9);
    assert_eq!(rows[0].approval, Approval::Provisional);
    assert_eq!(rows[0].provenance.original_unit, "ft^3/s");
    assert_eq!(
        page.rows[0].last_modified,
        Some(at("2026-07-30T15:43:16.002990Z"))
    );
}

#[test]
fn recorded_continuous_stages_keep_their_instants() {
    let Some(bytes) = collection("continuous") else {
        return;
    };
    let page = read_observations(&bytes).unwrap();
    let stamps: Vec<String> = page.rows.iter().map(|row| row.stamp.to_string()).collect();
    assert_eq!(stamps, ["2025-01-01T00:00:00Z", "2025-01-01T00:15:00Z"]);
    assert!(
        page.rows
            .iter()
            .all(|row| row.value == Some(1.76) && row.unit == "ft" && row.parameter == "00065")
    );
    assert!(
        page.rows
            .iter()
            .all(|row| row.approval == Approval::Approved && row.qualifier.is_none())
    );
}

#[test]
fn of_a_recorded_reply_with_two_parameters_only_the_wanted_one_is_taken() {
    let Some(bytes) = collection("latest-continuous") else {
        return;
    };
    let page = read_observations(&bytes).unwrap();
    assert_eq!(page.rows.len(), 2);
    let want = want(
        Quantity::Inflow,
        Cadence::Continuous,
        "usgs-ogc",
        "USGS-06904500",
        "00060",
    );
    let now = at("2026-08-07T19:00:00Z");
    let rows = to_batch(&page.rows, &want, LakeClock::new(Chicago), now, now)
        .unwrap()
        .batch
        .rows;
    assert_eq!(rows.len(), 1);
    assert_eq!(
        (rows[0].time, rows[0].original_value),
        (at("2026-08-07T18:45:00Z"), Some(535.0))
    );
    // 535 ft3/s x 0.028316846592; tolerance: the tenth figure.
    assert!((rows[0].value.unwrap() - 15.149_512_927).abs() < 1e-9);
    // A quarter of an hour earlier it was not known.
    let before = at("2026-08-07T18:30:00Z");
    let filled = to_batch(&page.rows, &want, LakeClock::new(Chicago), before, before).unwrap();
    assert_eq!((filled.batch.rows.len(), filled.too_late), (0, 1));
}

#[test]
fn recorded_stations_tell_their_datum() {
    let Some(bytes) = collection("monitoring-locations") else {
        return;
    };
    let stations = read_stations(&bytes).unwrap();
    let found: Vec<_> = stations
        .iter()
        .map(|s| (s.id.as_str(), s.vertical_datum.as_deref()))
        .collect();
    assert_eq!(
        found,
        [
            ("USGS-410252073314801", Some("NAVD88")),
            ("USGS-410257073251001", Some("NAVD88"))
        ]
    );
    assert_eq!(stations[0].name.as_deref(), Some("CT-STM    2"));
    assert_eq!(
        (stations[0].latitude_deg, stations[0].time_zone.as_deref()),
        (Some(41.04777271320483), Some("EST"))
    );
}

#[test]
fn every_recorded_collection_is_read_or_named_without_harm() {
    let Some(path) = data("recordings/usgs-ogc/waterdata_ogc_fixtures.json") else {
        return;
    };
    let all: serde_json::Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let all = all.as_object().unwrap();
    assert!(all.len() > 10);
    for (name, collection) in all {
        let bytes = serde_json::to_vec(collection).unwrap();
        let saved = read_saved(None, &bytes, name);
        let with_values = [
            "daily",
            "continuous",
            "latest-daily",
            "latest-continuous",
            "peaks",
            "field-measurements",
        ];
        if with_values.contains(&name.as_str()) {
            let saved = saved.unwrap();
            assert_eq!((saved.records.len(), saved.faults.len()), (2, 0), "{name}");
            assert!(
                saved.records.iter().all(|record| record.value.is_some()),
                "{name}"
            );
        }
    }
    // Qualifiers come as a list there.
    let peaks = read_observations(&serde_json::to_vec(&all["peaks"]).unwrap()).unwrap();
    assert_eq!(
        (peaks.rows[0].value, peaks.rows[0].qualifier.as_deref()),
        (Some(49.98), Some("GHNOTASSCPKQ"))
    );
}

#[test]
fn the_recorded_list_of_fields_still_has_those_that_are_asked_for() {
    let Some(path) = data("recordings/usgs-ogc/waterdata_queryables.json") else {
        return;
    };
    let text = std::fs::read_to_string(path).unwrap();
    let fields: serde_json::Value = serde_json::from_str(&text).unwrap();
    for (collection, asked) in [
        (
            "daily",
            &["monitoring_location_id", "parameter_code", "statistic_id", "time"][..],
        ),
        (
            "continuous",
            &["monitoring_location_id", "parameter_code", "time"][..],
        ),
        ("monitoring-locations", &["id"][..]),
    ] {
        let has = |field: &&&str| {
            fields[collection]
                .as_array()
                .unwrap()
                .iter()
                .any(|known| known == **field)
        };
        let missing: Vec<&&str> = asked.iter().filter(|field| !has(field)).collect();
        assert!(missing.is_empty(), "{collection}: {missing:?}");
    }
}

#[test]
fn recorded_locations_tell_their_kind_of_site() {
    let Some(bytes) = collection("monitoring-locations") else {
        return;
    };
    let page = read_locations(&bytes).unwrap();
    assert!(page.faults.is_empty() && page.next.is_none());
    let found: Vec<_> = page
        .rows
        .iter()
        .map(|l| (l.id.as_str(), l.name.as_str(), l.site_type.as_deref()))
        .collect();
    assert_eq!(
        found,
        [
            ("USGS-410252073314801", "CT-STM    2", Some("GW")),
            ("USGS-410257073251001", "CT-NW    35", Some("GW"))
        ]
    );
    assert_eq!(
        page.rows[0].position,
        Some((41.04777271320483, -73.52955169969904))
    );
}

#[test]
fn recorded_time_series_tell_what_is_measured_and_since_when() {
    let Some(bytes) = collection("time-series-metadata") else {
        return;
    };
    let page = read_time_series(&bytes).unwrap();
    assert!(page.faults.is_empty(), "{:?}", page.faults);
    let found: Vec<_> = page
        .rows
        .iter()
        .map(|s| {
            (
                s.parameter.as_str(),
                s.statistic.as_deref(),
                s.unit.as_str(),
                s.cadence,
                s.primary,
            )
        })
        .collect();
    assert_eq!(
        found,
        [
            ("00045", None, "in", Cadence::Continuous, true),
            ("91060", Some("00003"), "lbs/day", Cadence::Daily, true)
        ]
    );
    let spans: Vec<_> = page
        .rows
        .iter()
        .map(|s| (s.since.unwrap().to_string(), s.until.unwrap().to_string()))
        .collect();
    assert_eq!(
        spans,
        [
            ("2013-10-01".to_owned(), "2025-10-01".to_owned()),
            ("1990-10-01".to_owned(), "2025-09-30".to_owned())
        ]
    );
    assert_eq!(page.rows[0].station, "USGS-05427718");
}
