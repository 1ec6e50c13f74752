//! The service, the job and the client of these tests.

use std::path::PathBuf;
use std::time::Duration;

use chrono::{DateTime, Utc};
use plungeline::lake::{Cadence, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::sources::usgs_ogc::{Observed, get_observations, latest_job};
use plungeline::sources::{
    Client, Endpoints, FetchError, Job, Mode, Patience, ReadError, Settings, SourceError,
};
use wiremock::matchers::any;
use wiremock::{Mock, MockServer, ResponseTemplate};

pub const HOST: &str = "api.waterdata.usgs.gov";

pub fn fixture(relative: &str) -> Vec<u8> {
    std::fs::read(
        PathBuf::from(env!("CARGO_MANIFEST_DIR"))
            .join("fixtures")
            .join(relative),
    )
    .unwrap()
}

pub fn good_page() -> Vec<u8> {
    fixture("replies/usgs-ogc/continuous-990000030-00060-page2.json")
}

pub fn as_of() -> DateTime<Utc> {
    DateTime::parse_from_rfc3339("2025-10-09T11:30:00Z")
        .unwrap()
        .with_timezone(&Utc)
}

pub fn job() -> Job {
    let series = SeriesSource {
        station: "USGS-990000030".to_owned(),
        cadences: vec![Cadence::Continuous],
        ..SeriesSource::of("sorrel-flow", Quantity::Inflow, "usgs-ogc", "00060")
    };
    latest_job(&series, as_of())
}

/// Retries that take milliseconds.
pub fn settings(base: &str) -> Settings {
    Settings {
        patience: Patience {
            connect: Duration::from_millis(500),
            total: Duration::from_millis(400),
            tries: 3,
            connect_tries: 2,
            first_pause: Duration::from_millis(1),
            longest_pause: Duration::from_millis(4),
            retry_after_cap: Duration::from_secs(3),
        },
        endpoints: Endpoints::live().with(HOST, base),
        contact: Some("angler@example.org".to_owned()),
        ..Settings::default()
    }
}

pub async fn client(settings: Settings) -> Client {
    Client::new(Mode::Live, settings).await.unwrap()
}

pub async fn ask(base: &str) -> Result<Option<Observed>, SourceError> {
    get_observations(&client(settings(base)).await, &job()).await
}

pub async fn fetch_fault(base: &str) -> (FetchError, String) {
    let error = ask(base).await.unwrap_err();
    let message = error.to_string();
    assert!(
        message.starts_with("asking usgs-ogc for https://api.waterdata.usgs.gov/ogcapi/v0/"),
        "{message}"
    );
    match error {
        SourceError::Fetch { fault, .. } => (fault, message),
        other => panic!("{other}"),
    }
}

pub async fn read_fault(base: &str) -> (ReadError, String) {
    let error = ask(base).await.unwrap_err();
    let message = error.to_string();
    match error {
        SourceError::Read { fault, .. } => (fault, message),
        other => panic!("{other}"),
    }
}

pub async fn server(reply: ResponseTemplate) -> MockServer {
    let server = MockServer::start().await;
    Mock::given(any()).respond_with(reply).mount(&server).await;
    server
}

/// Answers `first` so many times, then the good page.
pub async fn server_that_recovers(first: ResponseTemplate, times: u64) -> MockServer {
    let server = MockServer::start().await;
    Mock::given(any())
        .respond_with(first)
        .up_to_n_times(times)
        .expect(times)
        .mount(&server)
        .await;
    Mock::given(any())
        .respond_with(ResponseTemplate::new(200).set_body_bytes(good_page()))
        .expect(1)
        .mount(&server)
        .await;
    server
}

pub fn packed(text: &[u8]) -> Vec<u8> {
    use std::io::Write;
    let mut out = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    out.write_all(text).unwrap();
    out.finish().unwrap()
}
