//! Invented replies of USGS Water Data through client and parser.

use wiremock::matchers::{method, path, query_param, query_param_is_missing};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, clock, fetch_all, fixture, lake, pool, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Approval, Batch, Flag};
use crate::sources::usgs_ogc::latest_job;
use crate::sources::{Fetched, ReadError, SourceError, run, station_jobs};

const ROOT: &str = "/api.waterdata.usgs.gov/ogcapi/v0/collections";

pub async fn serve(server: &MockServer, collection: &str, file: &str) {
    Mock::given(method("GET"))
        .and(path(format!("{ROOT}/{collection}/items")))
        .respond_with(ResponseTemplate::new(200).set_body_raw(fixture(file), "application/geo+json"))
        .mount(server)
        .await;
}

fn only_batch(fetched: &[Fetched]) -> &Batch {
    match fetched {
        [Fetched::Observations(batch)] => batch,
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn a_level_comes_sorted_in_metres_of_the_lakes_datum_and_no_day_comes_early() {
    let server = MockServer::start().await;
    serve(&server, "daily", "replies/usgs-ogc/daily-990000010-62614.json").await;
    let lake = lake(vec![SeriesSource {
        cadences: vec![Cadence::Daily],
        ..pool()
    }]);
    let mut jobs = all_jobs(&lake, clock());
    let job = jobs.pop().unwrap();
    let fetched = run(&client(&server.uri()).await, &lake, &job).await.unwrap();
    let rows = &only_batch(&fetched).rows;

    // Days begin at 08:00 UTC, midnight of standard time; 2025-10-09 has not ended at 11:30 UTC, nor has
    // 2025-10-08 begun twice.
    let times: Vec<String> = rows
        .iter()
        .map(|row| row.time.format("%Y-%m-%dT%H").to_string())
        .collect();
    assert_eq!(
        times,
        ["2025-10-05T08", "2025-10-06T08", "2025-10-07T08", "2025-10-08T08"]
    );
    // (813.02 + 3.42) x 0.3048; tolerance: the eighth figure.
    assert!((rows[0].value.unwrap() - 248.850_912).abs() < 1e-6);
    assert_eq!(
        (rows[0].original_value, rows[0].approval),
        (Some(813.02), Approval::Approved)
    );
    assert_eq!(rows[0].provenance.original_unit, "ft");
    // The sentinel.
    assert_eq!(
        (rows[1].value, rows[1].original_value, rows[1].flag),
        (None, None, Flag::Missing)
    );
    assert_eq!(rows[1].qualifier.as_deref(), Some("Eqp, -999999"));
    // Of two provisional ones, the one touched last.
    assert_eq!(
        (rows[3].original_value, rows[3].approval),
        (Some(812.13), Approval::Provisional)
    );
}

#[tokio::test]
async fn pages_are_followed_on_the_loopback_address_and_nothing_is_later_than_the_clock() {
    let server = MockServer::start().await;
    let items = format!("{ROOT}/continuous/items");
    for (file, cursor) in [("page1", None), ("page2", Some("page2"))] {
        let mock = Mock::given(method("GET")).and(path(items.clone()));
        let mock = match cursor {
            Some(cursor) => mock.and(query_param("cursor", cursor)),
            None => mock.and(query_param_is_missing("cursor")),
        };
        let body = fixture(&format!(
            "replies/usgs-ogc/continuous-990000030-00060-{file}.json"
        ));
        mock.respond_with(ResponseTemplate::new(200).set_body_raw(body, "application/json"))
            .expect(1)
            .mount(&server)
            .await;
    }
    let flow = series(
        "sorrel-flow",
        Quantity::Inflow,
        "usgs-ogc",
        "USGS-990000030",
        "00060",
    );
    let lake = lake(vec![SeriesSource {
        cadences: vec![Cadence::Continuous],
        ..flow
    }]);
    let fetched = fetch_all(&client(&server.uri()).await, &lake).await;
    let rows = &only_batch(&fetched).rows;
    let found: Vec<(String, Option<f64>)> = rows
        .iter()
        .map(|row| (row.time.format("%H:%M").to_string(), row.original_value))
        .collect();
    let wanted = [
        ("10:15", Some(410.0)),
        ("10:30", Some(412.0)),
        ("10:45", None),
        ("11:00", Some(415.0)),
    ];
    assert_eq!(found, wanted.map(|(time, value)| (time.to_owned(), value)));
    // 410 x 0.028316846592; tolerance: the tenth figure.
    assert!((rows[0].value.unwrap() - 11.609_907_103).abs() < 1e-9);
    assert_eq!(rows[2].qualifier.as_deref(), Some("P, Ice, Ice"));
}

#[tokio::test]
async fn two_sensors_are_never_mixed_but_one_may_be_chosen() {
    let server = MockServer::start().await;
    serve(
        &server,
        "daily",
        "replies/usgs-ogc/daily-990000010-00010-two-sensors.json",
    )
    .await;
    let client = client(&server.uri()).await;
    let surface = SeriesSource {
        cadences: vec![Cadence::Daily],
        depth_m: Some(1.0),
        ..series(
            "surface",
            Quantity::WaterTemp,
            "usgs-ogc",
            "USGS-990000010",
            "00010",
        )
    };
    let both = lake(vec![surface.clone()]);
    let job = all_jobs(&both, clock()).pop().unwrap();
    let error = run(&client, &both, &job).await.unwrap_err();
    assert!(
        matches!(&error, SourceError::Read { fault: ReadError::SeveralSensors { ids, .. }, .. } if ids.len() == 2)
    );
    assert!(
        error
            .to_string()
            .contains("choose with `parameter = \"00010/ID\"`"),
        "{error}"
    );

    let chosen = "00010/33333333333343338333333333333333".to_owned();
    let one = lake(vec![SeriesSource {
        parameter: chosen,
        ..surface
    }]);
    let job = all_jobs(&one, clock()).pop().unwrap();
    let fetched = run(&client, &one, &job).await.unwrap();
    let row = &only_batch(&fetched).rows[0];
    assert_eq!((row.value, row.depth_m), (Some(15.2), Some(1.0)));
}

#[tokio::test]
async fn an_empty_series_is_an_empty_batch() {
    let server = MockServer::start().await;
    serve(
        &server,
        "daily",
        "replies/usgs-ogc/daily-990000010-00054-empty.json",
    )
    .await;
    let storage = series(
        "storage",
        Quantity::Storage,
        "usgs-ogc",
        "USGS-990000010",
        "00054",
    );
    let lake = lake(vec![SeriesSource {
        cadences: vec![Cadence::Daily],
        ..storage
    }]);
    let job = all_jobs(&lake, clock()).pop().unwrap();
    let fetched = run(&client(&server.uri()).await, &lake, &job).await.unwrap();
    assert!(only_batch(&fetched).rows.is_empty());
}

#[tokio::test]
async fn days_of_a_clock_change_are_still_days_of_standard_time() {
    // Clocks change on 2025-03-09 and 2025-11-02; a gauge's day stays midnight to midnight PST, 08:00 UTC.
    let server = MockServer::start().await;
    let text = String::from_utf8(fixture("replies/usgs-ogc/daily-990000010-62614.json")).unwrap();
    let text = text
        .replace("2025-10-05", "2025-03-08")
        .replace("2025-10-06", "2025-03-09")
        .replace("2025-10-07", "2025-03-10");
    Mock::given(method("GET"))
        .respond_with(ResponseTemplate::new(200).set_body_string(text))
        .mount(&server)
        .await;
    let lake = lake(vec![SeriesSource {
        cadences: vec![Cadence::Daily],
        ..pool()
    }]);
    let job = all_jobs(&lake, clock()).pop().unwrap();
    let fetched = run(&client(&server.uri()).await, &lake, &job).await.unwrap();
    let times: Vec<_> = only_batch(&fetched)
        .rows
        .iter()
        .take(3)
        .map(|row| row.time)
        .collect();
    assert_eq!(
        times,
        [
            at("2025-03-08T08:00:00Z"),
            at("2025-03-09T08:00:00Z"),
            at("2025-03-10T08:00:00Z")
        ]
    );
}

#[tokio::test]
async fn the_newest_value_and_the_station_itself_can_be_asked_for() {
    let server = MockServer::start().await;
    serve(
        &server,
        "latest-continuous",
        "replies/usgs-ogc/continuous-990000030-00060-page2.json",
    )
    .await;
    serve(
        &server,
        "monitoring-locations",
        "replies/usgs-ogc/monitoring-locations-990000010.json",
    )
    .await;
    let client = client(&server.uri()).await;
    let flow = series(
        "sorrel-flow",
        Quantity::Inflow,
        "usgs-ogc",
        "USGS-990000030",
        "00060",
    );
    let lake = lake(vec![flow.clone(), pool()]);
    let fetched = run(&client, &lake, &latest_job(&flow, clock())).await.unwrap();
    assert_eq!(
        only_batch(&fetched).rows.last().unwrap().original_value,
        Some(415.0)
    );

    let job = station_jobs(&lake, clock()).remove(0);
    let fetched = run(&client, &lake, &job).await.unwrap();
    let Fetched::Station(station) = &fetched[0] else {
        panic!("{fetched:?}")
    };
    assert_eq!(
        (station.vertical_datum.as_deref(), station.latitude_deg),
        (Some("NGVD29"), Some(42.2))
    );
}
