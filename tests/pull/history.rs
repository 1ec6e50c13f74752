//! `--history`: the archive by years, resumed, and nothing asked for twice.

use chrono::NaiveDate;
use wiremock::matchers::any;
use wiremock::{Mock, MockServer, Request, ResponseTemplate};

use super::{configure, program, run, small_lake};

const AIR: &str = r#"
[[series]]
id = "air"
quantity = "air_temp"
service = "open-meteo"
parameter = "temperature_2m"
cadences = ["daily"]
daily_from = 2025-01-01
"#;

fn day(request: &Request, name: &str) -> Option<NaiveDate> {
    let value = request
        .url
        .query_pairs()
        .find(|(key, _)| key == name)?
        .1
        .into_owned();
    value.parse().ok()
}

/// Daily temperatures for what is asked; status 400 for 2021, as if the service had a hole there.
fn archive(request: &Request) -> ResponseTemplate {
    let (Some(first), Some(last)) = (day(request, "start_date"), day(request, "end_date")) else {
        return ResponseTemplate::new(404);
    };
    if first.to_string().starts_with("2021") {
        return ResponseTemplate::new(400).set_body_string(r#"{"error":true,"reason":"no such year"}"#);
    }
    let days: Vec<String> = first
        .iter_days()
        .take_while(|d| *d <= last)
        .map(|d| d.to_string())
        .collect();
    ResponseTemplate::new(200).set_body_json(serde_json::json!({
        "latitude": 42.2, "longitude": -119.6, "utc_offset_seconds": 0, "timezone": "GMT",
        "daily_units": {"time": "iso8601", "temperature_2m_mean": "°C"},
        "daily": {"time": days, "temperature_2m_mean": vec![11.5; days.len()]},
    }))
}

/// Provokes `Error::NotLoopback` at its end.
#[test]
fn the_archive_is_filled_year_by_year_and_what_is_there_is_not_asked_for_again() {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let server = runtime.block_on(async {
        let server = MockServer::start().await;
        Mock::given(any()).respond_with(archive).mount(&server).await;
        server
    });
    let home = tempfile::tempdir().expect("a temporary folder");
    let text = small_lake("upper");
    let head = text.split("[[series]]").next().expect("a head");
    configure(home.path(), "upper", &format!("{head}{AIR}"));
    let received = || runtime.block_on(server.received_requests()).unwrap_or_default();
    let asked = |years: &str| -> Vec<String> {
        let before = received().len();
        let output = program(home.path())
            .args([
                "pull",
                "--lake",
                "upper",
                "--as-of",
                "2025-10-09",
                "--history",
                years,
            ])
            .env("PLUNGELINE_LOOPBACK", server.uri())
            .output()
            .expect("the program starts");
        assert!(
            output.status.success(),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        let first = |r: &Request| day(r, "start_date").map(|d| d.to_string());
        received()[before..].iter().filter_map(first).collect()
    };
    // First what the lake file asks for, then back year by year.
    assert_eq!(asked("2"), ["2025-01-01", "2024-01-01", "2023-01-01"]);
    // An ordinary pull goes back 60 days from the newest value, 8 October; two of the three years are there.
    assert_eq!(asked("3"), ["2025-08-09", "2022-01-01"]);
    // A year that fails ends the history, so that nothing earlier hides that it is lacking ...
    assert_eq!(asked("6"), ["2025-08-09", "2021-01-01"]);
    // ... and is asked for again.
    assert_eq!(asked("4"), ["2025-08-09", "2021-01-01"]);
    // A file of the history that has gone is asked for again, that year alone.
    let year = home.path().join("data/plungeline/upper/air/daily-2023.parquet");
    std::fs::remove_file(&year).expect("the year is there");
    assert_eq!(asked("3"), ["2025-08-09", "2023-01-01"]);
    assert!(year.exists());

    let output = program(home.path())
        .args(["pull", "--lake", "upper"])
        .env("PLUNGELINE_LOOPBACK", "http://example.org")
        .output()
        .expect("the program starts");
    assert_eq!(output.status.code(), Some(2));
    let (status, _, stderr) = run(home.path(), &["pull", "--lake", "upper", "--history", "0"]);
    assert_eq!(status, 2, "{stderr}");
}
