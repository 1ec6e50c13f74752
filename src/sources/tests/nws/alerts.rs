//! Alerts in force at a position.

use wiremock::matchers::{path, query_param};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::served::{ROOT, alerts, json, serve, with_alerts};
use crate::lake::Lake;
use crate::sources::tests::scene::{at, clock, fixture};
use crate::sources::{ReadError, SourceError, alert_job};

#[test]
fn a_position_is_asked_for_with_four_decimals_at_most_and_no_zeros_at_its_end() {
    let of = |latitude_deg, longitude_deg| {
        let lake = Lake {
            latitude_deg,
            longitude_deg,
            ..with_alerts()
        };
        alert_job(&lake, clock()).unwrap().query[0].1.clone()
    };
    assert_eq!(of(42.20, -119.60), "42.2,-119.6");
    assert_eq!(of(42.123_456, -119.987_64), "42.1235,-119.9876");
    assert_eq!(of(30.0, -0.000_01), "30,0");
}

#[tokio::test]
async fn alerts_in_force_come_word_for_word_without_tests_and_cancellations() {
    let server = MockServer::start().await;
    Mock::given(path(format!("{ROOT}/alerts/active")))
        .and(query_param("point", "42.2,-119.6"))
        .respond_with(json(200, "alerts-harrow-gap"))
        .mount(&server)
        .await;
    let reply = alerts(&server).await.unwrap();
    assert_eq!((reply.service.as_str(), reply.unread), ("nws", 0));
    let [alert] = &reply.alerts[..] else {
        panic!("{reply:?}")
    };
    assert_eq!(alert.event, "Lake Wind Advisory");
    assert_eq!(
        alert.description.as_deref(),
        Some("* WHAT...Northwest winds 15 to 25 mph.\n\n* WHERE...Harrow Gap.")
    );
    assert_eq!(
        (alert.onset, alert.ends),
        (Some(at("2025-10-09T17:00:00Z")), Some(at("2025-10-10T03:00:00Z")))
    );
}

#[tokio::test]
async fn no_alerts_are_told_from_a_page_a_cut_body_and_a_problem() {
    let empty = MockServer::start().await;
    serve(&empty, "/alerts/active", json(200, "alerts-none")).await;
    assert_eq!(alerts(&empty).await.unwrap().alerts, []);

    let page = MockServer::start().await;
    let html = ResponseTemplate::new(200).set_body_raw(fixture("damaged/reply-page.html"), "text/html");
    serve(&page, "/alerts/active", html).await;
    let error = alerts(&page).await.unwrap_err();
    assert!(
        matches!(
            &error,
            SourceError::Read {
                fault: ReadError::NotJson { .. },
                ..
            }
        ),
        "{error}"
    );

    let cut = MockServer::start().await;
    let body = fixture("damaged/reply-nws-cut.json");
    serve(
        &cut,
        "/alerts/active",
        ResponseTemplate::new(200).set_body_bytes(body),
    )
    .await;
    let error = alerts(&cut).await.unwrap_err();
    assert!(
        matches!(
            &error,
            SourceError::Read {
                fault: ReadError::CutShort { .. },
                ..
            }
        ),
        "{error}"
    );

    let problem = MockServer::start().await;
    serve(&problem, "/alerts/active", json(200, "problem-invalid-point")).await;
    let error = alerts(&problem).await.unwrap_err();
    assert!(error.to_string().contains("(InvalidPoint)"), "{error}");
}
