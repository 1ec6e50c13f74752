//! Invented replies of the California service through client and parser.

use chrono::Duration;
use wiremock::matchers::{method, path, query_param};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, clock, fixture, lake, series};
use crate::clock::LakeClock;
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Batch, Flag};
use crate::sources::cdec::{Filled, read_readings, to_batch};
use crate::sources::{
    Fetched, ReadError, SourceError, Want, check_series, read_saved, run as run_job, service_rules,
};

const SERVLET: &str = "/cdec.water.ca.gov/dynamicapp/req/JSONDataServlet";
const HEADER: &str =
    "STATION_ID,DURATION,SENSOR_NUMBER,SENSOR_TYPE,DATE TIME,OBS DATE,VALUE,DATA_FLAG,UNITS\n";

fn storage() -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Daily],
        ..series("storage", Quantity::Storage, "cdec", "XHG", "15")
    }
}

fn temperature(parameter: &str) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Continuous],
        ..series("river", Quantity::RiverTemp, "cdec", "XHG", parameter)
    }
}

fn want(series: SeriesSource) -> Want {
    Want {
        cadence: series.cadences[0],
        series,
        from: None,
    }
}

fn filled(bytes: &[u8], series: SeriesSource) -> Filled {
    filled_at(bytes, series, "2025-10-09T11:30:00Z")
}

fn filled_at(bytes: &[u8], series: SeriesSource, as_of: &str) -> Filled {
    let readings = read_readings(bytes).unwrap();
    let clock_of_lake = LakeClock::new(chrono_tz::America::Los_Angeles);
    to_batch(&readings.rows, &want(series), clock_of_lake, at(as_of), at(as_of)).unwrap()
}

fn times(batch: &Batch) -> Vec<String> {
    let time = |row: &crate::series::Observation| row.time.format("%m-%dT%H:%M").to_string();
    batch.rows.iter().map(time).collect()
}

async fn served(body: &[u8]) -> Result<Vec<Fetched>, SourceError> {
    let server = MockServer::start().await;
    Mock::given(method("GET"))
        .and(path(SERVLET))
        .and(query_param("Stations", "XHG"))
        .and(query_param("SensorNums", "15"))
        .and(query_param("dur_code", "D"))
        .respond_with(ResponseTemplate::new(200).set_body_bytes(body))
        .mount(&server)
        .await;
    let lake = lake(vec![storage()]);
    let job = all_jobs(&lake, clock()).pop().unwrap();
    run_job(&client(&server.uri()).await, &lake, &job).await
}

#[tokio::test]
async fn a_daily_storage_comes_in_cubic_metres_on_the_day_of_its_date() {
    let fetched = served(&fixture("replies/cdec/daily-xhg-15.json")).await.unwrap();
    let [Fetched::Faults { faults, .. }, Fetched::Observations(batch)] = fetched.as_slice() else {
        panic!("{fetched:?}")
    };
    // Midnight of standard time is 08:00 UTC. The day of 10-08 ended at 10-09 08:00, before the clock; that of
    // 10-09 has not.
    assert_eq!(
        times(batch),
        [
            "10-04T08:00",
            "10-05T08:00",
            "10-06T08:00",
            "10-07T08:00",
            "10-08T08:00"
        ]
    );
    let row = &batch.rows[0];
    // 302100 x 1233.48183754752; tolerance: the tenth figure.
    assert!((row.value.unwrap() - 372_634_863.12).abs() < 0.1);
    assert_eq!(
        (
            row.original_value,
            row.qualifier.as_deref(),
            row.provenance.original_unit.as_str()
        ),
        (Some(302_100.0), Some("r"), "AF")
    );
    let missing = &batch.rows[1];
    assert_eq!(
        (missing.value, missing.flag, missing.qualifier.as_deref()),
        (None, Flag::Missing, Some("-9999"))
    );
    // The first of two stands.
    assert_eq!(batch.rows[3].original_value, Some(300_600.0));
    let places: Vec<&str> = faults.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(places, ["[7].date", "XHG 15 at 2025-10-07 00:00:00 PST"]);
}

#[tokio::test]
async fn an_empty_list_is_an_empty_batch_and_a_page_a_fault() {
    let fetched = served(&fixture("replies/cdec/empty.json")).await.unwrap();
    assert!(matches!(fetched.as_slice(), [Fetched::Observations(batch)] if batch.rows.is_empty()));
    for (body, words) in [
        (fixture("damaged/reply-page.html"), "an HTML page"),
        (Vec::new(), "an empty body"),
        (fixture("damaged/reply-cdec-cut.json"), "stops in the middle"),
        (br#"{"message":"no such sensor"}"#.to_vec(), "no such sensor"),
    ] {
        let error = served(&body).await.unwrap_err().to_string();
        assert!(error.contains(words) && error.contains("cdec"), "{error}");
    }
    // A reply of something else than was asked for is not taken for silence.
    let error = served(&fixture("replies/cdec/event-xhg-25.csv"))
        .await
        .unwrap_err();
    assert!(
        error
            .to_string()
            .contains("found rows of XHG 25/E, wanted rows of XHG 15/D"),
        "{error}"
    );
}

#[test]
fn every_text_for_a_missing_value_is_missing_and_kept_as_qualifier() {
    let bytes = fixture("replies/cdec/event-xhg-25.csv");
    let found = filled(&bytes, temperature("25/E"));
    let rows: Vec<_> = found
        .batch
        .rows
        .iter()
        .map(|r| (r.original_value, r.qualifier.as_deref()))
        .collect();
    // Ten rows by eye; 03:45 PST is 11:45 UTC, after the clock.
    assert_eq!(
        rows,
        [
            (Some(50.0), None),
            (None, Some("---")),
            (None, Some("m")),
            (None, None),
            (None, Some("-9998")),
            (None, Some("-9997")),
            (None, Some("BRT")),
            (None, Some("e, art")),
            (Some(53.6), Some("e")),
            (Some(51.8), None),
        ]
    );
    // 50 DEG F is 10 degrees Celsius; tolerance: rounding.
    assert!((found.batch.rows[0].value.unwrap() - 10.0).abs() < 1e-9);
    assert_eq!(found.batch.rows[9].time, at("2025-10-09T11:30:00Z"));
    assert!(
        found
            .batch
            .rows
            .iter()
            .all(|r| r.value.is_some() || r.flag == Flag::Missing)
    );
    let faults = read_readings(&bytes).unwrap().faults;
    let places: Vec<&str> = faults.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(places, ["line 11", "line 12.VALUE", "line 13.DATE TIME"]);
}

#[test]
fn a_header_alone_is_no_value_and_another_header_is_refused() {
    let none = read_readings(&fixture("replies/cdec/header-only.csv")).unwrap();
    assert!(none.rows.is_empty() && none.faults.is_empty());
    for header in [
        "STATION_ID,DURATION,SENSOR_NUMBER,DATE TIME,VALUE\n",
        "DATE,VALUE\n1,2\n",
        "no data found",
    ] {
        let fault = read_readings(header.as_bytes()).unwrap_err();
        assert!(
            matches!(&fault, ReadError::Kind { wanted, .. } if wanted.contains("DATE TIME,OBS DATE")),
            "{fault}"
        );
    }
}

/// Stamps of every hour of two days around `day` as the CSV servlet writes them, and as instants.
fn hours_around(day: &str, json: bool) -> Vec<String> {
    let first = at(&format!("{day}T00:00:00Z"));
    let mut text = if json { "[".to_owned() } else { HEADER.to_owned() };
    for k in 0..48 {
        let civil = first + Duration::hours(k);
        if json {
            let stamp = civil.format("%Y-%-m-%-d %-H:%M");
            let comma = if k > 0 { "," } else { "" };
            text.push_str(&format!(
                r#"{comma}{{"stationId":"XHG","durCode":"H","SENSOR_NUM":25,"sensorType":"TEMP W",
                "date":"{stamp}","obsDate":"{stamp}","value":{k},"dataFlag":" ","units":"DEG F"}}"#
            ));
        } else {
            let stamp = civil.format("%Y%m%d %H%M");
            text.push_str(&format!("XHG,H,25,TEMP W,{stamp},{stamp},{k}, ,DEG F\n"));
        }
    }
    if json {
        text.push(']');
    }
    let found = filled_at(text.as_bytes(), temperature("25"), "2026-01-01T00:00:00Z");
    assert!(found.faults.is_empty());
    times(&found.batch)
}

#[test]
fn the_hours_of_both_clock_changes_are_all_there_once_in_standard_time() {
    // Clocks in California change on 2025-03-09 and 2025-11-02; the service stays at UTC-8.
    for day in ["2025-03-09", "2025-11-02", "2025-07-01"] {
        for json in [true, false] {
            let found = hours_around(day, json);
            let first = at(&format!("{day}T08:00:00Z"));
            let wanted: Vec<String> = (0..48)
                .map(|k| (first + Duration::hours(k)).format("%m-%dT%H:%M").to_string())
                .collect();
            assert_eq!(found, wanted, "{day}");
        }
    }
}

#[test]
fn a_daily_reading_of_a_clock_change_stays_on_its_day() {
    let row = |date: &str, obs: &str| {
        format!(
            r#"{{"stationId":"XHG","durCode":"D","SENSOR_NUM":15,"sensorType":"STORAGE","date":"{date}",
            "obsDate":"{obs}","value":1,"dataFlag":" ","units":"AF"}}"#
        )
    };
    let rows = [
        row("2025-3-8 0:00", "2025-3-9 0:00"),
        row("2025-3-9 0:00", "2025-3-10 0:00"),
        row("2025-11-1 0:00", "2025-11-2 0:00"),
        row("2025-11-2 0:00", "2025-11-3 0:00"),
        // Read in the morning, known in the morning after its day.
        row("2025-10-8 7:00", "2025-10-8 7:00"),
    ];
    let found = filled_at(
        format!("[{}]", rows.join(",")).as_bytes(),
        storage(),
        "2025-11-03T08:00:00Z",
    );
    assert_eq!(
        times(&found.batch),
        [
            "03-08T08:00",
            "03-09T08:00",
            "10-08T08:00",
            "11-01T08:00",
            "11-02T08:00"
        ]
    );
}

#[test]
fn stamps_that_are_no_times_are_named_and_left_out() {
    let row = |date: &str| format!("{HEADER}XHG,E,25,TEMP W,{date},,50, ,DEG F\n");
    for date in [
        "",
        "20251301 0000",
        "20251009 2400",
        "2025-10-09 0000",
        "20251009",
        "00251009 0000",
        "2025109 00000",
    ] {
        let readings = read_readings(row(date).as_bytes()).unwrap();
        assert_eq!((readings.rows.len(), readings.faults.len()), (0, 1), "{date}");
    }
    assert_eq!(
        read_readings(row("20251009 0000").as_bytes()).unwrap().rows.len(),
        1
    );
}

#[test]
fn a_unit_of_another_kind_is_a_fault_and_none_is_needed_where_there_is_no_value() {
    let of_unit = |value: &str, unit: &str| {
        let text = format!("{HEADER}XHG,H,25,TEMP W,20251009 0000,20251009 0000,{value}, ,{unit}\n");
        let rows = read_readings(text.as_bytes()).unwrap().rows;
        let clock_of_lake = LakeClock::new(chrono_tz::America::Los_Angeles);
        to_batch(&rows, &want(temperature("25")), clock_of_lake, clock(), clock())
    };
    assert!(matches!(of_unit("50", "CFS"), Err(ReadError::Unit { found, .. }) if found == "CFS"));
    assert!(matches!(of_unit("50", ""), Err(ReadError::Unit { .. })));
    assert_eq!(of_unit("---", "").unwrap().batch.rows.len(), 1);
}

#[test]
fn requests_name_sensor_step_and_days_with_a_day_to_spare() {
    let both = SeriesSource {
        cadences: vec![Cadence::Daily, Cadence::Continuous],
        daily_from: Some("2012-06-01".parse().unwrap()),
        ..temperature("25/E")
    };
    let jobs = all_jobs(&lake(vec![both]), clock());
    let asked: Vec<String> = jobs
        .iter()
        .map(|job| {
            let values: Vec<&str> = job.query.iter().map(|(_, value)| value.as_str()).collect();
            values.join(" ")
        })
        .collect();
    assert_eq!(
        asked,
        [
            "XHG 25 D 2012-06-01 2022-01-01",
            "XHG 25 D 2022-01-01 2025-10-10",
            // 60 days before 2025-10-09 03:30 PST.
            "XHG 25 E 2025-08-10 2025-10-10",
        ]
    );
    let names: Vec<&str> = jobs[0].query.iter().map(|(key, _)| key.as_str()).collect();
    assert_eq!(names, ["Stations", "SensorNums", "dur_code", "Start", "End"]);
}

#[test]
fn what_the_service_does_not_have_is_told_before_it_is_asked() {
    for (series, words) in [
        (temperature("15"), "parameter 15 (reservoir storage)"),
        (temperature("25/M"), "parameter \"25/M\""),
        (temperature("25/D"), "25/H, 25/E"),
        (
            series("stage", Quantity::PoolElevation, "cdec", "XHG", "1"),
            "river stage",
        ),
        (
            SeriesSource {
                station: "XH/".to_owned(),
                ..temperature("25")
            },
            "three capital letters",
        ),
        (
            SeriesSource {
                cadences: vec![Cadence::Forecast],
                ..temperature("25")
            },
            "cadence forecast",
        ),
    ] {
        let faults: Vec<String> = check_series(&series).iter().map(ToString::to_string).collect();
        assert!(faults.iter().any(|f| f.contains(words)), "{words}: {faults:?}");
    }
    assert!(check_series(&temperature("25/E")).is_empty());
    assert!(check_series(&storage()).is_empty());
    assert!(service_rules().iter().any(|rule| rule.name == "cdec"));
}

#[test]
fn a_saved_reply_of_either_servlet_is_known_for_what_it_is() {
    let json = read_saved(None, &fixture("replies/cdec/daily-xhg-15.json"), "any").unwrap();
    assert_eq!(
        (json.service, json.records.len(), json.faults.len()),
        ("cdec", 7, 1)
    );
    assert_eq!(
        (json.records[0].time.as_str(), json.records[0].value),
        ("2025-10-06", Some(301_200.0))
    );
    let csv = read_saved(None, &fixture("replies/cdec/event-xhg-25.csv"), "any").unwrap();
    assert_eq!((csv.service, csv.records.len()), ("cdec", 11));
    let first = &csv.records[0];
    assert_eq!(
        (first.time.as_str(), first.quantity),
        ("2025-10-09T08:00:00Z", Some(Quantity::WaterTemp))
    );
    assert_eq!(csv.records[6].qualifier, "BRT");
}
