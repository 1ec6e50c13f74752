//! How long a pull of 30 series takes beside the slowest service's own sequence of requests. Measured by hand, since
//! machines are noisy: `cargo test --test all -- --ignored --nocapture pull::timing`.

use std::sync::Arc;
use std::time::{Duration, Instant};

use plungeline::lake::read_lake;
use plungeline::sources::{Client, Endpoints, Mode, Need, Settings, jobs, run, service_rules};
use wiremock::matchers::any;
use wiremock::{Mock, MockServer, Request, ResponseTemplate};

use super::{program, small_lake};

const LATENCY: Duration = Duration::from_millis(100);
const SERIES: usize = 30;

/// A lake with thirty daily series of one service, of two years each.
fn lake() -> String {
    let text = small_lake("thirty");
    let head = text.split("[[series]]").next().expect("a head").to_owned();
    let series = (0..SERIES).map(|n| {
        format!(
            "[[series]]\nid = \"storage-{n}\"\nquantity = \"storage\"\nservice = \"usgs-ogc\"\n\
             station = \"USGS-9900001{n:02}\"\nparameter = \"00054\"\nstatistic = \"00003\"\n\
             cadences = [\"daily\"]\ndaily_from = 2024-01-01\n\n"
        )
    });
    head + &series.collect::<String>()
}

/// A value a day of the window that is asked for.
fn answer(request: &Request) -> ResponseTemplate {
    let value = |name: &str| {
        request
            .url
            .query_pairs()
            .find(|(k, _)| k == name)
            .map(|(_, v)| v.into_owned())
    };
    let (window, station) = (value("time").unwrap_or_default(), value("monitoring_location_id"));
    let day = |text: &str| text.get(..10).and_then(|d| d.parse::<chrono::NaiveDate>().ok());
    let (first, last) = window
        .split_once('/')
        .map_or((None, None), |(a, b)| (day(a), day(b)));
    let days = first
        .zip(last)
        .map(|(first, last)| first.iter_days().take_while(move |d| *d <= last));
    let features: Vec<_> = days
        .into_iter()
        .flatten()
        .map(|day| {
            serde_json::json!({"type": "Feature", "id": day.to_string(), "properties": {
                "monitoring_location_id": station, "parameter_code": "00054", "statistic_id": "00003",
                "time_series_id": "invented", "time": day.to_string(), "value": "1000",
                "unit_of_measure": "acre-ft", "approval_status": "Provisional", "qualifier": null,
                "last_modified": "2025-10-09T00:00:00+00:00"}})
        })
        .collect();
    let count = features.len();
    ResponseTemplate::new(200)
        .set_delay(LATENCY)
        .set_body_json(serde_json::json!({
        "type": "FeatureCollection", "features": features, "numberReturned": count, "links": []}))
}

#[test]
#[ignore = "a measurement"]
fn a_pull_of_thirty_series_takes_little_longer_than_the_requests_of_its_slowest_service() {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let server = runtime.block_on(async {
        let server = MockServer::start().await;
        Mock::given(any()).respond_with(answer).mount(&server).await;
        server
    });
    let home = tempfile::tempdir().expect("a temporary folder");
    let file = home.path().join("thirty.toml");
    std::fs::write(&file, lake()).expect("writable");
    let began = Instant::now();
    let output = program(home.path())
        .args(["pull", "--as-of", "2025-10-09", "--lake"])
        .arg(&file)
        .env("PLUNGELINE_LOOPBACK", server.uri())
        .output()
        .expect("the program starts");
    let pull = began.elapsed();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(
        stderr.lines().filter(|l| l.starts_with("stored ")).count(),
        SERIES,
        "{stderr}"
    );

    let lake = Arc::new(read_lake(&lake(), &file, &service_rules()).expect("no faults"));
    let to = "2025-10-09T11:30:00Z".parse().expect("an instant");
    let need = |series| Need {
        series,
        cadence: plungeline::lake::Cadence::Daily,
        from: None,
        to,
    };
    let needs: Vec<Need<'_>> = lake.series.iter().map(need).collect();
    let work = jobs(&lake, &needs);
    let requests = work.len();
    let began = Instant::now();
    runtime.block_on(async {
        let settings = Settings {
            endpoints: Endpoints::below(server.uri()),
            ..Settings::default()
        };
        let client = Arc::new(Client::new(Mode::Live, settings).await.expect("a client"));
        let mut running = tokio::task::JoinSet::new();
        for job in work {
            let (client, lake) = (Arc::clone(&client), Arc::clone(&lake));
            running.spawn(async move { run(&client, &lake, &job).await.expect("a reply") });
        }
        while running.join_next().await.is_some() {}
    });
    let sequence = began.elapsed();
    let ratio = pull.as_secs_f64() / sequence.as_secs_f64();
    println!(
        "{SERIES} series, {requests} requests: pull {pull:.2?}, their sequence alone {sequence:.2?}, ratio {ratio:.2}"
    );
    assert!(ratio < 1.5, "{ratio}");
}
