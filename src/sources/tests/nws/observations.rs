//! Observations of stations, and what the service does not have.

use wiremock::{MockServer, ResponseTemplate};

use super::served::{ahead, batch, json, observed, serve, serve_point};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::Flag;
use crate::sources::tests::scene::{all_jobs, at, client, clock, fetch_all, lake};
use crate::sources::{FetchError, Fetched, SourceError, check_series, run};

#[tokio::test]
async fn observations_come_sorted_in_si_up_to_the_clock_with_the_codes_of_the_service() {
    let server = MockServer::start().await;
    serve(
        &server,
        "/stations/XHGA/observations",
        json(200, "observations-xhga"),
    )
    .await;
    let lake = lake(vec![
        observed("air", Quantity::AirTemp, "temperature"),
        observed("wind", Quantity::WindSpeed, "windSpeed"),
    ]);
    let jobs = all_jobs(&lake, clock());
    assert_eq!(jobs.len(), 1, "both series come in one request: {jobs:?}");
    let fetched = fetch_all(&client(&server.uri()).await, &lake).await;
    let air = &batch(&fetched, "air").rows;
    let rows: Vec<_> = air
        .iter()
        .map(|r| (r.time, r.value, r.flag, r.qualifier.as_deref()))
        .collect();
    assert_eq!(
        rows,
        [
            (at("2025-10-09T09:55:00Z"), Some(-40.0), Flag::Fail, Some("X")),
            (
                at("2025-10-09T10:55:00Z"),
                Some(3.9),
                Flag::NotEvaluated,
                Some("V")
            ),
            (
                at("2025-10-09T11:15:00Z"),
                Some(4.1),
                Flag::NotEvaluated,
                Some("V")
            ),
        ],
        "11:55 is after the clock"
    );
    // 10.8 km/h are 3 m/s; null stays a gap; a unit that is none of a speed is left out and named.
    let wind = &batch(&fetched, "wind").rows;
    assert_eq!(wind.len(), 2);
    assert!((wind[0].value.unwrap() - 3.0).abs() < 1e-12);
    assert_eq!((wind[1].value, wind[1].flag), (None, Flag::Missing));
    let named = fetched.iter().any(|f| {
        matches!(f, Fetched::Faults { series, faults }
            if series.as_str() == "wind" && faults[0].to_string().contains("furlongs"))
    });
    assert!(named, "{fetched:?}");
}

#[test]
fn observations_are_asked_for_a_day_at_a_time_and_no_further_back_than_the_service_holds() {
    let lake = lake(vec![SeriesSource {
        continuous_from: None,
        ..observed("air", Quantity::AirTemp, "temperature")
    }]);
    let jobs = all_jobs(&lake, clock());
    let windows: Vec<&(String, String)> = jobs.iter().filter_map(|job| job.window.as_ref()).collect();
    let window = |from: &str, to: &str| (from.to_owned(), to.to_owned());
    assert_eq!(windows.len(), 8);
    assert_eq!(
        windows[0],
        &window("2025-10-02T11:30:00Z", "2025-10-03T00:00:00Z")
    );
    assert_eq!(
        windows[7],
        &window("2025-10-09T00:00:00Z", "2025-10-09T11:30:00Z")
    );
    let query: Vec<String> = jobs[7].query.iter().map(|(k, v)| format!("{k}={v}")).collect();
    assert_eq!(
        query.join("&"),
        "start=2025-10-09T00:00:00Z&end=2025-10-09T11:30:00Z&limit=500"
    );
}

#[tokio::test]
async fn a_station_that_is_not_there_is_told_with_those_that_are() {
    let server = MockServer::start().await;
    serve_point(&server).await;
    serve(&server, "/stations/XHGA/observations", ResponseTemplate::new(404)).await;
    let lake = lake(vec![observed("air", Quantity::AirTemp, "temperature")]);
    let job = all_jobs(&lake, clock()).remove(0);
    let error = run(&client(&server.uri()).await, &lake, &job).await.unwrap_err();
    assert!(
        matches!(
            &error,
            SourceError::Fetch {
                fault: FetchError::Status { status: 404, .. },
                ..
            }
        ),
        "{error}"
    );
    assert!(
        error.to_string().contains("stations near the lake: XHGA, XSRL"),
        "{error}"
    );
}

#[test]
fn what_the_service_does_not_have_is_refused_with_what_it_has() {
    let says = |series: SeriesSource, words: &str| {
        let faults: Vec<String> = check_series(&series).iter().map(SourceError::to_string).collect();
        assert!(
            faults.iter().any(|fault| fault.contains(words)),
            "{faults:?} lacks {words:?}"
        );
    };
    says(
        SeriesSource {
            cadences: vec![Cadence::Daily],
            ..ahead("a", Quantity::AirTemp, "temperature")
        },
        "found cadence daily, wanted continuous or forecast",
    );
    says(
        ahead("a", Quantity::AirTemp, "airTemperature"),
        "found parameter \"airTemperature\", wanted one of temperature, dewpoint",
    );
    says(
        ahead("a", Quantity::AirTemp, "windSpeed"),
        "wanted temperature for air_temp",
    );
    says(
        ahead("a", Quantity::Shortwave, "skyCover"),
        "wanted another service, for it has no shortwave",
    );
    says(
        observed("a", Quantity::CloudCover, "skyCover"),
        "found parameter \"skyCover\" at cadence continuous",
    );
    says(
        ahead("a", Quantity::SurfacePressure, "barometricPressure"),
        "at cadence forecast",
    );
    says(
        SeriesSource {
            station: "../x".to_owned(),
            ..observed("a", Quantity::AirTemp, "temperature")
        },
        "found station \"../x\", wanted capital letters and digits",
    );
    says(
        SeriesSource {
            station: String::new(),
            ..observed("a", Quantity::AirTemp, "temperature")
        },
        "found no station (such as KBOI)",
    );
    assert!(check_series(&ahead("a", Quantity::AirTemp, "temperature")).is_empty());
}
