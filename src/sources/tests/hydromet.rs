//! Invented pages of Hydromet through client and parser.

use wiremock::matchers::{method, path, query_param};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, fixture, lake, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::sources::hydromet::read_values;
use crate::sources::{Fetched, ReadError, SourceError, read_saved, run};

fn source(quantity: Quantity, code: &str, zone: Option<&str>) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Continuous],
        datum_offset_m: (quantity == Quantity::PoolElevation).then_some(0.0),
        stamp_zone: zone.map(str::to_owned),
        ..series("pool", quantity, "hydromet", "HARG", code)
    }
}

async fn fetched(source: SeriesSource, to: &str, file: &str) -> Result<Vec<Fetched>, SourceError> {
    let server = MockServer::start().await;
    Mock::given(method("GET"))
        .and(path("/www.usbr.gov/pn-bin/webdaycsv.pl"))
        .and(query_param("parameter", format!("HARG {}", source.parameter)))
        .respond_with(ResponseTemplate::new(200).set_body_raw(fixture(file), "text/plain"))
        .mount(&server)
        .await;
    let lake = lake(vec![source]);
    let job = all_jobs(&lake, at(to)).pop().unwrap();
    run(&client(&server.uri()).await, &lake, &job).await
}

/// Times in UTC and values of what came, and how many faults beside it.
fn told(fetched: &[Fetched]) -> (Vec<(String, Option<f64>)>, usize) {
    let mut rows = Vec::new();
    let mut count = 0;
    for part in fetched {
        match part {
            Fetched::Observations(batch) => {
                rows.extend(
                    batch
                        .rows
                        .iter()
                        .map(|r| (r.time.format("%H:%M").to_string(), r.original_value)),
                );
            }
            Fetched::Faults { faults, .. } => count += faults.len(),
            other => panic!("{other:?}"),
        }
    }
    (rows, count)
}

const AUTUMN: &str = "replies/hydromet/webdaycsv-harg.txt";

#[tokio::test]
async fn in_the_hour_that_occurs_twice_the_order_of_the_lines_decides() {
    let pool = source(Quantity::PoolElevation, "fb", Some("America/Los_Angeles"));
    let found = told(&fetched(pool, "2025-11-02T14:00:00Z", AUTUMN).await.unwrap());
    // 00:45 PDT is 07:45 UTC; 01:00 and 01:45 PDT; 01:00 again, in PST, is 09:00 UTC.
    let rows: Vec<(&str, Option<f64>)> = found.0.iter().map(|(t, v)| (t.as_str(), *v)).collect();
    assert_eq!(
        rows,
        [
            ("07:45", Some(812.44)),
            ("08:00", Some(812.43)),
            ("08:45", Some(812.42)),
            ("09:00", Some(812.41)),
        ]
    );
    // 812.4-, a stamp without a time, and a line with one value too few.
    assert_eq!(found.1, 3);
}

#[tokio::test]
async fn by_standard_time_all_year_the_same_lines_go_back_and_words_for_none_are_gaps() {
    let storage = source(Quantity::Storage, "af", Some("-08:00"));
    let found = told(&fetched(storage, "2025-11-02T14:00:00Z", AUTUMN).await.unwrap()).0;
    let rows: Vec<(&str, Option<f64>)> = found.iter().map(|(t, v)| (t.as_str(), *v)).collect();
    // Two lines for 09:00 UTC (01:00 PST): the first one stands, being no more provisional than the second.
    assert_eq!(
        rows,
        [
            ("08:45", Some(301_000.0)),
            ("09:00", None),
            ("09:45", None),
            ("10:00", Some(300_930.0))
        ]
    );
}

#[tokio::test]
async fn a_time_that_clocks_skip_is_left_out_and_named() {
    let pool = source(Quantity::PoolElevation, "fb", Some("America/Los_Angeles"));
    let file = "replies/hydromet/webdaycsv-spring.txt";
    let fetched = fetched(pool, "2025-03-09T14:00:00Z", file).await.unwrap();
    let Fetched::Faults { faults, .. } = &fetched[0] else {
        panic!("{fetched:?}")
    };
    assert_eq!(
        faults[0].to_string(),
        "line 6: found 03/09/2025 02:30, wanted a time that exists: clocks skip this hour on that day"
    );
    // 01:45 PST is 09:45 UTC, 03:00 PDT 10:00.
    assert_eq!(
        told(&fetched).0,
        [
            ("09:45".to_owned(), Some(831.10)),
            ("10:00".to_owned(), Some(831.12))
        ]
    );
}

#[tokio::test]
async fn a_zone_is_asked_for_and_never_guessed() {
    let pool = source(Quantity::PoolElevation, "fb", None);
    let error = fetched(pool, "2025-11-02T14:00:00Z", AUTUMN)
        .await
        .unwrap_err()
        .to_string();
    assert!(error.contains("found no stamp_zone"), "{error}");
}

#[test]
fn a_page_that_is_none_or_stops_is_refused() {
    let kinds = |file: &str| read_values(&fixture(file)).unwrap_err();
    assert!(matches!(
        kinds("damaged/reply-page.html"),
        ReadError::Header { .. }
    ));
    assert!(matches!(
        kinds("damaged/reply-empty.json"),
        ReadError::Empty { .. }
    ));
    let cut = kinds("damaged/reply-hydromet-cut.txt").to_string();
    assert!(cut.contains("without END DATA"), "{cut}");
}

#[test]
fn a_saved_page_is_recognised_and_says_that_its_zone_is_not_known() {
    let saved = read_saved(None, &fixture(AUTUMN), AUTUMN).unwrap();
    assert_eq!(
        (saved.service, saved.records.len(), saved.faults.len()),
        ("hydromet", 9, 3)
    );
    assert_eq!(saved.records[0].time, "2025-11-02T00:45:00");
    // 812.44 ft x 0.3048; tolerance: the ninth figure.
    assert!((saved.records[0].value_si.unwrap() - 247.631_712).abs() < 1e-6);
    assert!(saved.records[0].note.contains("does not state"));
}
