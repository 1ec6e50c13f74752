//! Services that are down, slow, broken, or lead astray: a clear message, and no more than that.

use std::path::PathBuf;
use std::time::{Duration, Instant, SystemTime};

use chrono::{DateTime, Utc};
use plungeline::lake::{Cadence, SeriesId, SeriesPlace, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::sources::open_meteo::get_weather;
use plungeline::sources::usgs_ogc::{Observed, get_observations, latest_job};
use plungeline::sources::{
    Client, Endpoints, FetchError, Job, Key, Mode, Patience, ReadError, SERVICES, Settings, SourceError,
};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use wiremock::matchers::{any, header, method, path, query_param, query_param_is_missing};
use wiremock::{Mock, MockServer, ResponseTemplate};

const HOST: &str = "api.waterdata.usgs.gov";

fn fixture(relative: &str) -> Vec<u8> {
    std::fs::read(
        PathBuf::from(env!("CARGO_MANIFEST_DIR"))
            .join("fixtures")
            .join(relative),
    )
    .unwrap()
}

fn good_page() -> Vec<u8> {
    fixture("replies/usgs-ogc/continuous-990000030-00060-page2.json")
}

fn as_of() -> DateTime<Utc> {
    DateTime::parse_from_rfc3339("2025-10-09T11:30:00Z")
        .unwrap()
        .with_timezone(&Utc)
}

fn job() -> Job {
    let series = SeriesSource {
        id: SeriesId::new("sorrel-flow"),
        quantity: Quantity::Inflow,
        place: SeriesPlace::Lake,
        depth_m: None,
        service: "usgs-ogc".to_owned(),
        station: "USGS-990000030".to_owned(),
        parameter: "00060".to_owned(),
        statistic: None,
        ensemble_model: None,
        cadences: vec![Cadence::Continuous],
        daily_from: None,
        daily_until: None,
        continuous_from: None,
        unit: None,
        datum_offset_m: None,
        datum_source: None,
        late_after_h: None,
        csv: None,
    };
    latest_job(&series, as_of())
}

/// Retries that take milliseconds.
fn settings(base: &str) -> Settings {
    Settings {
        patience: Patience {
            connect: Duration::from_millis(500),
            total: Duration::from_millis(400),
            tries: 3,
            first_pause: Duration::from_millis(1),
            longest_pause: Duration::from_millis(4),
            retry_after_cap: Duration::from_secs(3),
        },
        endpoints: Endpoints::live().with(HOST, base),
        contact: Some("angler@example.org".to_owned()),
        ..Settings::default()
    }
}

async fn client(settings: Settings) -> Client {
    Client::new(Mode::Live, settings).await.unwrap()
}

async fn ask(base: &str) -> Result<Option<Observed>, SourceError> {
    get_observations(&client(settings(base)).await, &job()).await
}

async fn fetch_fault(base: &str) -> (FetchError, String) {
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

async fn read_fault(base: &str) -> (ReadError, String) {
    let error = ask(base).await.unwrap_err();
    let message = error.to_string();
    match error {
        SourceError::Read { fault, .. } => (fault, message),
        other => panic!("{other}"),
    }
}

async fn server(reply: ResponseTemplate) -> MockServer {
    let server = MockServer::start().await;
    Mock::given(any()).respond_with(reply).mount(&server).await;
    server
}

/// Answers `first` so many times, then the good page.
async fn server_that_recovers(first: ResponseTemplate, times: u64) -> MockServer {
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

fn packed(text: &[u8]) -> Vec<u8> {
    use std::io::Write;
    let mut out = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    out.write_all(text).unwrap();
    out.finish().unwrap()
}

#[tokio::test]
async fn a_service_that_is_down_is_tried_again_and_named() {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let base = format!("http://{}", listener.local_addr().unwrap());
    drop(listener);
    let (fault, message) = fetch_fault(&base).await;
    assert!(
        matches!(fault, FetchError::Unreachable { tries: 3, .. }),
        "{message}"
    );
    assert!(
        message.contains("Connection refused") && message.contains("check the network"),
        "{message}"
    );
}

#[tokio::test]
async fn a_service_that_is_slow_is_given_up() {
    let server = server(ResponseTemplate::new(200).set_delay(Duration::from_secs(5))).await;
    let began = Instant::now();
    let (fault, message) = fetch_fault(&server.uri()).await;
    assert!(
        matches!(fault, FetchError::TimedOut { tries: 3, .. }),
        "{message}"
    );
    assert!(began.elapsed() < Duration::from_secs(4), "{:?}", began.elapsed());
}

#[tokio::test]
async fn passing_faults_are_waited_out() {
    for status in [429, 500, 502, 503, 504] {
        let server = server_that_recovers(ResponseTemplate::new(status), 2).await;
        let observed = ask(&server.uri()).await.unwrap().unwrap();
        assert_eq!(observed.rows.len(), 3, "{status}");
    }
}

#[tokio::test]
async fn a_lasting_fault_of_the_service_is_given_up_after_all_tries() {
    let server = MockServer::start().await;
    Mock::given(any())
        .respond_with(ResponseTemplate::new(503))
        .expect(3)
        .mount(&server)
        .await;
    let (fault, _) = fetch_fault(&server.uri()).await;
    assert!(matches!(
        fault,
        FetchError::Status {
            status: 503,
            tries: 3,
            ..
        }
    ));
}

#[tokio::test]
async fn what_is_refused_is_not_asked_again_and_the_services_words_are_passed_on() {
    for (status, file, words) in [
        (404, "error-code-description.json", "unknown monitoring location"),
        (403, "error-nested.json", "slow down"),
    ] {
        let server = MockServer::start().await;
        let body = fixture(&format!("replies/usgs-ogc/{file}"));
        let reply = ResponseTemplate::new(status).set_body_bytes(body);
        Mock::given(any())
            .respond_with(reply)
            .expect(1)
            .mount(&server)
            .await;
        let (_, message) = fetch_fault(&server.uri()).await;
        assert!(
            message.contains(&format!("found status {status} (\"{words}\"), wanted 200")),
            "{message}"
        );
    }
}

#[tokio::test]
async fn a_pause_that_the_service_asks_for_is_made_in_seconds_and_by_date() {
    for by_date in [false, true] {
        let date = || httpdate::fmt_http_date(SystemTime::now() + Duration::from_secs(2));
        let pause = if by_date { date() } else { "1".to_owned() };
        let first = ResponseTemplate::new(429).insert_header("retry-after", pause.as_str());
        let server = server_that_recovers(first, 1).await;
        let began = Instant::now();
        assert!(ask(&server.uri()).await.unwrap().is_some());
        // A date has whole seconds, so that as little as one may be left of two.
        assert!(
            began.elapsed() >= Duration::from_millis(900),
            "{pause}: {:?}",
            began.elapsed()
        );
    }
}

#[tokio::test]
async fn too_long_a_pause_is_not_made() {
    let server = MockServer::start().await;
    let reply = ResponseTemplate::new(429).insert_header("retry-after", "3600");
    Mock::given(any())
        .respond_with(reply)
        .expect(1)
        .mount(&server)
        .await;
    let (fault, message) = fetch_fault(&server.uri()).await;
    assert!(matches!(fault, FetchError::AskedToWait { status: 429, .. }));
    assert!(
        message.contains("asks to wait 3600 s, more than the 3 s a run waits"),
        "{message}"
    );
}

#[tokio::test]
async fn a_page_where_json_was_due_is_told_as_such() {
    let server =
        server(ResponseTemplate::new(200).set_body_raw(fixture("damaged/reply-page.html"), "text/html"))
            .await;
    let (fault, message) = read_fault(&server.uri()).await;
    assert!(
        matches!(
            fault,
            ReadError::NotJson {
                found: "an HTML page",
                ..
            }
        ),
        "{message}"
    );
}

#[tokio::test]
async fn an_empty_body_and_cut_json_are_told_as_such() {
    let empty = server(ResponseTemplate::new(200)).await;
    assert!(matches!(
        read_fault(&empty.uri()).await.0,
        ReadError::Empty { .. }
    ));
    let cut =
        server(ResponseTemplate::new(200).set_body_bytes(fixture("damaged/reply-usgs-ogc-cut.json"))).await;
    let (fault, message) = read_fault(&cut.uri()).await;
    assert!(matches!(fault, ReadError::CutShort { .. }), "{message}");
    assert!(message.contains("features[1]"), "{message}");
}

#[tokio::test]
async fn an_error_body_with_a_good_status_speaks() {
    for file in ["error-code-description.json", "error-nested.json"] {
        let server =
            server(ResponseTemplate::new(200).set_body_bytes(fixture(&format!("replies/usgs-ogc/{file}"))))
                .await;
        let (fault, message) = read_fault(&server.uri()).await;
        assert!(matches!(fault, ReadError::Said { .. }), "{message}");
    }
}

#[tokio::test]
async fn gzip_is_unpacked_and_a_cut_one_is_asked_for_again() {
    let gzip = |bytes: &[u8]| {
        ResponseTemplate::new(200)
            .insert_header("content-encoding", "gzip")
            .set_body_bytes(bytes)
    };
    let whole = packed(&good_page());
    let server = server(gzip(&whole)).await;
    assert_eq!(ask(&server.uri()).await.unwrap().unwrap().rows.len(), 3);

    let server = MockServer::start().await;
    Mock::given(any())
        .respond_with(gzip(&whole[..whole.len() / 2]))
        .expect(3)
        .mount(&server)
        .await;
    let (fault, message) = fetch_fault(&server.uri()).await;
    assert!(
        matches!(fault, FetchError::CutShort { tries: 3, .. }),
        "{message}"
    );
}

#[tokio::test]
async fn brotli_is_unpacked() {
    let packed = fixture("replies/usgs-ogc/continuous-990000030-00060-page2.json.br");
    let reply = ResponseTemplate::new(200)
        .insert_header("content-encoding", "br")
        .set_body_bytes(packed);
    let server = server(reply).await;
    assert_eq!(ask(&server.uri()).await.unwrap().unwrap().rows.len(), 3);
}

#[tokio::test]
async fn a_connection_that_breaks_off_in_the_body_is_named() {
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let base = format!("http://{}", listener.local_addr().unwrap());
    let task = tokio::spawn(async move {
        while let Ok((mut stream, _)) = listener.accept().await {
            let mut request = [0; 2048];
            let _ = stream.read(&mut request).await;
            let _ = stream
                .write_all(b"HTTP/1.1 200 OK\r\ncontent-length: 1000\r\n\r\n{\"features\": [")
                .await;
        }
    });
    let (fault, message) = fetch_fault(&base).await;
    task.abort();
    assert!(
        matches!(
            fault,
            FetchError::CutShort {
                received_bytes: 14,
                tries: 3,
                ..
            }
        ),
        "{message}"
    );
}

#[tokio::test]
async fn a_reply_that_unpacks_past_the_cap_is_dropped() {
    let bomb = packed(&vec![b' '; 1_000_000]);
    assert!(bomb.len() < 2000);
    let server = server(
        ResponseTemplate::new(200)
            .insert_header("content-encoding", "gzip")
            .set_body_bytes(bomb),
    )
    .await;
    let small = Settings {
        reply_cap_bytes: 100_000,
        ..settings(&server.uri())
    };
    let error = get_observations(&client(small).await, &job()).await.unwrap_err();
    assert!(
        matches!(
            &error,
            SourceError::Fetch {
                fault: FetchError::TooLarge { cap_bytes: 100_000 },
                ..
            }
        ),
        "{error}"
    );
}

#[tokio::test]
async fn a_redirect_to_another_host_is_not_followed_and_gets_no_key() {
    let other = MockServer::start().await;
    Mock::given(any())
        .respond_with(ResponseTemplate::new(200))
        .expect(0)
        .mount(&other)
        .await;
    let server = server(ResponseTemplate::new(302).insert_header("location", other.uri().as_str())).await;
    let (fault, message) = fetch_fault(&server.uri()).await;
    assert!(
        matches!(fault, FetchError::LeavesHost { what: "redirect", .. }),
        "{message}"
    );
}

#[tokio::test]
async fn a_redirect_on_the_same_host_is_followed_and_a_circle_is_left() {
    let server = MockServer::start().await;
    let moved = ResponseTemplate::new(301).insert_header("location", "/moved/items?f=json");
    Mock::given(path("/ogcapi/v0/collections/latest-continuous/items"))
        .respond_with(moved)
        .mount(&server)
        .await;
    let reply = ResponseTemplate::new(200).set_body_bytes(good_page());
    Mock::given(path("/moved/items"))
        .respond_with(reply)
        .mount(&server)
        .await;
    assert_eq!(ask(&server.uri()).await.unwrap().unwrap().rows.len(), 3);

    let circle = MockServer::start().await;
    Mock::given(any())
        .respond_with(ResponseTemplate::new(307).insert_header("location", "/again"))
        .mount(&circle)
        .await;
    let (fault, message) = fetch_fault(&circle.uri()).await;
    assert!(
        matches!(
            fault,
            FetchError::Endless {
                what: "a redirect",
                ..
            }
        ),
        "{message}"
    );
}

#[tokio::test]
async fn a_circle_of_pages_is_left_and_a_page_elsewhere_is_not_read() {
    let page = |name: &str| {
        fixture(&format!(
            "replies/usgs-ogc/continuous-990000030-00060-{name}.json"
        ))
    };
    let circle = server(ResponseTemplate::new(200).set_body_bytes(page("loop"))).await;
    let (fault, message) = fetch_fault(&circle.uri()).await;
    assert!(
        matches!(
            fault,
            FetchError::Endless {
                what: "the chain of pages",
                count: 2
            }
        ),
        "{message}"
    );

    let away = server(ResponseTemplate::new(200).set_body_bytes(page("away"))).await;
    let (fault, message) = fetch_fault(&away.uri()).await;
    assert!(
        matches!(&fault, FetchError::LeavesHost { to, .. } if to == "https://data.example.org/items"),
        "{message}"
    );
}

#[tokio::test]
async fn a_second_page_that_fails_fails_the_request() {
    let server = MockServer::start().await;
    let first = fixture("replies/usgs-ogc/continuous-990000030-00060-page1.json");
    Mock::given(query_param_is_missing("cursor"))
        .respond_with(ResponseTemplate::new(200).set_body_bytes(first))
        .mount(&server)
        .await;
    Mock::given(query_param("cursor", "page2"))
        .respond_with(ResponseTemplate::new(404))
        .mount(&server)
        .await;
    let (fault, message) = fetch_fault(&server.uri()).await;
    assert!(
        matches!(fault, FetchError::Status { status: 404, .. }) && message.contains("cursor=page2"),
        "{message}"
    );
}

#[tokio::test]
async fn a_key_goes_to_its_own_host_and_every_request_says_who_asks() {
    let key = Key {
        rule: SERVICES[0].key.unwrap(),
        secret: "hush".to_owned(),
    };
    let gauges = MockServer::start().await;
    let agent = format!("plungeline/{} (+angler@example.org)", env!("CARGO_PKG_VERSION"));
    Mock::given(method("GET"))
        .and(header("x-api-key", "hush"))
        .and(header("user-agent", agent.as_str()))
        .respond_with(ResponseTemplate::new(429).insert_header("retry-after", "100"))
        .expect(1)
        .mount(&gauges)
        .await;
    let weather = server(
        ResponseTemplate::new(200).set_body_bytes(fixture("replies/open-meteo/forecast-harrow-gap.json")),
    )
    .await;
    let settings = Settings {
        keys: vec![key],
        ..settings(&gauges.uri())
    };
    let endpoints = settings
        .endpoints
        .clone()
        .with("api.open-meteo.com", weather.uri());
    let client = client(Settings {
        endpoints,
        ..settings
    })
    .await;

    let error = get_observations(&client, &job()).await.unwrap_err();
    assert!(!format!("{error} {error:?}").contains("hush"));
    let forecast = Job {
        service: "open-meteo",
        host: "api.open-meteo.com",
        path: "/v1/forecast".to_owned(),
        ..job()
    };
    get_weather(&client, &forecast).await.unwrap();
    let asked = &weather.received_requests().await.unwrap()[0];
    assert!(asked.headers.get("x-api-key").is_none());
    assert_eq!(asked.headers.get("user-agent").unwrap().to_str().unwrap(), agent);
    let packings = asked.headers.get("accept-encoding").unwrap().to_str().unwrap();
    assert!(packings.contains("gzip") && packings.contains("br"), "{packings}");
}

#[tokio::test]
async fn the_weather_services_error_body_speaks() {
    let body = fixture("replies/open-meteo/error-latitude.json");
    for (status, words) in [
        (400, "found status 400 (\"Latitude must be in range"),
        (200, "the service says: Latitude"),
    ] {
        let server = server(ResponseTemplate::new(status).set_body_bytes(body.clone())).await;
        let settings = settings(&server.uri());
        let endpoints = settings
            .endpoints
            .clone()
            .with("api.open-meteo.com", server.uri());
        let client = client(Settings {
            endpoints,
            ..settings
        })
        .await;
        let forecast = Job {
            service: "open-meteo",
            host: "api.open-meteo.com",
            path: "/v1/forecast".to_owned(),
            ..job()
        };
        let error = get_weather(&client, &forecast).await.unwrap_err();
        assert!(error.to_string().contains(words), "{error}");
    }
}

#[tokio::test]
async fn requests_to_one_service_wait_for_each_other() {
    let reply = ResponseTemplate::new(200)
        .set_body_bytes(good_page())
        .set_delay(Duration::from_millis(60));
    let server = server(reply).await;
    let client = client(Settings {
        at_once_per_service: 2,
        ..settings(&server.uri())
    })
    .await;
    let (began, job) = (Instant::now(), job());
    let ask = || get_observations(&client, &job);
    let (a, b, c, d, e, f) = tokio::join!(ask(), ask(), ask(), ask(), ask(), ask());
    assert!([a, b, c, d, e, f].iter().all(Result::is_ok));
    // Six requests of 60 ms, two at once.
    assert!(
        began.elapsed() >= Duration::from_millis(170),
        "{:?}",
        began.elapsed()
    );
}

#[tokio::test]
async fn an_address_that_is_none_is_named() {
    let (fault, _) = fetch_fault("ftp://127.0.0.1").await;
    assert!(
        matches!(&fault, FetchError::Address { found } if found.starts_with("ftp://")),
        "{fault}"
    );
}
