//! Services that are down, slow, refuse, or ask for a pause.

use super::scene::{
    HOST, ask, client, fetch_fault, fixture, good_page, job, server, server_that_recovers, settings,
};
use plungeline::sources::open_meteo::get_weather;
use plungeline::sources::usgs_ogc::get_observations;
use plungeline::sources::{FetchError, Job, Patience, Settings, SourceError};
use std::time::{Duration, Instant, SystemTime};
use wiremock::matchers::any;
use wiremock::{Mock, MockServer, ResponseTemplate};

#[tokio::test]
async fn a_service_that_is_down_is_tried_again_and_named() {
    let (fault, message) = fetch_fault(&closed_port()).await;
    // The tries of a host that no connection comes about to (`Patience::connect_tries`).
    assert!(
        matches!(fault, FetchError::Unreachable { tries: 2, .. }),
        "{message}"
    );
    assert!(
        message.contains("Connection refused") && message.contains("check the network"),
        "{message}"
    );
}

/// An address of this machine at which nobody listens.
fn closed_port() -> String {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    format!("http://{}", listener.local_addr().unwrap())
}

#[tokio::test]
async fn once_a_host_is_out_of_reach_its_other_requests_fail_at_once() {
    let gauges = closed_port();
    let weather = server(
        ResponseTemplate::new(200).set_body_bytes(fixture("replies/open-meteo/forecast-harrow-gap.json")),
    )
    .await;
    let slow = Settings {
        patience: Patience {
            first_pause: Duration::from_millis(300),
            longest_pause: Duration::from_millis(300),
            ..settings(&gauges).patience
        },
        ..settings(&gauges)
    };
    let endpoints = slow.endpoints.clone().with("api.open-meteo.com", weather.uri());
    let client = client(Settings { endpoints, ..slow }).await;
    get_observations(&client, &job()).await.unwrap_err();
    let began = Instant::now();
    for _ in 0..20 {
        let error = get_observations(&client, &job()).await.unwrap_err();
        let SourceError::Fetch { fault, .. } = &error else {
            panic!("{error}")
        };
        assert!(
            matches!(fault, FetchError::HostAway { host, .. } if *host == HOST),
            "{error}"
        );
        assert!(
            error.to_string().contains("Connection refused")
                && error.to_string().contains("check the network"),
            "{error}"
        );
    }
    // Twenty requests, each with a pause of 300 ms or more if it were tried.
    assert!(
        began.elapsed() < Duration::from_millis(300),
        "{:?}",
        began.elapsed()
    );
    // Another host is asked all the same.
    let forecast = Job {
        service: "open-meteo",
        host: "api.open-meteo.com",
        path: "/v1/forecast".to_owned(),
        ..job()
    };
    get_weather(&client, &forecast).await.unwrap();
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
