//! The brief when something is broken: a clear message, nothing lost, and where possible a brief with a
//! named gap.

use std::path::{Path, PathBuf};
use std::process::Output;

use serde_json::Value;

use crate::brief::demo::{cache, run};
use crate::house::source::{root, walk};

const MORNING: &str = "2025-10-09";

/// A copy of the demonstration replies that may be broken.
struct Scene {
    folder: PathBuf,
}

impl Scene {
    fn new(name: &str) -> Scene {
        let folder = cache().join("broken").join(name);
        let demo = root().join("fixtures/demo");
        walk(&demo, &mut |path| {
            let to = folder
                .join("replies")
                .join(path.strip_prefix(&demo).expect("under the folder"));
            std::fs::create_dir_all(to.parent().expect("a folder")).expect("writable");
            std::fs::copy(path, to).expect("copied");
        });
        Scene { folder }
    }

    /// Gives every reply for which `chosen` holds another body.
    fn break_replies(&self, chosen: impl Fn(&Value) -> bool, body: &[u8]) -> usize {
        let path = self.folder.join("replies/index.json");
        let mut index: Value =
            serde_json::from_slice(&std::fs::read(&path).expect("an index")).expect("JSON");
        std::fs::write(self.folder.join("replies/broken.bin"), body).expect("writable");
        let mut broken = 0;
        for entry in index["entries"].as_array_mut().expect("entries") {
            if chosen(entry) {
                entry["body"] = Value::from("broken.bin");
                broken += 1;
            }
        }
        std::fs::write(path, index.to_string()).expect("writable");
        broken
    }

    fn brief(&self, format: &str) -> Output {
        self.brief_at(MORNING, format)
    }

    fn brief_at(&self, as_of: &str, format: &str) -> Output {
        let (lake, replies) = (
            root().join("config/lakes/harrow-gap.toml"),
            self.folder.join("replies"),
        );
        let store = self.folder.join("store");
        let text = |path: &Path| path.to_string_lossy().into_owned();
        run(&[
            "brief",
            "--lake",
            &text(&lake),
            "--replay",
            &text(&replies),
            "--store",
            &text(&store),
            "--as-of",
            as_of,
            "--format",
            format,
        ])
    }

    fn json(&self, status: i32) -> Value {
        let output = self.brief("json");
        assert_eq!(
            output.status.code(),
            Some(status),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        serde_json::from_slice(&output.stdout).expect("JSON")
    }
}

fn query(entry: &Value, key: &str) -> String {
    entry["query"][key].as_str().unwrap_or("").to_owned()
}

fn lacking(brief: &Value) -> Vec<&str> {
    brief["trust"]["lacking"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|l| l["topic"].as_str())
        .collect()
}

fn gaps_of<'a>(brief: &'a Value, what: &str) -> Vec<&'a Value> {
    brief["gaps"]
        .as_array()
        .expect("gaps")
        .iter()
        .filter(|g| g["what"] == what)
        .collect()
}

#[test]
fn every_service_answering_with_a_page_is_a_brief_with_status_3_that_names_each() {
    let scene = Scene::new("pages");
    let broken = scene.break_replies(
        |_| true,
        b"<!DOCTYPE html><html><body>Down for maintenance</body></html>",
    );
    assert!(broken > 100, "{broken}");
    let brief = scene.json(3);
    assert_eq!(
        lacking(&brief),
        [
            "level",
            "water_temperature",
            "wind",
            "inflow",
            "inflow",
            "official_alerts",
            "feeds"
        ]
    );
    let pool = gaps_of(&brief, "pool");
    assert!(pool[0].to_string().contains("HTML"), "{pool:?}");
    // Every danger that cannot be judged says so.
    for hazard in ["wind", "low_water", "fog", "thunder"] {
        let caution = brief["cautions"]
            .as_array()
            .expect("cautions")
            .iter()
            .find(|c| c["hazard"] == hazard);
        assert_eq!(caution.expect(hazard)["level"], "not_known", "{hazard}");
    }
}

#[test]
fn one_broken_series_leaves_the_rest_of_the_brief() {
    let scene = Scene::new("one-series");
    let broken = scene.break_replies(
        |e| query(e, "parameter_code") == "62614",
        b"{\"type\":\"FeatureCollection\",\"features\":[{\"pro",
    );
    assert!(broken > 0);
    let brief = scene.json(3);
    assert_eq!(lacking(&brief), ["level"]);
    assert!(brief["surface"]["temp_degc"].is_number());
    assert!(
        brief["ramps"]
            .as_array()
            .expect("ramps")
            .iter()
            .all(|r| r["usable"].is_null())
    );
    assert!(!gaps_of(&brief, "pool").is_empty());
}

#[test]
fn without_the_ensemble_the_single_forecast_stands_in() {
    let scene = Scene::new("no-ensemble");
    let broken = scene.break_replies(
        |e| e["host"] == "ensemble-api.open-meteo.com",
        b"{\"error\":true,\"reason\":\"down\"}",
    );
    assert!(broken > 0);
    let brief = scene.json(0);
    assert_eq!(brief["wind"]["members"], 1, "{}", brief["wind"]);
}

#[test]
fn a_service_that_fails_later_leaves_what_the_store_holds() {
    let scene = Scene::new("later");
    let good = scene.json(0);
    scene.break_replies(|_| true, b"<html>Down</html>");
    // The same morning again: everything is still in the store.
    let again = scene.json(0);
    assert_eq!(good["pool"], again["pool"]);
    assert_eq!(good["whereabouts"], again["whereabouts"]);
}

#[test]
fn a_store_file_cut_short_is_set_aside_named_and_mended_by_the_next_pull() {
    let scene = Scene::new("cut-file");
    let good = scene.json(0);
    let mut cut = None;
    walk(&scene.folder.join("store"), &mut |path| {
        let name = path.to_string_lossy().into_owned();
        if name.contains("sorrel-flow") && name.ends_with("daily-2025.parquet") {
            cut = Some(path.to_owned());
        }
    });
    let cut = cut.expect("the year's daily flows are in the store");
    let bytes = std::fs::read(&cut).expect("readable");
    std::fs::write(&cut, &bytes[..bytes.len() / 2]).expect("writable");
    let output = scene.brief("json");
    let brief: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let kept = std::fs::read_dir(cut.parent().expect("a folder"))
        .expect("readable")
        .any(|entry| {
            entry
                .expect("readable")
                .file_name()
                .to_string_lossy()
                .contains("damaged")
        });
    assert!(kept, "the damaged file is kept aside");
    assert!(
        gaps_of(&brief, "sorrel-flow")
            .iter()
            .any(|g| g["reason"]["kind"] == "store_damaged"),
        "{}",
        brief["gaps"]
    );
    // The next run asks for the lost year again, and the brief is the first one's.
    let store = scene.folder.join("store");
    let lake = root().join("config/lakes/harrow-gap.toml");
    let pulled = run(&[
        "pull",
        "--lake",
        &lake.to_string_lossy(),
        "--replay",
        &scene.folder.join("replies").to_string_lossy(),
        "--store",
        &store.to_string_lossy(),
        "--as-of",
        MORNING,
    ]);
    assert_eq!(
        pulled.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&pulled.stderr)
    );
    assert_eq!(scene.json(0)["inflows"], good["inflows"]);
}

#[test]
fn a_store_that_cannot_be_written_is_a_clear_error() {
    let scene = Scene::new("no-store");
    std::fs::write(scene.folder.join("store"), "a file where the folder should be").expect("writable");
    let output = scene.brief("text");
    assert_eq!(output.status.code(), Some(1));
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(
        stderr.contains("store") && stderr.contains("no-store") && stderr.contains("check"),
        "{stderr}"
    );
}

#[test]
fn a_store_that_can_only_be_read_still_gives_a_brief_and_says_so() {
    let scene = Scene::new("read-only");
    scene.json(0);
    // Root may write anywhere, so a folder stands where the lock file has to be opened.
    let lock = scene.folder.join("store/harrow-gap/writing.lock");
    std::fs::remove_file(&lock).expect("the lock of the first run");
    std::fs::create_dir(&lock).expect("writable");
    let output = scene.brief_at("2025-10-09T05:10", "json");
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(stderr.contains("writing.lock"), "{stderr}");
    let brief: Value = serde_json::from_slice(&output.stdout).expect("a brief all the same");
    assert!(brief["pool"]["elevation_m"].is_number());
}

#[test]
fn a_lake_file_with_twelve_faults_prints_twelve_lines_and_ends_with_status_2() {
    let file = root().join("fixtures/damaged/lake-twelve-faults.toml");
    let file = file.to_string_lossy();
    let output = run(&["lake", "check", &file]);
    assert_eq!(output.status.code(), Some(2));
    let stdout = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(stdout.lines().count(), 12, "{stdout}");
    for line in stdout.lines() {
        let place = line
            .strip_prefix(&format!("{file}:"))
            .unwrap_or_else(|| panic!("{line}"));
        let mut parts = place.splitn(3, ':');
        assert!(parts.next().is_some_and(|l| l.parse::<usize>().is_ok()), "{line}");
        assert!(parts.next().is_some_and(|c| c.parse::<usize>().is_ok()), "{line}");
    }
    let output = run(&["brief", "--lake", &file]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(
        String::from_utf8_lossy(&output.stderr)
            .lines()
            .filter(|l| l.starts_with(&*file))
            .count(),
        12
    );
}
