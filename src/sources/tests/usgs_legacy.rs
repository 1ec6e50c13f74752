//! Invented replies of the older USGS service through client and parser.

use wiremock::matchers::{method, path, query_param};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, fixture, lake, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Approval, Batch, Flag};
use crate::sources::usgs_legacy::{read_rdb_observations, read_sites};
use crate::sources::{Fetched, ReadError, SourceError, read_saved, run};

const STATION: &str = "USGS-990000030";

fn source(quantity: Quantity, parameter: &str, cadence: Cadence) -> SeriesSource {
    SeriesSource {
        cadences: vec![cadence],
        statistic: (cadence == Cadence::Daily).then(|| "00003".to_owned()),
        ..series("sorrel", quantity, "usgs-legacy", STATION, parameter)
    }
}

/// What the only job of a series brings of a reply.
async fn fetched(source: SeriesSource, to: &str, file: &str) -> Result<Vec<Fetched>, SourceError> {
    let server = MockServer::start().await;
    let kind = if source.cadences == [Cadence::Daily] {
        "dv"
    } else {
        "iv"
    };
    Mock::given(method("GET"))
        .and(path(format!("/waterservices.usgs.gov/nwis/{kind}/")))
        .and(query_param("sites", "990000030"))
        .and(query_param("format", "json"))
        .respond_with(ResponseTemplate::new(200).set_body_raw(fixture(file), "application/json"))
        .mount(&server)
        .await;
    let lake = lake(vec![source]);
    let job = all_jobs(&lake, at(to)).pop().unwrap();
    run(&client(&server.uri()).await, &lake, &job).await
}

fn batch(fetched: &[Fetched]) -> &Batch {
    match fetched {
        [Fetched::Observations(batch)] => batch,
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn the_night_when_clocks_go_back_has_both_its_hours_and_its_gaps() {
    let flow = source(Quantity::Inflow, "00060", Cadence::Continuous);
    let file = "replies/usgs-legacy/iv-990000030-00060-clocks-back.json";
    let fetched = fetched(flow, "2025-11-02T12:00:00Z", file).await.unwrap();
    let rows = &batch(&fetched).rows;
    let told: Vec<(String, Option<f64>, Option<&str>)> = rows
        .iter()
        .map(|row| {
            (
                row.time.format("%H:%M").to_string(),
                row.original_value,
                row.qualifier.as_deref(),
            )
        })
        .collect();
    // 01:30 PDT is 08:30 UTC, 01:30 PST 09:30 UTC.
    assert_eq!(
        told,
        [
            ("08:00".to_owned(), Some(610.0), Some("P, e")),
            ("08:30".to_owned(), Some(612.0), Some("P")),
            ("09:30".to_owned(), Some(618.0), Some("P")),
            ("10:00".to_owned(), None, Some("P, Eqp, -999999")),
            ("10:30".to_owned(), None, Some("P, Ice")),
        ]
    );
    // 612 x 0.028316846592; tolerance: the ninth figure.
    assert!((rows[1].value.unwrap() - 17.329_910_114).abs() < 1e-8);
    assert_eq!(
        (rows[3].flag, rows[1].approval),
        (Flag::Missing, Approval::Provisional)
    );
    assert_eq!(rows[1].provenance.service, "usgs-legacy");
}

#[tokio::test]
async fn daily_values_are_days_of_standard_time_also_when_clocks_go_forward() {
    let flow = source(Quantity::Inflow, "00060", Cadence::Daily);
    let fetched = fetched(
        flow,
        "2025-10-09T11:30:00Z",
        "replies/usgs-legacy/dv-990000030-00060.json",
    )
    .await
    .unwrap();
    let rows = &batch(&fetched).rows;
    let times: Vec<String> = rows
        .iter()
        .map(|row| row.time.format("%m-%dT%H").to_string())
        .collect();
    // Midnight of Pacific standard time is 08:00 UTC all year; 9 October has not ended.
    assert_eq!(times, ["03-08T08", "03-09T08", "03-10T08"]);
    assert_eq!((rows[1].approval, rows[2].value), (Approval::Approved, None));
}

#[tokio::test]
async fn two_sensors_are_not_mixed_and_the_lake_file_may_choose_one() {
    let file = "replies/usgs-legacy/iv-990000030-00010-two-sensors.json";
    let to = "2025-10-09T11:30:00Z";
    let both = fetched(
        source(Quantity::RiverTemp, "00010", Cadence::Continuous),
        to,
        file,
    )
    .await;
    let Err(SourceError::Read {
        fault: ReadError::SeveralSensors { ids, .. },
        ..
    }) = both
    else {
        panic!("{both:?}");
    };
    assert_eq!(ids, ["201", "202"]);
    let one = fetched(
        source(Quantity::RiverTemp, "00010/202", Cadence::Continuous),
        to,
        file,
    )
    .await
    .unwrap();
    assert_eq!(batch(&one).rows[0].value, Some(12.1));
}

#[tokio::test]
async fn a_reply_without_series_is_an_empty_batch() {
    let flow = source(Quantity::Inflow, "00060", Cadence::Continuous);
    let found = fetched(flow, "2025-10-09T11:30:00Z", "replies/usgs-legacy/nothing.json")
        .await
        .unwrap();
    assert!(batch(&found).rows.is_empty());
}

#[tokio::test]
async fn a_service_that_is_gone_or_has_moved_is_told_as_such() {
    let cases = [
        (ResponseTemplate::new(410), "410"),
        (
            ResponseTemplate::new(301).insert_header("location", "https://api.waterdata.usgs.gov/"),
            "leads away to",
        ),
        (
            ResponseTemplate::new(200).set_body_raw(fixture("damaged/reply-page.html"), "text/html"),
            "an HTML page",
        ),
        (
            ResponseTemplate::new(200)
                .set_body_raw(fixture("damaged/reply-usgs-legacy-cut.json"), "application/json"),
            "stops in the middle",
        ),
    ];
    for (answer, words) in cases {
        let server = MockServer::start().await;
        Mock::given(method("GET"))
            .respond_with(answer)
            .mount(&server)
            .await;
        let lake = lake(vec![source(Quantity::Inflow, "00060", Cadence::Continuous)]);
        let job = all_jobs(&lake, at("2025-10-09T11:30:00Z")).pop().unwrap();
        let error = run(&client(&server.uri()).await, &lake, &job)
            .await
            .unwrap_err()
            .to_string();
        assert!(error.contains(words), "{error}");
    }
}

#[test]
fn a_table_has_its_times_by_the_abbreviation_of_the_zone_and_its_bad_rows_by_line() {
    let page = read_rdb_observations(&fixture("replies/usgs-legacy/iv-990000030-00060.rdb")).unwrap();
    let told: Vec<(String, Option<f64>)> = page
        .rows
        .iter()
        .map(|row| (row.stamp.to_string(), row.value))
        .collect();
    // On 9 March 2025 01:45 PST is 09:45 UTC and 03:00 PDT, a quarter of an hour later, 10:00 UTC.
    assert_eq!(
        told,
        [
            ("2025-03-09T09:45:00Z".to_owned(), Some(915.0)),
            ("2025-03-09T10:00:00Z".to_owned(), Some(918.0)),
            ("2025-03-09T10:15:00Z".to_owned(), None),
        ]
    );
    let faults: Vec<String> = page.faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        faults,
        [
            "line 11: found \"2025-03-09 03:30\" XYZ, wanted a day, or a time with the abbreviation of its zone",
            "line 12: found \"lots\", wanted a number",
        ]
    );
    assert_eq!(
        (page.rows[0].unit.as_str(), page.rows[0].series_id.as_str()),
        ("ft^3/s", "101")
    );
}

#[test]
fn a_list_of_sites_has_their_datum_where_it_states_one() {
    let (stations, faults) = read_sites(&fixture("replies/usgs-legacy/sites.rdb")).unwrap();
    assert!(faults.is_empty());
    assert_eq!(stations[0].vertical_datum.as_deref(), Some("NAVD88"));
    assert_eq!(
        (stations[1].id.as_str(), stations[1].vertical_datum.as_deref()),
        ("USGS-990000010", None)
    );
    assert_eq!(stations[1].latitude_deg, Some(42.20));
}

#[test]
fn saved_files_are_recognised_by_what_they_hold() {
    for (file, kind, records) in [
        ("iv-990000030-00060-clocks-back.json", "observations", 5),
        ("nothing.json", "observations", 0),
        ("iv-990000030-00060.rdb", "observations", 3),
        ("sites.rdb", "stations", 2),
    ] {
        let saved = read_saved(None, &fixture(&format!("replies/usgs-legacy/{file}")), file).unwrap();
        assert_eq!(
            (saved.service, saved.kind.as_str(), saved.records.len()),
            ("usgs-legacy", kind, records),
            "{file}"
        );
    }
}

#[test]
fn a_number_without_its_agency_is_no_station() {
    let refuses = super::super::usgs_legacy::SERVICE.refuses_station.unwrap();
    assert!(
        refuses("990000030").is_some() && refuses("USGS-12").is_some() && refuses("USGS-99000003x").is_some()
    );
    assert_eq!(refuses(STATION), None);
}
