//! The raw grid of a position, and a service that will not give it.

use wiremock::matchers::{header, path};
use wiremock::{Mock, MockServer};

use super::served::{ROOT, ahead, forecast, json, serve, serve_point};
use crate::quantity::Quantity;
use crate::series::Member;
use crate::sources::tests::scene::{all_jobs, at, client, clock, fetch_all, lake, settings};
use crate::sources::{Client, Fetched, Mode, Settings, run};

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
