//! Invented replies of RISE through client and parser.

use wiremock::matchers::{header, method, path, query_param};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, fixture, lake, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Batch, Flag};
use crate::sources::rise::{get_location, read_items, read_results};
use crate::sources::{Fetched, ReadError, RowFault, SERVICES, SourceError, read_saved, run};

fn pool(offset_m: f64) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Daily],
        datum_offset_m: Some(offset_m),
        ..series("pool", Quantity::PoolElevation, "rise", "990", "99001")
    }
}

/// Serves a fixture at a path, and where `page` is given only for that page.
async fn serve(server: &MockServer, at: &str, page: Option<&str>, file: &str) {
    let mock = Mock::given(method("GET"))
        .and(path(format!("/data.usbr.gov/rise/api/{at}")))
        .and(header("accept", "application/vnd.api+json"));
    let mock = match page {
        Some(page) => mock.and(query_param("page", page)),
        None => mock,
    };
    let body = fixture(&format!("replies/rise/{file}"));
    mock.respond_with(ResponseTemplate::new(200).set_body_raw(body, "application/vnd.api+json"))
        .mount(server)
        .await;
}

async fn fetched(
    source: SeriesSource,
    first: &str,
    item: &str,
    location: &str,
) -> Result<Vec<Fetched>, SourceError> {
    let server = MockServer::start().await;
    serve(&server, "result", Some("2"), "result-99001-page2.json").await;
    serve(&server, "result", None, first).await;
    serve(&server, "catalog-item/99001", None, item).await;
    serve(&server, "parameter/1735", None, "parameter-1735.json").await;
    serve(&server, "location/990", None, location).await;
    let lake = lake(vec![source]);
    let job = all_jobs(&lake, at("2025-12-01T00:00:00Z")).pop().unwrap();
    run(&client(&server.uri()).await, &lake, &job).await
}

const WHOLE: [&str; 3] = [
    "result-99001-page1.json",
    "catalog-item-99001.json",
    "location-990-items.json",
];

fn parts(fetched: &[Fetched]) -> (&Batch, &[RowFault]) {
    match fetched {
        [Fetched::Faults { faults, .. }, Fetched::Observations(batch)] => (batch, faults),
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn both_pages_give_days_that_begin_at_either_midnight_and_name_what_is_not_the_series() {
    let fetched = fetched(pool(0.0), WHOLE[0], WHOLE[1], WHOLE[2]).await.unwrap();
    let (batch, faults) = parts(&fetched);
    let times: Vec<String> = batch
        .rows
        .iter()
        .map(|row| row.time.format("%m-%dT%H").to_string())
        .collect();
    // Midnight of Pacific standard time is 08:00 UTC all year, of daylight time 07:00; clocks change on 03-09 and 11-02.
    assert_eq!(
        times,
        [
            "03-08T08", "03-09T08", "03-10T08", "03-11T08", "11-02T08", "11-03T08"
        ]
    );
    // 780 ft x 0.3048; tolerance: rounding of the product.
    assert!((batch.rows[0].value.unwrap() - 237.744).abs() < 1e-9);
    assert_eq!((batch.rows[2].value, batch.rows[2].flag), (None, Flag::Missing));
    assert_eq!(batch.rows[4].original_value, Some(790.5));
    let found: Vec<&str> = faults.iter().map(|fault| fault.found.as_str()).collect();
    assert_eq!(found, ["a value by the day", "item 99002", "time step \"hour\""]);
}

#[tokio::test]
async fn a_unit_that_the_item_does_not_state_is_that_of_its_parameter() {
    let fetched = fetched(pool(0.0), WHOLE[0], "catalog-item-99001-no-unit.json", WHOLE[2])
        .await
        .unwrap();
    // 780 ft x 0.3048; tolerance: rounding of the product.
    assert!((parts(&fetched).0.rows[0].value.unwrap() - 237.744).abs() < 1e-9);
}

#[tokio::test]
async fn a_datum_that_contradicts_the_lake_file_is_named() {
    let says = |fetched: &[Fetched]| {
        let faults = parts(fetched).1;
        faults.iter().any(|fault| fault.place.contains("verticalDatum"))
    };
    // The scene's lake is in NAVD 88.
    for (offset_m, location, is_named) in [
        (0.0, WHOLE[2], false),
        (1.04, WHOLE[2], true),
        (0.0, "location-990-ngvd29.json", true),
        (1.04, "location-990-ngvd29.json", false),
    ] {
        let fetched = fetched(pool(offset_m), WHOLE[0], WHOLE[1], location)
            .await
            .unwrap();
        assert_eq!(says(&fetched), is_named, "{offset_m} {location}");
    }
}

#[tokio::test]
async fn chains_that_do_not_end_lead_away_or_stop_short_are_refused() {
    let looped = fetched(pool(0.0), "result-99001-loop.json", WHOLE[1], WHOLE[2]).await;
    assert!(looped.unwrap_err().to_string().contains("chain of pages"));
    assert!(
        fetched(pool(0.0), "result-99001-away.json", WHOLE[1], WHOLE[2])
            .await
            .is_err()
    );
    let short = fetched(pool(0.0), "result-99001-page2.json", WHOLE[1], WHOLE[2]).await;
    let Err(SourceError::Read {
        fault: ReadError::Kind { wanted, .. },
        ..
    }) = short
    else {
        panic!("{short:?}");
    };
    assert!(wanted.contains('9'), "{wanted}");
}

#[tokio::test]
async fn an_item_of_another_location_is_refused() {
    let source = SeriesSource {
        station: "991".to_owned(),
        ..pool(0.0)
    };
    let fault = fetched(source, WHOLE[0], WHOLE[1], WHOLE[2]).await.unwrap_err();
    assert!(fault.to_string().contains("at location 990"), "{fault}");
}

#[tokio::test]
async fn a_location_comes_with_the_items_that_a_lake_file_needs() {
    let server = MockServer::start().await;
    serve(&server, "location/990", None, WHOLE[2]).await;
    let (location, faults) = get_location(&client(&server.uri()).await, "990").await.unwrap();
    assert_eq!(
        (location.station.latitude_deg, location.station.longitude_deg),
        (Some(42.2), Some(-119.6))
    );
    let items: Vec<_> = location
        .items
        .iter()
        .map(|i| (i.id.as_str(), i.name.as_str(), i.unit.as_deref()))
        .collect();
    assert_eq!(
        items,
        [
            ("99001", "Lake/Reservoir Elevation", Some("ft")),
            ("99002", "Lake/Reservoir Storage", Some("af"))
        ]
    );
    assert_eq!(location.items[0].extent.0.as_deref(), Some("1998-10-01"));
    assert_eq!(
        (faults.len(), faults[0].place.as_str()),
        (1, "included[3].attributes")
    );
}

#[test]
fn pages_of_html_empty_and_cut_bodies_and_error_bodies_are_told_apart() {
    let said = read_results(&fixture("replies/rise/error.json")).unwrap_err();
    assert!(
        matches!(&said, ReadError::Said { reason } if reason.contains("no such item")),
        "{said}"
    );
    let whole = fixture("replies/rise/result-99001-page1.json");
    for bytes in [
        &b""[..],
        b"<html><body>Down</body></html>",
        &whole[..whole.len() / 2],
    ] {
        let fault = read_results(bytes).unwrap_err();
        assert!(!matches!(fault, ReadError::Said { .. }), "{fault}");
        assert!(read_items(bytes).is_err());
    }
}

#[test]
fn saved_replies_of_every_kind_are_this_services_and_no_others() {
    for (file, records) in [
        ("result-99001-page1.json", 5),
        ("location-990-items.json", 3),
        ("catalog-item-99001.json", 1),
        ("parameter-1735.json", 1),
    ] {
        let bytes = fixture(&format!("replies/rise/{file}"));
        let who: Vec<&str> = SERVICES
            .iter()
            .filter(|s| s.name != "csv" && (s.recognises)(&bytes))
            .map(|s| s.name)
            .collect();
        assert_eq!(who, ["rise"], "{file}");
        assert_eq!(
            read_saved(Some("rise"), &bytes, file).unwrap().records.len(),
            records,
            "{file}"
        );
    }
}
