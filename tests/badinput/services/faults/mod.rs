//! Every fault of the list, played by a server on loopback: what the user is told, and that the values in the
//! store and the requests to other services stand. `docs/faults.md` is made here.

mod list;
mod plays;

use std::time::Duration;

use plungeline::lake::{Cadence, Lake, SeriesId, read_lake_file};
use plungeline::series::{Batch, Observation, SeriesKey, Store};
use plungeline::sources::{
    Client, Endpoints, FetchError, Fetched, Job, Mode, Need, Patience, Settings, SourceError, jobs, run,
    service_rules,
};
use wiremock::ResponseTemplate;

use super::scene::{HOST, as_of, fixture};
use crate::house::source::{document, root};
use list::{FAULTS, Fault};

const DOCUMENT: &str = "docs/faults.md";
const SERIES: &str = "sorrel-flow";
/// Time of one try where none is meant to run out, on a busy machine too.
const AMPLE: Duration = Duration::from_secs(60);
const WEATHER_HOST: &str = "api.open-meteo.com";

/// What came of one fault.
struct Outcome {
    /// What the user is told, a line each.
    told: Vec<String>,
    /// Values of the series in the store afterwards, those that were there before left out.
    new: Vec<(String, Option<f64>)>,
    /// Requests that reached the server.
    asked: usize,
    /// Bytes that the server sent by itself.
    sent: u64,
}

/// A page of the gauge: times and values, written as they are.
pub fn page(rows: &[(&str, &str)]) -> Vec<u8> {
    let rows: Vec<String> = rows
        .iter()
        .map(|(time, value)| {
            format!(
                r#"{{"type": "Feature", "properties": {{"monitoring_location_id": "USGS-990000030", "parameter_code": "00060", "time_series_id": "a", "time": "{time}", "value": {value}, "unit_of_measure": "ft^3/s", "approval_status": "Provisional", "last_modified": "2025-10-09T11:00:00+00:00"}}}}"#
            )
        })
        .collect();
    format!(
        r#"{{"type": "FeatureCollection", "features": [{}]}}"#,
        rows.join(",\n")
    )
    .into_bytes()
}

fn lake() -> Lake {
    let file = root().join("config/lakes/harrow-gap.toml");
    read_lake_file(&file, &service_rules()).expect("the demonstration lake")
}

/// The newest flow of the gauge, and the forecast of another service.
fn work(lake: &Lake) -> (Job, Job) {
    let series = |id: &str| {
        let found = lake.series.iter().find(|s| s.id.as_str() == id);
        found.expect("a series of the demonstration lake")
    };
    let gauge = plungeline::sources::usgs_ogc::latest_job(series(SERIES), as_of());
    let need = Need {
        series: series("air-temp"),
        cadence: Cadence::Forecast,
        from: None,
        to: as_of(),
    };
    let weather = jobs(lake, &[need])
        .into_iter()
        .find(|job| job.host == WEATHER_HOST);
    (gauge, weather.expect("a forecast is asked for"))
}

/// As in the program, but for pauses of milliseconds and the time of one try.
fn settings(gauges: &str, weather: &str, total: Duration) -> Settings {
    Settings {
        patience: Patience {
            total,
            first_pause: Duration::from_millis(1),
            longest_pause: Duration::from_millis(4),
            ..Patience::default()
        },
        endpoints: Endpoints::live().with(HOST, gauges).with(WEATHER_HOST, weather),
        ..Settings::default()
    }
}

/// The batches of a reply, and what was left out of it.
fn parts(fetched: Vec<Fetched>) -> (Vec<Batch>, Vec<String>) {
    let (mut batches, mut left_out) = (Vec::new(), Vec::new());
    for part in fetched {
        match part {
            Fetched::Observations(batch) => batches.push(batch),
            Fetched::Faults { faults, .. } => {
                left_out.extend(faults.iter().map(|fault| format!("left out: {fault}")));
            }
            _ => {}
        }
    }
    (batches, left_out)
}

fn stored(store: &Store, lake: &Lake) -> Vec<Observation> {
    let key = SeriesKey {
        id: SeriesId::new(SERIES),
        cadence: Cadence::Continuous,
    };
    let set = store.load(lake, as_of());
    set.observations.get(&key).cloned().unwrap_or_default()
}

/// The lines that a pull writes of an error.
fn told(error: &SourceError) -> String {
    match error {
        SourceError::Fetch { fault, .. } => fault.in_short(),
        SourceError::Read { fault, .. } => fault.to_string(),
        other => other.to_string(),
    }
}

/// Fills the store, plays the fault, asks the gauge and the other service, and looks.
async fn outcome(fault: &Fault) -> Outcome {
    let lake = lake();
    let (gauge, weather) = work(&lake);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut store = Store::open(folder.path(), &lake.id).expect("a store");
    let before = page(&[("2025-10-09T09:00:00Z", "\"400\"")]);
    let good = plays::play(plays::Play::Always(
        ResponseTemplate::new(200).set_body_bytes(before),
    ))
    .await;
    let forecast = plays::play(plays::Play::Always(
        ResponseTemplate::new(200).set_body_bytes(fixture("replies/open-meteo/forecast-harrow-gap.json")),
    ))
    .await;
    let first = Client::new(Mode::Live, settings(&good.base, &forecast.base, AMPLE))
        .await
        .expect("a client");
    let (batches, _) = parts(run(&first, &lake, &gauge).await.expect("a good page"));
    store.merge_all(&batches).expect("kept");
    let before = stored(&store, &lake);
    assert_eq!(before.len(), 1, "{}: the store was filled", fault.name);

    let stage = plays::play((fault.play)()).await;
    let client = Client::new(
        Mode::Live,
        settings(&stage.base, &forecast.base, fault.patience()),
    )
    .await
    .expect("a client");
    let (gauge, weather) = tokio::join!(run(&client, &lake, &gauge), run(&client, &lake, &weather));
    let weather = weather.unwrap_or_else(|e| panic!("{}: the other service failed: {e}", fault.name));
    assert!(
        weather.iter().any(
            |part| matches!(part, Fetched::StandInForecast(f) | Fetched::Forecast(f) if !f.time.is_empty())
        ),
        "{}: the other service brought no forecast",
        fault.name
    );
    let told = match gauge {
        Ok(fetched) => {
            let (batches, left_out) = parts(fetched);
            store.merge_all(&batches).expect("kept");
            left_out
        }
        Err(error) => {
            let of_certificate = matches!(
                &error,
                SourceError::Fetch {
                    fault: FetchError::Certificate { .. },
                    ..
                }
            );
            assert_eq!(of_certificate, matches!((fault.play)(), plays::Play::Certificate));
            vec![told(&error)]
        }
    };
    let after = stored(&store, &lake);
    assert!(
        before.iter().all(|row| after.contains(row)),
        "{}: the store lost a value",
        fault.name
    );
    let new = after
        .iter()
        .filter(|row| !before.contains(row))
        .map(|row| (row.time.format("%H:%M").to_string(), row.original_value))
        .collect();
    Outcome {
        told,
        new,
        asked: stage.asked().await,
        sent: stage.sent(),
    }
}

/// Plays a fault and checks all that its row promises.
async fn check(name: &str) {
    let fault = FAULTS
        .iter()
        .find(|fault| fault.name == name)
        .expect("a fault of the list");
    let outcome = outcome(fault).await;
    let all = outcome.told.join("\n");
    assert_eq!(outcome.told.len(), fault.told.len(), "{name}: {all}");
    for (line, words) in outcome.told.iter().zip(fault.told) {
        assert!(line.contains(words), "{name}: {words:?} is not in {line:?}");
    }
    let new: Vec<(&str, Option<f64>)> = outcome.new.iter().map(|(t, v)| (t.as_str(), *v)).collect();
    assert_eq!(new, fault.new, "{name}: {all}");
    assert_eq!(outcome.asked, fault.asked, "{name}: requests");
    // What is in flight on loopback when the client hangs up is a few megabytes.
    assert!(
        outcome.sent < 100_000_000,
        "{name}: {} bytes were sent",
        outcome.sent
    );
}

/// A message without what differs from run to run.
fn steady(line: &str) -> String {
    match line
        .split_once("cut short after ")
        .and_then(|(a, rest)| Some((a, rest.split_once(" bytes")?.1)))
    {
        Some((before, after)) => format!("{before}cut short after N bytes{after}"),
        None => line.to_owned(),
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_table_of_faults_is_what_the_user_is_told() {
    let mut text = String::from(
        "# Faults of a service, and what the user is told\n\n\
         Made by `tests/badinput/services/faults/`: a server on loopback stands in for the gauges and plays each fault while\n\
         `sorrel-flow` of the demonstration lake is asked for; `PLUNGELINE_BLESS=1 cargo test` writes this page anew. In every row the\n\
         value that was in the store stays, and the weather asked for at the same time comes. Messages are those behind\n\
         `not fetched: USGS Water Data:` of a pull; a try that runs out of time has 1 s here and 60 s in the program.\n\n\
         | fault | what the user is told | values that come | requests |\n|---|---|---|---|\n",
    );
    for fault in FAULTS {
        let outcome = outcome(fault).await;
        let told = match outcome.told.as_slice() {
            [] => "nothing".to_owned(),
            lines => lines
                .iter()
                .map(|line| steady(line))
                .collect::<Vec<_>>()
                .join("<br>"),
        };
        let told = told
            .replace('|', "\\|")
            .replace('<', "&lt;")
            .replace("&lt;br>", "<br>");
        let (name, new, asked) = (fault.title, outcome.new.len(), outcome.asked);
        text.push_str(&format!("| {name} | {told} | {new} | {asked} |\n"));
    }
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join(DOCUMENT), &text).expect("writable");
    }
    assert!(
        document(DOCUMENT) == text,
        "{DOCUMENT} is not what the program says; PLUNGELINE_BLESS=1 cargo test writes it anew:\n{text}"
    );
}
