//! Invented replies of Open-Meteo through client and parser.

use wiremock::matchers::{method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{at, client, clock, fetch_all, fixture, lake, weather};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Approval, Batch, Flag, ForecastBatch, Member};
use crate::sources::{Client, Fetched};

async fn served() -> (MockServer, Client) {
    let server = MockServer::start().await;
    for (at, file) in [
        ("/api.open-meteo.com/v1/forecast", "forecast"),
        ("/ensemble-api.open-meteo.com/v1/ensemble", "ensemble"),
    ] {
        let body = fixture(&format!("replies/open-meteo/{file}-harrow-gap.json"));
        let reply = ResponseTemplate::new(200).set_body_raw(body, "application/json");
        Mock::given(method("GET"))
            .and(path(at))
            .respond_with(reply)
            .mount(&server)
            .await;
    }
    let client = client(&server.uri()).await;
    (server, client)
}

async fn serve_archive(server: &MockServer, kind: &str) {
    let body = fixture(&format!("replies/open-meteo/archive-{kind}-harrow-gap.json"));
    let reply = ResponseTemplate::new(200).set_body_raw(body, "application/json");
    Mock::given(method("GET"))
        .and(path("/archive-api.open-meteo.com/v1/archive"))
        .respond_with(reply)
        .mount(server)
        .await;
}

fn batches(fetched: &[Fetched]) -> Vec<&Batch> {
    fetched
        .iter()
        .filter_map(|f| {
            if let Fetched::Observations(batch) = f {
                Some(batch)
            } else {
                None
            }
        })
        .collect()
}

fn forecasts(fetched: &[Fetched]) -> Vec<&ForecastBatch> {
    fetched
        .iter()
        .filter_map(|f| {
            if let Fetched::Forecast(batch) = f {
                Some(batch)
            } else {
                None
            }
        })
        .collect()
}

#[tokio::test]
async fn an_ensemble_comes_with_its_members_from_the_hour_of_the_clock_on() {
    let (_server, client) = served().await;
    let lake = lake(vec![SeriesSource {
        cadences: vec![Cadence::Forecast],
        ..weather("air", Quantity::AirTemp, "temperature_2m")
    }]);
    let fetched = fetch_all(&client, &lake).await;
    let [forecast] = forecasts(&fetched)[..] else {
        panic!("{fetched:?}")
    };
    assert_eq!(forecast.members, [Member(0), Member(1), Member(2)]);
    assert_eq!(forecast.time.first(), Some(&at("2025-10-09T11:00:00Z")));
    assert_eq!(forecast.value[0], [Some(3.5), Some(3.4), Some(3.8), Some(5.0)]);
    // A null stays one.
    assert_eq!(forecast.value[1][3], None);
    // Member 2 comes in Fahrenheit: 41 degF = 5 degC, 50 degF = 10 degC; tolerance: rounding.
    assert!((forecast.value[2][1].unwrap() - 5.0).abs() < 1e-12);
    assert!((forecast.value[2][3].unwrap() - 10.0).abs() < 1e-12);
    // The single run stands by for a morning when the ensemble does not come.
    assert!(
        fetched
            .iter()
            .any(|f| matches!(f, Fetched::StandInForecast(single) if single.members == [Member(0)]))
    );
}

#[tokio::test]
async fn visibility_comes_from_the_single_run_for_no_ensemble_has_it() {
    let (_server, client) = served().await;
    let sight = SeriesSource {
        cadences: vec![Cadence::Forecast],
        ..weather("sight", Quantity::Visibility, "visibility")
    };
    let fetched = fetch_all(&client, &lake(vec![sight])).await;
    let [forecast] = forecasts(&fetched)[..] else {
        panic!("{fetched:?}")
    };
    assert_eq!(
        forecast.value,
        [[Some(16000.0), Some(9000.0), Some(12000.0), Some(24140.0)]]
    );
    assert!(!fetched.iter().any(|f| matches!(f, Fetched::StandInForecast(_))));
}

#[tokio::test]
async fn past_hours_fill_what_the_archive_does_not_have_yet() {
    let (server, client) = served().await;
    serve_archive(&server, "hourly").await;
    let air = weather("air", Quantity::AirTemp, "temperature_2m");
    let fetched = fetch_all(
        &client,
        &lake(vec![SeriesSource {
            cadences: vec![Cadence::Continuous],
            ..air
        }]),
    )
    .await;
    let [archive, past] = batches(&fetched)[..] else {
        panic!("{fetched:?}")
    };
    // 09 a value, 10 a gap, 11 a value; what follows is not there yet, and no gap.
    let values: Vec<Option<f64>> = archive.rows.iter().map(|row| row.value).collect();
    assert_eq!(values, [Some(4.3), None, Some(3.9)]);
    assert_eq!(
        (archive.rows[1].flag, archive.rows[0].approval),
        (Flag::Missing, Approval::Provisional)
    );
    let values: Vec<Option<f64>> = past.rows.iter().map(|row| row.value).collect();
    assert_eq!(values, [Some(4.1), Some(3.8), Some(3.6)]);
    assert_eq!(past.rows[0].approval, Approval::Unstated);
}

#[tokio::test]
async fn days_become_means_in_si_and_one_that_has_not_ended_is_left_out() {
    let (server, client) = served().await;
    serve_archive(&server, "daily").await;
    let daily = |id: &str, quantity, parameter: &str| SeriesSource {
        cadences: vec![Cadence::Daily],
        daily_from: Some("2025-10-06".parse().unwrap()),
        ..weather(id, quantity, parameter)
    };
    let fetched = fetch_all(
        &client,
        &lake(vec![
            daily("sun", Quantity::Shortwave, "shortwave_radiation"),
            daily("rain", Quantity::Precipitation, "precipitation"),
            daily("gust", Quantity::WindGust, "wind_gusts_10m"),
            daily("cloud", Quantity::CloudCover, "cloud_cover"),
        ]),
    )
    .await;
    let [sun, rain, gust] = batches(&fetched)[..] else {
        panic!("{fetched:?}")
    };
    let times: Vec<_> = sun.rows.iter().map(|row| row.time).collect();
    assert_eq!(
        times,
        [
            at("2025-10-06T08:00:00Z"),
            at("2025-10-07T08:00:00Z"),
            at("2025-10-08T08:00:00Z")
        ]
    );
    // 17.28 MJ/m2 a day is 200 W/m2; 8.64 is 100, 12.96 is 150 (1 W/m2 = 0.0864 MJ/m2 a day).
    for (row, w_m2) in sun.rows.iter().zip([200.0, 100.0, 150.0]) {
        assert!((row.value.unwrap() - w_m2).abs() < 1e-9);
    }
    assert_eq!(rain.rows[1].value, Some(5.4 * 0.001));
    assert_eq!(rain.rows.len(), 2); // the null of the third day is not there yet
    assert!((gust.rows[0].value.unwrap() - 10.0).abs() < 1e-9); // 36 km/h
    // Cloud was asked for and is not in the reply: named, and the others stand.
    let fault = fetched.iter().find_map(|f| {
        if let Fetched::Faults { series, faults } = f {
            Some((series, faults))
        } else {
            None
        }
    });
    let (series, faults) = fault.unwrap();
    assert_eq!(series.as_str(), "cloud");
    assert!(
        faults[0].found.contains("no variable \"cloud_cover_mean\""),
        "{}",
        faults[0]
    );
}

#[tokio::test]
async fn an_undefined_variable_is_a_fault_and_not_a_calm_sky() {
    let (_server, client) = served().await;
    let both = lake(vec![
        SeriesSource {
            cadences: vec![Cadence::Forecast],
            ..weather("air", Quantity::AirTemp, "temperature_2m")
        },
        SeriesSource {
            cadences: vec![Cadence::Forecast],
            ..weather("cloud", Quantity::CloudCover, "cloud_cover")
        },
    ]);
    let fetched = fetch_all(&client, &both).await;
    let of_cloud = |f: &&Fetched| matches!(f, Fetched::Faults { series, .. } if series.as_str() == "cloud");
    assert_eq!(fetched.iter().filter(of_cloud).count(), 2); // ensemble and single run
    assert_eq!(forecasts(&fetched).len(), 1);
    assert_eq!(
        forecasts(&fetched)[0].issued_at.date_naive(),
        chrono::Utc::now().date_naive()
    );
    assert!(clock() < forecasts(&fetched)[0].issued_at);
}
