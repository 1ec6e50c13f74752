//! Redirects, pages and keys: what belongs to a host stays there.

use super::scene::{ask, client, fetch_fault, fixture, good_page, job, server, settings};
use plungeline::sources::open_meteo::get_weather;
use plungeline::sources::usgs_ogc::get_observations;
use plungeline::sources::{FetchError, Job, Key, SERVICES, Settings};
use wiremock::matchers::{any, header, method, path, query_param, query_param_is_missing};
use wiremock::{Mock, MockServer, ResponseTemplate};

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
