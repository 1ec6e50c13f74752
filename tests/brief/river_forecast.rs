//! A river forecast from an invented reply to the brief: lake file, store, level ahead, text.

use std::path::{Path, PathBuf};

use plungeline::lake::{Cadence, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::series::Store;
use plungeline::sources::Want;
use plungeline::sources::nwps::{Part, read_stageflow, to_forecast};
use serde_json::Value;

use super::demo::{cache, run};
use crate::house::source::root;

/// The clock of the invented reply.
const MORNING: &str = "2025-10-09";

const SERIES: &str = r#"
[[series]]
id = "sorrel-forecast"
quantity = "inflow"
inflow = "sorrel"
service = "nwps"
station = "SRLX9"
parameter = "flow"
cadences = ["forecast"]
"#;

/// A filled store, and the demonstration lake's file with a river forecast in it.
fn scene(name: &str) -> (PathBuf, PathBuf) {
    let folder = cache().join(name);
    let text = folder.to_string_lossy();
    let pulled = run(&["pull", "--demo", "--as-of", MORNING, "--store", &text]);
    assert_eq!(pulled.status.code(), Some(0));
    let lake = std::fs::read_to_string(root().join("config/lakes/harrow-gap.toml")).expect("the lake file");
    let file = folder.join("with-forecast.toml");
    std::fs::write(&file, lake + SERIES).expect("a lake file");
    (folder.join("20251009T113000Z"), file)
}

fn keep_forecast(store: &Path) {
    let bytes =
        std::fs::read(root().join("fixtures/replies/nwps/forecast-srlx9.json")).expect("the invented reply");
    let block = read_stageflow(&bytes, Part::Forecast).expect("a block");
    let series = SeriesSource {
        station: "SRLX9".to_owned(),
        cadences: vec![Cadence::Forecast],
        ..SeriesSource::of("sorrel-forecast", Quantity::Inflow, "nwps", "flow")
    };
    let want = Want {
        series,
        cadence: Cadence::Forecast,
        from: None,
    };
    let received = "2025-10-09T11:30:00Z".parse().expect("an instant");
    let forecast = to_forecast(&block, &want, received)
        .expect("figures")
        .filled
        .expect("a forecast");
    let mut store = Store::open(store, "harrow-gap").expect("a store");
    store.merge_forecast(&forecast).expect("a place to keep it");
}

fn said(store: &Path, lake: &Path, format: &str) -> (i32, String) {
    let (lake, store) = (lake.to_string_lossy(), store.to_string_lossy());
    let output = run(&[
        "brief",
        "--lake",
        &lake,
        "--store",
        &store,
        "--offline",
        "--as-of",
        MORNING,
        "--format",
        format,
    ]);
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let status = output.status.code().expect("a status");
    assert!(!text.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    (status, text)
}

fn json(store: &Path, lake: &Path) -> Value {
    serde_json::from_str(&said(store, lake, "json").1).expect("JSON")
}

fn level_ft(brief: &Value, day: usize) -> f64 {
    brief["level_outlook"]["days"][day]["median_m"]
        .as_f64()
        .expect("a level")
        / 0.3048
}

#[test]
fn the_brief_follows_a_stored_river_forecast_and_names_it() {
    let (store, lake) = scene("river-forecast");
    let without = json(&store, &lake);
    let gap = without["gaps"]
        .as_array()
        .expect("gaps")
        .iter()
        .find(|g| g["what"] == "sorrel-forecast")
        .expect("the missing forecast is told");
    assert_eq!(gap["reason"]["kind"], "no_data");
    assert_eq!(without["level_outlook"]["river_forecasts"], serde_json::json!([]));

    let (status, text) = said(&store, &lake, "text");
    assert_eq!(status, 0, "a gauge may be forecast at high water only: {text}");
    assert!(!text.contains("river forecast of"), "{text}");

    keep_forecast(&store);
    let with = json(&store, &lake);
    let told = &with["level_outlook"]["river_forecasts"][0];
    assert_eq!(told["inflow"], "sorrel");
    assert_eq!(
        (&told["service"], &told["station"]),
        (&"nwps".into(), &"SRLX9".into())
    );
    assert_eq!(told["issued_at"], "2025-10-09T10:05:00Z");
    // By eye: the reply runs from 9 October 12:00 to 13 October 12:00 UTC, 04:00 in standard time: of the 13th it holds
    // four hours, too few.
    assert_eq!(told["until"], "2025-10-12");
    assert!(
        with["gaps"]
            .as_array()
            .expect("gaps")
            .iter()
            .all(|g| g["what"] != "sorrel-forecast")
    );
    // By hand, straight lines between the steps of the reply: means of 10, 11 and 12 October (standard days) 1309, 1183 and
    // 900 cfs, 3392 cfs-days; the gauge stands at 144 cfs and would fade to some 140, 420 cfs-days; on the 13th to 04:36,
    // 0.19 days, some 650 cfs more. 3095 cfs-days x 1.983 acre-ft, raised by 1.006 as the gauges are, on 2785 acres (lake
    // file, 778 to 780 ft): 2.2 ft. A tenth for the fading and the median of sums.
    let lifted_ft = level_ft(&with, 4) - level_ft(&without, 4);
    assert!((lifted_ft - 2.2).abs() < 0.22, "{lifted_ft}");
    assert_eq!(level_ft(&with, 0), level_ft(&without, 0));

    let (status, text) = said(&store, &lake, "text");
    let flat = text
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .replace('\u{a0}', " ");
    assert!(
        flat.contains(
            "from the river forecast of Sorrel River issued Thu 9 Oct 03:05 (National Water Prediction Service, to \
             Sun 12 Oct), and release as it stands"
        ),
        "{text}"
    );
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert_eq!(status, 0, "{text}");
}
