//! `plungeline log` as its user runs it.

use std::path::Path;
use std::process::Output;

use assert_cmd::Command;

use super::scene::trip;
use super::tracks::{gpx, straight};
use crate::house::source::root;

/// Runs `log` on the demonstration lake with a store of its own, the clock at the evening of 9 October 2025.
pub fn run(store: &Path, arguments: &[&str]) -> Output {
    told(store, arguments, "")
}

fn told(store: &Path, arguments: &[&str], input: &str) -> Output {
    let lake = root().join("config/lakes/harrow-gap.toml");
    Command::cargo_bin("plungeline")
        .expect("the program is built")
        .arg("log")
        .args(arguments)
        .args(["--as-of", "2025-10-09T20:00"])
        .arg("--lake")
        .arg(lake)
        .arg("--store")
        .arg(store)
        .env("XDG_CONFIG_HOME", store)
        .write_stdin(input)
        .output()
        .expect("the program starts")
}

fn texts(output: &Output) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (text(&output.stdout), text(&output.stderr))
}

fn good(store: &Path, arguments: &[&str]) -> String {
    let output = run(store, arguments);
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {err}");
    out
}

#[test]
fn a_season_of_commands() {
    let store = tempfile::tempdir().unwrap();
    let store = store.path();
    let said = good(
        store,
        &[
            "add",
            "2025-10-08 sorrel 6:30-11:00 2 rods 18ft rainbow-trout 3 by forecast",
        ],
    );
    assert!(
        said.contains("Trip 1") && said.contains("Sorrel Arm") && said.contains("06:30 to 11:00"),
        "{said}"
    );
    let output = told(store, &["add"], "2025-10-07\nnarrows\n4 h\n2\n\n0\n0\n\n\n\n\n");
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{err}");
    assert!(
        out.contains("Trip 2") && out.contains("The Narrows (Main Body)") && out.contains("blank"),
        "{out}"
    );
    let list = good(store, &["list"]);
    assert!(
        list.contains("3 rainbow-trout") && list.contains("2 trips, 8.5 h; 1 blank"),
        "{list}"
    );
    good(store, &["edit", "1", "rods=3", "1.rainbow-trout=4", "note==2+2"]);
    let shown = good(store, &["show", "1", "--history"]);
    assert!(
        shown.contains("version 1 of 2") && shown.contains("version 2 of 2") && shown.contains("2 rods"),
        "{shown}"
    );
    let kept = good(store, &["export", "--format", "json"]);
    for form in ["csv", "json", "parquet"] {
        let file = store.join(format!("out.{form}"));
        let file = file.to_str().unwrap();
        good(store, &["export", "--format", form, "--out", file]);
        let other = tempfile::tempdir().unwrap();
        good(other.path(), &["import", file]);
        assert_eq!(
            good(other.path(), &["export", "--format", "json"]),
            kept,
            "{form}"
        );
        let again = run(other.path(), &["import", file]);
        let (_, err) = texts(&again);
        assert!(
            err.contains("already, as trip 1") && err.contains("the log is as it was"),
            "{err}"
        );
    }
    // Asked, and not answered with yes, nothing goes.
    let (_, err) = texts(&told(store, &["remove", "1"], "\n"));
    assert!(err.contains("nothing was removed"), "{err}");
    let (_, err) = texts(&run(store, &["remove", "1", "--yes"]));
    assert!(err.contains("--restore 2"), "{err}");
    assert!(!good(store, &["list"]).contains("rainbow-trout"));
    good(store, &["edit", "1", "--restore", "1"]);
    assert!(good(store, &["list"]).contains("3 rainbow-trout"));
    let copy = store.join("copy.sqlite");
    good(store, &["backup", copy.to_str().unwrap()]);
    assert!(copy.is_file());
}

#[test]
fn a_track_is_effort_without_typing() {
    let store = tempfile::tempdir().unwrap();
    let track = store.path().join("track.gpx");
    std::fs::write(&track, gpx(&straight(1801, 1.0))).unwrap();
    let said = good(
        store.path(),
        &[
            "import",
            track.to_str().unwrap(),
            "--rods",
            "2",
            "--reason",
            "scouting",
            "--depth",
            "30ft",
        ],
    );
    assert!(
        said.contains("1.0 rod-h") && said.contains("Main Body") && said.contains("catch not told"),
        "{said}"
    );
    let said = good(store.path(), &["edit", "1", "catch=blank"]);
    assert!(
        said.contains("blank") && said.contains("at 30 ft") && said.contains("by scouting"),
        "{said}"
    );
}

#[test]
fn refusals_end_with_their_status_and_their_words() {
    let store = tempfile::tempdir().unwrap();
    let store = store.path();
    good(store, &["add", "2025-10-08 sorrel 6:30-11:00 2 rods blank"]);
    // Error::Trip with each of its statuses.
    for (arguments, status, words) in [
        (&["add", "2025-10-08", "bay", "4h"][..], 2, "found \"bay\""),
        (&["add", "2025-10-08 main 7:00-8:00 1 rod blank"], 2, "--again"),
        (&["show", "9"], 2, "looking for trip 9"),
        (&["edit", "1"], 2, "no change"),
        (&["edit", "1", "--restore", "9"], 2, "versions 1 to 1"),
        (&["edit", "1", "1.hours=40h"], 2, "at most 24 hours"),
        (&["import", "/no/such/file.gpx"], 2, "cannot open"),
        (&["backup", "/no/such/folder/copy"], 1, "name a file in a folder"),
    ] {
        let output = run(store, arguments);
        let (_, err) = texts(&output);
        assert_eq!(output.status.code(), Some(status), "{arguments:?}: {err}");
        assert!(err.contains(words), "{words:?} is not in {err}");
    }
    let (_, err) = texts(&told(store, &["add"], "2025-10-08\nsorrel\n"));
    assert!(err.contains("the end of the answers"), "{err}");
    assert!(good(store, &["list"]).contains("1 trip, 4.5 h"));
}

#[test]
fn readings_of_the_log_correct_the_water_of_the_brief() {
    // On the recorded services of the demonstration: a cast that is five degrees off the columns moves them toward it.
    let folder = tempfile::tempdir().unwrap();
    let cache = folder.path().join("cache");
    let run = |arguments: &[&str]| {
        let output = Command::cargo_bin("plungeline")
            .expect("the program is built")
            .args(arguments)
            .env("XDG_CACHE_HOME", &cache)
            .output()
            .expect("the program starts");
        assert_eq!(
            output.status.code(),
            Some(0),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    let readings = |brief: &str| -> usize {
        let words = brief
            .split(" readings of the water")
            .next()
            .expect("a part before it");
        words
            .split_whitespace()
            .last()
            .and_then(|n| n.parse().ok())
            .expect("a number of readings")
    };
    let before = readings(&run(&["brief", "--demo"]));
    run(&[
        "log",
        "--demo",
        "add",
        "2025-10-08 sorrel 8:00-9:00 1 rod blank cast 20m:14C,30m:13C",
    ]);
    let after = readings(&run(&["brief", "--demo"]));
    assert_eq!(after, before + 2);
    assert!(trip("2025-10-08 sorrel 8:00-9:00 1 rod blank").legs.len() == 1);
}
