//! Invented replies of the National Water Prediction Service through client and parser.

use wiremock::matchers::{method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

use super::scene::{all_jobs, at, client, clock, fixture, lake, series};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Batch, Flag, ForecastBatch};
use crate::sources::nwps::{Part, read_stageflow, to_batch, to_forecast};
use crate::sources::{
    FetchError, Fetched, ReadError, SourceError, Want, check_series, read_saved, run as run_job,
};

const GAUGE: &str = "/api.water.noaa.gov/nwps/v1/gauges/SRLX9/stageflow";

fn flow(cadence: Cadence) -> SeriesSource {
    SeriesSource {
        cadences: vec![cadence],
        ..series("sorrel-flow", Quantity::Inflow, "nwps", "SRLX9", "flow")
    }
}

fn stage(cadence: Cadence) -> SeriesSource {
    SeriesSource {
        cadences: vec![cadence],
        // 3.42 ft.
        datum_offset_m: Some(3.42 * 0.3048),
        ..series("pool", Quantity::PoolElevation, "nwps", "SRLX9", "stage")
    }
}

fn want(series: SeriesSource) -> Want {
    Want {
        cadence: series.cadences[0],
        series,
        from: None,
    }
}

async fn served(wanted: Vec<SeriesSource>, status: u16, body: &[u8]) -> Result<Vec<Fetched>, SourceError> {
    let server = MockServer::start().await;
    let word = match wanted[0].cadences[0] {
        Cadence::Forecast => "forecast",
        _ => "observed",
    };
    Mock::given(method("GET"))
        .and(path(format!("{GAUGE}/{word}")))
        .respond_with(ResponseTemplate::new(status).set_body_bytes(body))
        .mount(&server)
        .await;
    let lake = lake(wanted);
    let mut jobs = all_jobs(&lake, clock());
    assert_eq!(jobs.len(), 1, "one request a gauge and part");
    run_job(&client(&server.uri()).await, &lake, &jobs.remove(0)).await
}

fn forecast_of(fetched: &[Fetched]) -> &ForecastBatch {
    let found = fetched.iter().find_map(|f| match f {
        Fetched::Forecast(forecast) => Some(forecast),
        _ => None,
    });
    found.unwrap_or_else(|| panic!("{fetched:?}"))
}

fn batch_of(fetched: &[Fetched]) -> &Batch {
    let found = fetched.iter().find_map(|f| match f {
        Fetched::Observations(batch) => Some(batch),
        _ => None,
    });
    found.unwrap_or_else(|| panic!("{fetched:?}"))
}

#[tokio::test]
async fn a_river_forecast_comes_sorted_in_m3s_as_one_run_of_its_time_of_issue() {
    let body = fixture("replies/nwps/forecast-srlx9.json");
    let fetched = served(vec![flow(Cadence::Forecast)], 200, &body).await.unwrap();
    let forecast = forecast_of(&fetched);
    assert_eq!(forecast.issued_at, at("2025-10-09T10:05:00Z"));
    assert_eq!((forecast.members.len(), forecast.value.len()), (1, 1));
    assert_eq!((forecast.time.len(), forecast.value[0].len()), (17, 17));
    assert!(forecast.time.windows(2).all(|w| w[0] < w[1]));
    assert_eq!(forecast.time[3], at("2025-10-10T06:00:00Z"));
    // 980 cfs x 0.028316846592; tolerance: the tenth figure.
    assert!((forecast.value[0][3].unwrap() - 27.750_509_66).abs() < 1e-8);
    assert_eq!(forecast.value[0][10], None, "the sentinel");
    assert_eq!(forecast.provenance.original_unit, "cfs");
}

#[tokio::test]
async fn stage_and_flow_of_one_reply_are_found_by_name_and_in_the_unit_it_states() {
    let body = fixture("replies/nwps/observed-srlx9.json");
    let both = vec![flow(Cadence::Continuous), stage(Cadence::Continuous)];
    let fetched = served(both, 200, &body).await.unwrap();
    let batches: Vec<&Batch> = fetched
        .iter()
        .filter_map(|f| match f {
            Fetched::Observations(batch) => Some(batch),
            _ => None,
        })
        .collect();
    let [flow, stage] = batches.as_slice() else {
        panic!("{fetched:?}")
    };
    let times: Vec<String> = flow
        .rows
        .iter()
        .map(|r| r.time.format("%H:%M").to_string())
        .collect();
    // Sorted; the year 1, the word and 12:00, after the clock, are not there.
    assert_eq!(times, ["09:00", "10:00", "11:00"]);
    assert_eq!(
        (
            flow.rows[0].value,
            flow.rows[0].flag,
            flow.rows[0].qualifier.as_deref()
        ),
        (None, Flag::Missing, Some("-9999"))
    );
    assert_eq!(stage.rows[0].qualifier.as_deref(), Some("-999"));
    // 0.410 kcfs x 28.316846592, and (3.40 + 3.42) ft x 0.3048; tolerance: rounding.
    assert!((flow.rows[1].value.unwrap() - 11.609_907_102_72).abs() < 1e-9);
    assert!((stage.rows[1].value.unwrap() - 2.078_736).abs() < 1e-9);
    let places: Vec<&str> = fetched
        .iter()
        .find_map(|f| match f {
            Fetched::Faults { faults, .. } => Some(faults.iter().map(|f| f.place.as_str()).collect()),
            _ => None,
        })
        .unwrap();
    assert_eq!(places, ["data[3].validTime", "data[5].primary"]);
}

#[tokio::test]
async fn a_gauge_without_a_forecast_is_told_of_and_is_no_error() {
    for body in [
        fixture("replies/nwps/forecast-none.json"),
        fixture("replies/nwps/stageflow-no-forecast.json"),
        br#"{"pedts":"","issuedTime":"0001-01-01T00:00:00Z","primaryName":"","secondaryName":"","data":null}"#.to_vec(),
    ] {
        let fetched = served(vec![flow(Cadence::Forecast)], 200, &body).await.unwrap();
        let [Fetched::Faults { faults, .. }] = fetched.as_slice() else { panic!("{fetched:?}") };
        let fault = faults.last().unwrap();
        assert_eq!((fault.place.as_str(), fault.found.as_str()), ("flow of SRLX9", "no forecast in the reply"));
    }
}

#[tokio::test]
async fn problem_bodies_speak_with_their_status_and_a_page_is_a_fault() {
    let body = fixture("replies/nwps/problem-404.json");
    let error = served(vec![flow(Cadence::Forecast)], 404, &body)
        .await
        .unwrap_err();
    let said = matches!(
        &error,
        SourceError::Fetch { fault: FetchError::Status { status: 404, said: Some(words), .. }, .. }
            if words.contains("no gauge SRLX8")
    );
    assert!(said, "{error}");
    for status in [400, 500] {
        let error = served(vec![flow(Cadence::Forecast)], status, &body)
            .await
            .unwrap_err()
            .to_string();
        assert!(error.contains(&format!("found status {status}")), "{error}");
    }
    for (body, words) in [
        (body, "no gauge SRLX8"),
        (fixture("damaged/reply-page.html"), "an HTML page"),
        (fixture("damaged/reply-nwps-cut.json"), "stops in the middle"),
        (b" ".to_vec(), "an empty body"),
        (b"{}".to_vec(), "JSON without data"),
    ] {
        let error = served(vec![flow(Cadence::Forecast)], 200, &body)
            .await
            .unwrap_err()
            .to_string();
        assert!(error.contains(words) && error.contains("nwps"), "{error}");
    }
}

#[test]
fn both_parts_of_a_whole_reply_are_told_apart() {
    let whole = fixture("replies/nwps/stageflow-srlx9.json");
    let observed = read_stageflow(&whole, Part::Observed).unwrap();
    let forecast = read_stageflow(&whole, Part::Forecast).unwrap();
    assert_eq!((observed.points.len(), forecast.points.len()), (4, 17));
    assert_eq!(
        (
            observed.columns[1].unit.as_str(),
            forecast.columns[1].unit.as_str()
        ),
        ("kcfs", "cfs")
    );
    assert_eq!(observed.faults[0].place, "observed.data[3].validTime");
}

/// One forecast of given columns and points `(time, generated, secondary)`.
fn block(secondary: (&str, &str), issued: &str, points: &[(&str, &str, &str)]) -> Vec<u8> {
    let data: Vec<String> = points
        .iter()
        .map(|(time, generated, figure)| {
            format!(
                r#"{{"validTime":"{time}","generatedTime":"{generated}","primary":1.0,"secondary":{figure}}}"#
            )
        })
        .collect();
    format!(
        r#"{{"issuedTime":"{issued}","primaryName":"Stage","primaryUnits":"ft","secondaryName":"{}",
        "secondaryUnits":"{}","data":[{}]}}"#,
        secondary.0,
        secondary.1,
        data.join(",")
    )
    .into_bytes()
}

const ISSUED: &str = "2025-10-09T10:05:00Z";

#[test]
fn a_figure_of_another_name_or_unit_is_refused() {
    let one = |name, unit| {
        let bytes = block((name, unit), ISSUED, &[("2025-10-09T12:00:00Z", ISSUED, "1.5")]);
        let block = read_stageflow(&bytes, Part::Forecast).unwrap();
        to_forecast(&block, &want(flow(Cadence::Forecast)), clock())
    };
    assert!(one("Flow", "kcfs").is_ok());
    assert!(matches!(one("Flow", "ft"), Err(ReadError::Unit { .. })));
    assert!(matches!(one("Flow", ""), Err(ReadError::Unit { .. })));
    let fault = one("Velocity", "kcfs").unwrap_err().to_string();
    assert!(
        fault.contains("secondary \"Velocity\" in kcfs") && fault.contains("\"flow\""),
        "{fault}"
    );
    assert!(
        matches!(one("Stage", "ft"), Err(ReadError::Kind { .. })),
        "two stages, no flow"
    );
}

#[test]
fn a_forecast_without_its_time_of_issue_is_refused() {
    let bytes = block(
        ("Flow", "cfs"),
        "0001-01-01T00:00:00Z",
        &[("2025-10-09T12:00:00Z", ISSUED, "500")],
    );
    let block = read_stageflow(&bytes, Part::Forecast).unwrap();
    let fault = to_forecast(&block, &want(flow(Cadence::Forecast)), clock()).unwrap_err();
    assert!(fault.to_string().contains("without its issuedTime"), "{fault}");
}

#[test]
fn of_two_points_of_one_time_the_one_made_later_stands() {
    let time = "2025-10-09T09:00:00Z";
    let read = |points: &[(&str, &str, &str)]| {
        let bytes = block(("Flow", "cfs"), ISSUED, points);
        let block = read_stageflow(&bytes, Part::Observed).unwrap();
        let found = to_batch(&block, &want(flow(Cadence::Continuous)), clock(), clock()).unwrap();
        (found.filled.rows[0].original_value, found.faults.len())
    };
    let (early, late) = ("2025-10-09T09:10:00Z", "2025-10-09T09:40:00Z");
    assert_eq!(read(&[(time, early, "1"), (time, late, "2")]), (Some(2.0), 0));
    assert_eq!(read(&[(time, late, "2"), (time, early, "1")]), (Some(2.0), 0));
    assert_eq!(read(&[(time, early, "1"), (time, early, "2")]), (Some(1.0), 1));
    assert_eq!(read(&[(time, early, "-999"), (time, early, "2")]), (Some(2.0), 0));
    assert_eq!(read(&[(time, early, "1"), (time, late, "-999")]), (Some(1.0), 0));
}

#[test]
fn instants_of_both_clock_changes_are_those_of_utc() {
    let times = [
        "2025-03-09T09:00:00Z",
        "2025-03-09T10:00:00Z",
        "2025-03-09T11:00:00Z",
        "2025-11-02T08:00:00Z",
        "2025-11-02T09:00:00Z",
    ];
    let points: Vec<(&str, &str, &str)> = times.iter().map(|t| (*t, ISSUED, "500")).collect();
    let block = read_stageflow(&block(("Flow", "cfs"), ISSUED, &points), Part::Observed).unwrap();
    let found = to_batch(
        &block,
        &want(flow(Cadence::Continuous)),
        at("2026-01-01T00:00:00Z"),
        clock(),
    )
    .unwrap()
    .filled;
    let mut wanted: Vec<_> = times.iter().map(|t| at(t)).collect();
    wanted.sort();
    assert_eq!(found.rows.iter().map(|r| r.time).collect::<Vec<_>>(), wanted);
}

#[test]
fn what_the_service_does_not_have_is_told_before_it_is_asked() {
    for (series, words) in [
        (flow(Cadence::Daily), "cadence daily"),
        (
            SeriesSource {
                parameter: "velocity".to_owned(),
                ..flow(Cadence::Forecast)
            },
            "flow for inflow",
        ),
        (
            SeriesSource {
                parameter: "stage".to_owned(),
                ..flow(Cadence::Forecast)
            },
            "flow for inflow",
        ),
        (
            SeriesSource {
                station: "../x".to_owned(),
                ..flow(Cadence::Forecast)
            },
            "five capital letters",
        ),
        (
            SeriesSource {
                datum_offset_m: None,
                ..stage(Cadence::Continuous)
            },
            "datum_offset",
        ),
    ] {
        let faults: Vec<String> = check_series(&series).iter().map(ToString::to_string).collect();
        assert!(faults.iter().any(|f| f.contains(words)), "{words}: {faults:?}");
    }
    assert!(check_series(&flow(Cadence::Forecast)).is_empty());
}

#[tokio::test]
async fn a_figure_that_cannot_be_used_does_not_cost_the_other() {
    let body = block(
        ("Velocity", "ft/s"),
        ISSUED,
        &[("2025-10-09T09:00:00Z", ISSUED, "2")],
    );
    let both = vec![flow(Cadence::Continuous), stage(Cadence::Continuous)];
    let fetched = served(both, 200, &body).await.unwrap();
    assert_eq!(batch_of(&fetched).key.id.as_str(), "pool");
    assert!(
        fetched
            .iter()
            .any(|f| matches!(f, Fetched::Faults { series, .. } if series.as_str() == "sorrel-flow"))
    );
}

#[test]
fn saved_replies_are_known_for_what_they_are() {
    let saved = |file: &str| read_saved(None, &fixture(&format!("replies/nwps/{file}")), "any").unwrap();
    let forecast = saved("forecast-srlx9.json");
    assert_eq!((forecast.service, forecast.records.len()), ("nwps", 34));
    assert_eq!(forecast.records[1].note, "forecast, issued 2025-10-09T10:05:00Z");
    assert_eq!(
        (forecast.records[1].value, forecast.records[1].unit.as_str()),
        (Some(430.0), "cfs")
    );
    let whole = saved("stageflow-srlx9.json");
    assert_eq!((whole.records.len(), whole.faults.len()), (42, 2));
    assert!(whole.records[0].note.starts_with("observed"));
    assert_eq!(saved("forecast-none.json").records.len(), 0);
}
