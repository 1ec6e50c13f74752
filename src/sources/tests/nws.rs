//! Invented replies of the National Weather Service through client and parser.

use wiremock::matchers::{header, method, path, query_param};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, clock, fetch_all, fixture, lake, series, settings};
use crate::lake::{AlertSource, Cadence, Lake, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{AlertReply, Batch, Flag, ForecastBatch, Member};
use crate::sources::{
    Client, FetchError, Fetched, Mode, ReadError, Settings, SourceError, alert_job, check_series, run,
};

const ROOT: &str = "/api.weather.gov";

fn json(status: u16, file: &str) -> ResponseTemplate {
    let body = fixture(&format!("replies/nws/{file}.json"));
    ResponseTemplate::new(status).set_body_raw(body, "application/geo+json")
}

async fn serve(server: &MockServer, at: &str, reply: ResponseTemplate) {
    Mock::given(method("GET"))
        .and(path(format!("{ROOT}{at}")))
        .respond_with(reply)
        .mount(server)
        .await;
}

async fn serve_point(server: &MockServer) {
    serve(server, "/points/42.2,-119.6", json(200, "point-harrow-gap")).await;
    serve(server, "/gridpoints/XHG/40,71", json(200, "grid-harrow-gap")).await;
    serve(
        server,
        "/gridpoints/XHG/40,71/stations",
        json(200, "stations-harrow-gap"),
    )
    .await;
}

fn ahead(id: &str, quantity: Quantity, layer: &str) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Forecast],
        ..series(id, quantity, "nws", "", layer)
    }
}

fn observed(id: &str, quantity: Quantity, layer: &str) -> SeriesSource {
    SeriesSource {
        cadences: vec![Cadence::Continuous],
        continuous_from: Some("2025-10-09".parse().unwrap()),
        ..series(id, quantity, "nws", "XHGA", layer)
    }
}

fn with_alerts() -> Lake {
    Lake {
        official_alerts: Some(AlertSource {
            service: "nws".to_owned(),
        }),
        ..lake(Vec::new())
    }
}

fn forecast<'a>(fetched: &'a [Fetched], id: &str) -> &'a ForecastBatch {
    let of = |f: &'a Fetched| match f {
        Fetched::Forecast(batch) if batch.key.id.as_str() == id => Some(batch),
        _ => None,
    };
    fetched
        .iter()
        .find_map(of)
        .unwrap_or_else(|| panic!("no {id} in {fetched:?}"))
}

fn batch<'a>(fetched: &'a [Fetched], id: &str) -> &'a Batch {
    let of = |f: &'a Fetched| match f {
        Fetched::Observations(batch) if batch.key.id.as_str() == id => Some(batch),
        _ => None,
    };
    fetched
        .iter()
        .find_map(of)
        .unwrap_or_else(|| panic!("no {id} in {fetched:?}"))
}

async fn alerts(server: &MockServer) -> Result<AlertReply, SourceError> {
    let lake = with_alerts();
    let job = alert_job(&lake, clock()).expect("the lake names a service");
    let fetched = run(&client(&server.uri()).await, &lake, &job).await?;
    match fetched.into_iter().next() {
        Some(Fetched::Alerts(reply)) => Ok(reply),
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn one_grid_fills_all_series_hour_by_hour_as_issued_by_its_office() {
    let server = MockServer::start().await;
    serve_point(&server).await;
    let lake = lake(vec![
        ahead("air", Quantity::AirTemp, "temperature"),
        ahead("wind", Quantity::WindSpeed, "windSpeed"),
        ahead("rain", Quantity::Precipitation, "quantitativePrecipitation"),
        ahead("thunder", Quantity::ThunderProbability, "probabilityOfThunder"),
        ahead("sight", Quantity::Visibility, "visibility"),
    ]);
    assert_eq!(all_jobs(&lake, clock()).len(), 1);
    let fetched = fetch_all(&client(&server.uri()).await, &lake).await;
    let air = forecast(&fetched, "air");
    assert_eq!(air.issued_at, at("2025-10-09T09:42:10Z"));
    assert_eq!(air.members, [Member(0)]);
    // From the hour of the issue on: 4.5 at 09, 3.5 at 10 and 11, null at 12, 5 at 13 (by hand from the file).
    assert_eq!(air.time.first(), Some(&at("2025-10-09T09:00:00Z")));
    assert_eq!(air.value[0], [Some(4.5), Some(3.5), Some(3.5), None, Some(5.0)]);
    // 18 and 36 km/h are 5 and 10 m/s exactly.
    let wind = &forecast(&fetched, "wind").value[0];
    let exact = [5.0, 5.0, 5.0, 10.0, 10.0];
    assert!(
        wind.iter()
            .zip(exact)
            .all(|(found, si)| (found.unwrap() - si).abs() < 1e-12),
        "{wind:?}"
    );
    // 3 mm in six hours: half a millimetre in each hour, stamped with its end.
    let rain = forecast(&fetched, "rain");
    assert_eq!((rain.time[0], rain.time.len()), (at("2025-10-09T09:00:00Z"), 4));
    assert!(rain.value[0].iter().all(|v| (v.unwrap() - 0.0005).abs() < 1e-12));
    assert_eq!(forecast(&fetched, "thunder").value[0][0], Some(0.25));
    // An empty layer costs only itself, and is named.
    let faults = fetched.iter().filter_map(|f| match f {
        Fetched::Faults { series, faults } => Some((series.as_str(), faults[0].to_string())),
        _ => None,
    });
    let faults: Vec<(&str, String)> = faults.collect();
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(
        faults[0].0 == "sight" && faults[0].1.contains("no variable \"visibility\""),
        "{faults:?}"
    );
}

#[tokio::test]
async fn a_grid_without_any_layer_that_is_wanted_is_an_error() {
    let server = MockServer::start().await;
    serve_point(&server).await;
    let lake = lake(vec![ahead("sight", Quantity::Visibility, "visibility")]);
    let job = all_jobs(&lake, clock()).remove(0);
    let error = run(&client(&server.uri()).await, &lake, &job).await.unwrap_err();
    assert!(error.to_string().contains("XHG/40,71"), "{error}");
}

#[tokio::test]
async fn every_request_names_program_contact_and_media_type_and_the_cell_is_asked_for_once() {
    let server = MockServer::start().await;
    let program = concat!("plungeline/", env!("CARGO_PKG_VERSION"));
    Mock::given(path(format!("{ROOT}/points/42.2,-119.6")))
        .and(header(
            "user-agent",
            format!("{program} (+angler@example.org)").as_str(),
        ))
        .and(header("accept", "application/geo+json"))
        .respond_with(json(200, "point-harrow-gap"))
        .expect(1)
        .mount(&server)
        .await;
    serve(&server, "/gridpoints/XHG/40,71", json(200, "grid-harrow-gap")).await;
    let lake = lake(vec![ahead("air", Quantity::AirTemp, "temperature")]);
    let settings = Settings {
        contact: lake.contact.clone(),
        ..settings(&server.uri())
    };
    let client = Client::new(Mode::Live, settings).await.unwrap();
    let job = all_jobs(&lake, clock()).remove(0);
    let (first, second) = tokio::join!(run(&client, &lake, &job), run(&client, &lake, &job));
    let value = |fetched: Vec<Fetched>| forecast(&fetched, "air").value.clone();
    assert_eq!(value(first.unwrap()), value(second.unwrap()));
}

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

#[tokio::test]
async fn a_position_without_a_forecast_is_told_in_the_words_of_the_problem() {
    let server = MockServer::start().await;
    serve(&server, "/points/42.2,-119.6", json(404, "problem-invalid-point")).await;
    let lake = lake(vec![ahead("air", Quantity::AirTemp, "temperature")]);
    let job = all_jobs(&lake, clock()).remove(0);
    let message = run(&client(&server.uri()).await, &lake, &job)
        .await
        .unwrap_err()
        .to_string();
    for words in [
        "Data Unavailable For Requested Point",
        "Unable to provide data for requested point 42.2,-119.6",
        "(InvalidPoint)",
        "mend station, parameter or position",
    ] {
        assert!(message.contains(words), "{words:?} is not in {message}");
    }
}

#[tokio::test]
async fn an_expired_grid_is_asked_for_again_and_comes() {
    let server = MockServer::start().await;
    let expired = Mock::given(path(format!("{ROOT}/gridpoints/XHG/40,71")));
    expired
        .respond_with(json(503, "problem-grid-expired"))
        .up_to_n_times(2)
        .expect(2)
        .mount(&server)
        .await;
    serve_point(&server).await;
    let lake = lake(vec![ahead("air", Quantity::AirTemp, "temperature")]);
    let fetched = fetch_all(&client(&server.uri()).await, &lake).await;
    assert_eq!(forecast(&fetched, "air").value[0].len(), 5);
}

#[tokio::test]
async fn a_grid_that_stays_expired_says_so_in_its_own_words() {
    let server = MockServer::start().await;
    serve(&server, "/points/42.2,-119.6", json(200, "point-harrow-gap")).await;
    serve(
        &server,
        "/gridpoints/XHG/40,71",
        json(503, "problem-grid-expired"),
    )
    .await;
    let lake = lake(vec![ahead("air", Quantity::AirTemp, "temperature")]);
    let job = all_jobs(&lake, clock()).remove(0);
    let message = run(&client(&server.uri()).await, &lake, &job)
        .await
        .unwrap_err()
        .to_string();
    assert!(
        message.contains("Forecast Grid Expired") && message.contains("3 tries"),
        "{message}"
    );
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
