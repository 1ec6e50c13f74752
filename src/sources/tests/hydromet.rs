//! Invented pages of Hydromet through client and parser.

use wiremock::matchers::{method, path, query_param};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, fixture, lake, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::Flag;
use crate::sources::hydromet::read_values;
use crate::sources::{Fetched, ReadError, SERVICES, SourceError, check_series, run};

fn pool(zone: Option<&str>) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Continuous],
        datum_offset_m: Some(0.0),
        stamp_zone: zone.map(str::to_owned),
        ..series("pool", Quantity::PoolElevation, "hydromet", "XHGX", "fb")
    }
}

fn storage() -> SeriesSource {
    SeriesSource {
        quantity: Quantity::Storage,
        datum_offset_m: None,
        parameter: "af".to_owned(),
        ..pool(Some("America/Los_Angeles"))
    }
}

/// Times and original values of a series, and how many faults were named.
async fn told(source: SeriesSource, file: &str) -> Result<(Vec<(String, Option<f64>)>, usize), SourceError> {
    let server = MockServer::start().await;
    Mock::given(method("GET"))
        .and(path("/www.usbr.gov/pn-bin/webdaycsv.pl"))
        .and(query_param("format", "2"))
        .respond_with(ResponseTemplate::new(200).set_body_raw(fixture(file), "text/plain"))
        .mount(&server)
        .await;
    let lake = lake(vec![source]);
    let job = all_jobs(&lake, at("2025-12-01T00:00:00Z")).pop().unwrap();
    let (mut rows, mut count) = (Vec::new(), 0);
    for part in run(&client(&server.uri()).await, &lake, &job).await? {
        match part {
            Fetched::Faults { faults, .. } => count += faults.len(),
            Fetched::Observations(batch) => {
                for row in batch.rows {
                    assert_eq!(row.value.is_none(), row.flag == Flag::Missing);
                    rows.push((row.time.format("%H:%M").to_string(), row.original_value));
                }
            }
            other => panic!("{other:?}"),
        }
    }
    Ok((rows, count))
}

fn rows(expected: &[(&str, Option<f64>)]) -> Vec<(String, Option<f64>)> {
    expected
        .iter()
        .map(|(time, value)| ((*time).to_owned(), *value))
        .collect()
}

const BACK: &str = "replies/hydromet/webdaycsv-xhgx-clocks-back.txt";
const FORWARD: &str = "replies/hydromet/webdaycsv-xhgx-clocks-forward.txt";

#[tokio::test]
async fn the_hour_that_occurs_twice_goes_by_the_order_of_lines() {
    // 00:45, 01:30, 01:45 PDT are 07:45, 08:30, 08:45 UTC; the second 01:30 is PST, 09:30 UTC. Three lines have faults.
    let wanted = rows(&[
        ("07:45", Some(845.0)),
        ("08:30", Some(845.1)),
        ("08:45", Some(845.2)),
        ("09:30", Some(845.3)),
    ]);
    assert_eq!(
        told(pool(Some("America/Los_Angeles")), BACK).await.unwrap(),
        (wanted, 3)
    );
}

#[tokio::test]
async fn sentinel_words_and_blanks_are_missing_values() {
    let wanted = rows(&[
        ("07:45", Some(100.0)),
        ("08:30", None),
        ("08:45", None),
        ("09:30", None),
        ("10:00", Some(101.0)),
    ]);
    assert_eq!(told(storage(), BACK).await.unwrap(), (wanted, 3));
}

#[tokio::test]
async fn an_hour_that_clocks_skip_is_named_in_daylight_time_and_exists_in_standard_time() {
    let named = rows(&[("09:45", Some(845.0)), ("10:00", Some(845.0))]);
    assert_eq!(
        told(pool(Some("America/Los_Angeles")), FORWARD).await.unwrap(),
        (named, 1)
    );
    // 01:45, 02:15, 03:00 at -08:00.
    let fixed = rows(&[
        ("09:45", Some(845.0)),
        ("10:15", Some(845.0)),
        ("11:00", Some(845.0)),
    ]);
    assert_eq!(told(pool(Some("-08:00")), FORWARD).await.unwrap(), (fixed, 0));
}

#[tokio::test]
async fn without_a_zone_in_the_lake_file_no_time_is_guessed() {
    let fault = told(pool(None), FORWARD).await.unwrap_err();
    assert!(fault.to_string().contains("stamp_zone"), "{fault}");
}

#[test]
fn daily_values_are_refused_by_name() {
    let source = SeriesSource {
        cadences: vec![Cadence::Daily],
        ..pool(Some("-08:00"))
    };
    let faults = check_series(&source);
    assert!(
        faults
            .iter()
            .any(|fault| fault.to_string().contains("cadence daily")),
        "{faults:?}"
    );
}

#[test]
fn a_first_fetch_asks_for_all_the_days_that_it_needs() {
    let lake = lake(vec![pool(Some("-08:00"))]);
    let job = all_jobs(&lake, at("2025-12-01T00:00:00Z")).pop().unwrap();
    // 60 days of 24 hours and one hour more.
    assert!(
        job.query.contains(&("back".to_owned(), "1441".to_owned())),
        "{:?}",
        job.query
    );
}

#[test]
fn pages_of_html_empty_pages_and_cut_ones_are_told_apart() {
    assert!(matches!(read_values(b" \n"), Err(ReadError::Empty { .. })));
    assert!(matches!(
        read_values(b"<html>Down</html>"),
        Err(ReadError::Header { .. })
    ));
    let whole = fixture(FORWARD);
    assert!(matches!(
        read_values(&whole[..whole.len() - 10]),
        Err(ReadError::Kind { .. })
    ));
}

#[test]
fn a_saved_page_is_this_services_and_no_others() {
    let bytes = fixture(BACK);
    let who: Vec<&str> = SERVICES
        .iter()
        .filter(|s| s.name != "csv" && (s.recognises)(&bytes))
        .map(|s| s.name)
        .collect();
    assert_eq!(who, ["hydromet"]);
}
