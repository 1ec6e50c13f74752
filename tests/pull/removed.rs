//! The demonstration lake answered from a copy of its replies from which one service is gone.

use std::path::{Path, PathBuf};

use super::run;
use crate::house::source::root;

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("writable");
    for entry in std::fs::read_dir(from).expect("readable").flatten() {
        let (path, target) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            copy(&path, &target);
        } else {
            std::fs::copy(&path, &target).expect("copied");
        }
    }
}

/// A copy of the demonstration's replies without those of `service`, in its index too.
fn without(service: &str, home: &Path) -> PathBuf {
    let folder = home.join(format!("without-{service}"));
    copy(&root().join("fixtures/demo"), &folder);
    std::fs::remove_dir_all(folder.join(service)).expect("the service has a folder");
    let path = folder.join("index.json");
    let bytes = std::fs::read(&path).expect("readable");
    let mut index: serde_json::Value = serde_json::from_slice(&bytes).expect("JSON");
    let entries = index["entries"].as_array_mut().expect("entries");
    entries.retain(|entry| entry["service"] != service);
    std::fs::write(&path, index.to_string()).expect("writable");
    folder
}

/// The brief names what is lacking without the service.
fn names(brief: &serde_json::Value, service: &str) -> bool {
    let lacking = match service {
        "usgs-ogc" => "pool",
        "open-meteo" => "air-temp",
        "nws" => "official-alerts",
        _ => "evaporation",
    };
    let gaps = brief["gaps"].as_array().expect("gaps");
    // Without the failed fetch the gap has the name of the figure, not of the series.
    let name = |gap: &serde_json::Value| gap["what"].as_str().unwrap_or_default().replace('_', "-");
    gaps.iter().any(|gap| name(gap).starts_with(lacking))
}

#[test]
fn with_any_one_service_gone_the_brief_comes_with_a_named_gap_and_status_3() {
    let home = tempfile::tempdir().expect("a temporary folder");
    // A full store of the demonstration's own replies, out of which nothing may leak.
    let (status, ..) = run(home.path(), &["pull", "--demo"]);
    assert_eq!(status, 0);
    for service in ["usgs-ogc", "open-meteo", "nws", "csv"] {
        let folder = without(service, home.path());
        let folder = folder.to_string_lossy();
        let (_, table, stderr) = run(home.path(), &["pull", "--demo", "--replay", &folder]);
        assert!(table.contains("FAILED: "), "{service}: {table}{stderr}");
        for more in [&[][..], &["--offline"]] {
            let brief = ["brief", "--demo", "--format", "json", "--replay", &*folder];
            let (status, json, stderr) = run(home.path(), &[&brief[..], more].concat());
            assert_eq!(status, 3, "{service} {more:?}: {stderr}");
            let brief: serde_json::Value = serde_json::from_str(&json).expect("JSON");
            assert!(names(&brief, service), "{service} {more:?}: {}", brief["gaps"]);
        }
    }
}
