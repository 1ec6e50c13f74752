//! Bad input: each with its own message and status, and no file touched.

use super::{CATALOGUES, Said, Scene};
use crate::house::source::root;

fn refused(scene: &Scene, arguments: &[&str], status: i32, words: &[&str]) -> Said {
    let said = scene.replay(&root().join(CATALOGUES), arguments);
    assert_eq!(said.status, status, "{arguments:?}: {}", said.err);
    for word in words {
        assert!(said.err.contains(word), "{word:?} is not in {}", said.err);
    }
    said
}

/// Provokes `DraftError::Position` and `DraftError::Distance`.
#[test]
fn a_position_or_distance_that_is_none_is_refused() {
    let scene = Scene::new();
    for at in ["95,10", "42.2", "-42.2,147", "north,west"] {
        refused(&scene, &["--at", at], 2, &[at, "42.20,-119.60"]);
    }
    refused(
        &scene,
        &["--at", "42.2,-119.6", "--within", "30"],
        2,
        &["\"30\"", "30km or 20mi"],
    );
    refused(&scene, &[], 2, &["--at", "--name"]);
}

/// Provokes `DraftError::Exists`, and so `Error::Draft`.
#[test]
fn a_file_that_is_there_is_left_alone_unless_forced() {
    let scene = Scene::new();
    let file = scene.path("mine.toml");
    std::fs::write(&file, "mine").expect("writable");
    let arguments = ["--at", "42.20,-119.60", "--out", "mine.toml"];
    refused(&scene, &arguments, 2, &["mine.toml already", "--force"]);
    assert_eq!(std::fs::read_to_string(&file).expect("readable"), "mine");
    let forced: Vec<&str> = arguments.iter().copied().chain(["--force"]).collect();
    let said = scene.replay(&root().join(CATALOGUES), &forced);
    assert_eq!(said.status, 0, "{}", said.err);
    assert!(
        std::fs::read_to_string(&file)
            .expect("readable")
            .contains("# QUESTION: ")
    );
}

/// Provokes `DraftError::Write`.
#[test]
fn a_draft_that_cannot_be_written_is_told() {
    let arguments = ["--at", "42.20,-119.60", "--out", "no/such/folder/x.toml"];
    refused(
        &Scene::new(),
        &arguments,
        1,
        &["cannot write the draft to no/such/folder/x.toml"],
    );
}

/// Provokes `DraftError::NoPlace` and `DraftError::SeveralPlaces`.
#[test]
fn a_name_that_no_lake_or_more_than_one_has_is_refused() {
    let scene = Scene::new();
    refused(
        &scene,
        &["--name", "Nowhere at all"],
        2,
        &["no catalogue has a lake named \"Nowhere at all\"", "--at"],
    );
    let words = [
        "--at 42.2000,-119.6000  HARROW GAP",
        "--at 43.9000,-117.1000  HARROW LAKE",
    ];
    refused(&scene, &["--name", "Harrow"], 2, &words);
}

#[test]
fn a_name_that_one_lake_has_is_its_position() {
    let said = refused(
        &Scene::new(),
        &["--name", "Harrow Gap Reservoir", "--out", "-"],
        0,
        &["position 42.2000,-119.6000"],
    );
    assert!(said.out.contains("id = \"harrow-gap-reservoir\""), "{}", said.out);
    assert!(said.out.contains("parameter = \"62614\""));
}

/// Provokes `DraftError::Table`, `DraftError::NoRows`, `CapacityError::Falls`.
#[test]
fn a_table_that_no_lake_has_is_refused_before_anything_is_asked() {
    let scene = Scene::new();
    let table = |text: &str, words: &[&str]| {
        std::fs::write(scene.path("t.csv"), text).expect("writable");
        let arguments = [
            "--at",
            "42.20,-119.60",
            "--hypsography",
            "t.csv",
            "--elevation-column",
            "z",
            "--storage-column",
            "v",
        ];
        let said = refused(
            &scene,
            &arguments,
            if words[0] == "columns" { 1 } else { 2 },
            &words[1..],
        );
        assert!(!said.err.contains("not answered") && !scene.path("lake-42-20-119-60.toml").exists());
    };
    table(
        "z,v\n1,0\n2,5\n3,4\n",
        &["table", "t.csv", "storage that falls", "check both rows"],
    );
    table(
        "z,v\n1,0\n2,10\n3,30\n4,35\n5,36\n",
        &["table", "area that falls"],
    );
    table(
        "z,v\nlow,none\n",
        &["table", "none of its rows could be read", "\"low\""],
    );
    table("z,volume\n1,2\n", &["columns", "\"volume\"", "v"]);
}
