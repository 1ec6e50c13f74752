//! Invented replies of RISE through client and parser.

use wiremock::matchers::{method, path, query_param, query_param_is_missing};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, fixture, lake, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::Batch;
use crate::sources::rise::{read_items, read_locations, read_results};
use crate::sources::{Fetched, ReadError, SourceError, read_saved, run};

const ROOT: &str = "/data.usbr.gov/rise/api";

fn pool() -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Daily],
        datum_offset_m: Some(1.0),
        ..series("pool", Quantity::PoolElevation, "rise", "99153", "990508")
    }
}

async fn serve(server: &MockServer, what: &str, file: &str) {
    Mock::given(method("GET"))
        .and(path(format!("{ROOT}/{what}")))
        .respond_with(ResponseTemplate::new(200).set_body_raw(fixture(file), "application/vnd.api+json"))
        .mount(server)
        .await;
}

/// What the last job of the series brings, with this item and these pages.
async fn fetched(item: &str, pages: [&str; 2]) -> Result<Vec<Fetched>, SourceError> {
    let server = MockServer::start().await;
    serve(&server, "catalog-item/990508", item).await;
    let page =
        |file: &str| ResponseTemplate::new(200).set_body_raw(fixture(file), "application/vnd.api+json");
    Mock::given(method("GET"))
        .and(path(format!("{ROOT}/result")))
        .and(query_param("itemId", "990508"))
        .and(query_param_is_missing("page"))
        .respond_with(page(pages[0]))
        .mount(&server)
        .await;
    Mock::given(method("GET"))
        .and(path(format!("{ROOT}/result")))
        .and(query_param("page", "2"))
        .respond_with(page(pages[1]))
        .mount(&server)
        .await;
    let lake = lake(vec![pool()]);
    let job = all_jobs(&lake, at("2025-11-06T12:00:00Z")).pop().unwrap();
    run(&client(&server.uri()).await, &lake, &job).await
}

fn batch(fetched: &[Fetched]) -> &Batch {
    match fetched {
        [Fetched::Observations(batch)] => batch,
        other => panic!("{other:?}"),
    }
}

const ITEM: &str = "replies/rise/catalog-item-990508.json";
const PAGES: [&str; 2] = [
    "replies/rise/result-990508-page1.json",
    "replies/rise/result-990508-page2.json",
];

#[tokio::test]
async fn all_pages_come_in_the_unit_of_the_item_and_days_stay_days_over_a_clock_change() {
    let fetched = fetched(ITEM, PAGES).await.unwrap();
    let rows = &batch(&fetched).rows;
    // A day of standard time begins at 08:00 UTC in Los Angeles, also while clocks still show daylight time.
    let times: Vec<String> = rows
        .iter()
        .map(|row| row.time.format("%m-%dT%H").to_string())
        .collect();
    assert_eq!(
        times,
        ["11-01T08", "11-02T08", "11-03T08", "11-04T08", "11-05T08"]
    );
    // 812.52 ft x 0.3048 + 1 m of offset; tolerance: the ninth figure.
    assert!((rows[0].value.unwrap() - 248.656_096).abs() < 1e-6);
    assert_eq!((rows[2].value, rows[3].original_value), (None, Some(812.31)));
    assert_eq!(rows[0].provenance.original_unit, "ft");
}

#[tokio::test]
async fn an_item_without_a_unit_is_no_ground_to_guess_one() {
    let error = fetched("replies/rise/catalog-item-without-unit.json", PAGES)
        .await
        .unwrap_err();
    assert!(error.to_string().contains("no unit of item 990508"), "{error}");
}

#[tokio::test]
async fn fewer_results_than_the_pages_count_fail_the_request() {
    let error = fetched(ITEM, ["replies/rise/result-990508-short.json", PAGES[1]])
        .await
        .unwrap_err();
    assert!(
        error.to_string().contains("1 results on all pages, wanted the 5"),
        "{error}"
    );
}

#[tokio::test]
async fn a_page_that_links_to_itself_is_left() {
    let error = fetched(ITEM, [PAGES[0], PAGES[0]]).await.unwrap_err();
    assert!(
        error.to_string().contains("the chain of pages repeats"),
        "{error}"
    );
}

#[test]
fn bad_rows_cost_themselves_only_and_an_error_body_speaks() {
    let results = read_results(&fixture("replies/rise/result-bad-rows.json")).unwrap();
    let faults: Vec<String> = results.faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        faults,
        [
            "data[0].attributes.dateTime: found \"yesterday\", wanted an RFC 3339 instant with its offset",
            "data[1].attributes.result: found \"lots\", wanted a number, or null",
        ]
    );
    assert_eq!(results.outcomes.len(), 1);
    let fault = read_results(&fixture("replies/rise/error.json")).unwrap_err();
    assert!(
        matches!(&fault, ReadError::Said { reason } if reason == "An error occurred: Item 990508 not found"),
        "{fault}"
    );
}

#[test]
fn a_location_comes_with_its_place_datum_and_items() {
    let locations = read_locations(&fixture("replies/rise/location-99153.json")).unwrap();
    let location = &locations[0];
    assert_eq!(
        (location.station.latitude_deg, location.station.longitude_deg),
        (Some(42.20), Some(-119.60))
    );
    assert_eq!(location.station.vertical_datum.as_deref(), Some("NGVD29"));
    assert_eq!(
        (location.items.len(), location.items[0].unit.as_deref()),
        (1, Some("ft"))
    );
    let (items, _) = read_items(&fixture(ITEM)).unwrap();
    assert_eq!(
        (items[0].id.as_str(), items[0].time_step.as_deref()),
        ("990508", Some("daily"))
    );
}

#[test]
fn saved_replies_are_recognised_by_what_they_hold() {
    for (file, kind, records) in [
        (
            "result-990508-page1.json",
            "results (their unit stands with the item)",
            3,
        ),
        ("catalog-item-990508.json", "items", 1),
        ("location-99153.json", "locations", 2),
    ] {
        let saved = read_saved(None, &fixture(&format!("replies/rise/{file}")), file).unwrap();
        assert_eq!(
            (saved.service, saved.kind.as_str(), saved.records.len()),
            ("rise", kind, records),
            "{file}"
        );
    }
}
