//! Replies that are no JSON, cut short, packed, too large, or an error in disguise.

use super::scene::{ask, client, fetch_fault, fixture, good_page, job, packed, read_fault, server, settings};
use plungeline::sources::open_meteo::get_weather;
use plungeline::sources::usgs_ogc::get_observations;
use plungeline::sources::{FetchError, Job, ReadError, Settings, SourceError};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use wiremock::matchers::any;
use wiremock::{Mock, MockServer, ResponseTemplate};

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
