//! The service, the lake and the series of these tests.

use wiremock::matchers::{method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

use crate::lake::{AlertSource, Cadence, Lake, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{AlertReply, Batch, ForecastBatch};
use crate::sources::tests::scene::{client, clock, fixture, lake, series};
use crate::sources::{Fetched, SourceError, alert_job, run};

pub const ROOT: &str = "/api.weather.gov";

pub fn json(status: u16, file: &str) -> ResponseTemplate {
    let body = fixture(&format!("replies/nws/{file}.json"));
    ResponseTemplate::new(status).set_body_raw(body, "application/geo+json")
}

pub async fn serve(server: &MockServer, at: &str, reply: ResponseTemplate) {
    Mock::given(method("GET"))
        .and(path(format!("{ROOT}{at}")))
        .respond_with(reply)
        .mount(server)
        .await;
}

pub async fn serve_point(server: &MockServer) {
    serve(server, "/points/42.2,-119.6", json(200, "point-harrow-gap")).await;
    serve(server, "/gridpoints/XHG/40,71", json(200, "grid-harrow-gap")).await;
    serve(
        server,
        "/gridpoints/XHG/40,71/stations",
        json(200, "stations-harrow-gap"),
    )
    .await;
}

pub fn ahead(id: &str, quantity: Quantity, layer: &str) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Forecast],
        ..series(id, quantity, "nws", "", layer)
    }
}

pub fn observed(id: &str, quantity: Quantity, layer: &str) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Continuous],
        continuous_from: Some("2025-10-09".parse().unwrap()),
        ..series(id, quantity, "nws", "XHGA", layer)
    }
}

pub fn with_alerts() -> Lake {
    Lake {
        official_alerts: Some(AlertSource {
            service: "nws".to_owned(),
        }),
        ..lake(Vec::new())
    }
}

pub fn forecast<'a>(fetched: &'a [Fetched], id: &str) -> &'a ForecastBatch {
    let of = |f: &'a Fetched| match f {
        Fetched::Forecast(batch) if batch.key.id.as_str() == id => Some(batch),
        _ => None,
    };
    fetched
        .iter()
        .find_map(of)
        .unwrap_or_else(|| panic!("no {id} in {fetched:?}"))
}

pub fn batch<'a>(fetched: &'a [Fetched], id: &str) -> &'a Batch {
    let of = |f: &'a Fetched| match f {
        Fetched::Observations(batch) if batch.key.id.as_str() == id => Some(batch),
        _ => None,
    };
    fetched
        .iter()
        .find_map(of)
        .unwrap_or_else(|| panic!("no {id} in {fetched:?}"))
}

pub async fn alerts(server: &MockServer) -> Result<AlertReply, SourceError> {
    let lake = with_alerts();
    let job = alert_job(&lake, clock()).expect("the lake names a service");
    let fetched = run(&client(&server.uri()).await, &lake, &job).await?;
    match fetched.into_iter().next() {
        Some(Fetched::Alerts(reply)) => Ok(reply),
        other => panic!("{other:?}"),
    }
}
