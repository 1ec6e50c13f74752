//! What stands in a draft: the questions, the series chosen, the datum, the hypsography.

use toml::Value;

use super::Scene;
use crate::house::source::root;

const AT: [&str; 2] = ["--at", "42.20,-119.60"];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    AT.iter().chain(more).copied().collect()
}

fn table(kind: &str, column: &str) -> Vec<String> {
    let file = root().join("fixtures/catalogues/capacity-harrow-gap.csv");
    let file = file.to_string_lossy().into_owned();
    [
        "--hypsography",
        &file,
        "--elevation-column",
        "elevation_ft",
        kind,
        column,
    ]
    .map(str::to_owned)
    .to_vec()
}

fn parsed(draft: &str) -> Value {
    toml::from_str(draft).unwrap_or_else(|error| panic!("{error}\n{draft}"))
}

/// Lines, from 1, of keys that hold an open question.
fn questions(draft: &str) -> Vec<usize> {
    let open = |(_, line): &(usize, &str)| !line.starts_with('#') && line.ends_with("= \"?\"");
    draft
        .lines()
        .enumerate()
        .filter(open)
        .map(|(i, _)| i + 1)
        .collect()
}

/// Every shape of draft that the arguments lead to.
fn variants(scene: &Scene) -> Vec<String> {
    let storage = table("--storage-column", "storage_acre_ft");
    let area = table("--area-column", "area_acres");
    let mut all = vec![
        scene.draft(&AT),
        scene.draft(&with(&["--units", "metric"])),
        scene.draft(&with(&[
            "--name",
            "Harrow Gap Reservoir",
            "--contact",
            "angler@example.org",
        ])),
        scene.draft(&with(&["--datum", "NAVD 88"])),
        // Nothing in the catalogues: every service fails.
        scene.draft(&["--at", "10,10"]),
    ];
    for table in [storage, area] {
        for more in [
            &[][..],
            &["--units", "metric"],
            &["--hypsography-datum", "NGVD29"],
        ] {
            let mut arguments: Vec<&str> = table.iter().map(String::as_str).collect();
            arguments.extend(more);
            all.push(scene.draft(&with(&arguments)));
        }
    }
    all
}

#[test]
fn the_faults_of_a_draft_are_its_questions_and_nothing_else() {
    let scene = Scene::new();
    for draft in variants(&scene) {
        let asked = questions(&draft);
        assert!(asked.len() >= 15, "{}", asked.len());
        let faults = scene.faults(&draft);
        let line = |fault: &String| fault.split(':').nth(1).and_then(|n| n.parse::<usize>().ok());
        let faulty: Vec<usize> = faults.iter().filter_map(line).collect();
        assert_eq!(faulty, asked, "{faults:#?}");
        assert!(
            faults.iter().all(|f| f.contains("a question still open")),
            "{faults:#?}"
        );
    }
}

#[test]
fn every_question_is_told_in_the_lines_above_it() {
    for draft in variants(&Scene::new()) {
        let lines: Vec<&str> = draft.lines().collect();
        let asked = questions(&draft);
        for line in &asked {
            let comments = lines[..line - 1].iter().rev().take_while(|l| l.starts_with("# "));
            let comments: Vec<&&str> = comments.collect();
            assert!(
                comments.iter().any(|l| l.starts_with("# QUESTION: ")),
                "line {line}: {}",
                lines[line - 1]
            );
        }
        assert_eq!(draft.matches("# QUESTION: ").count(), asked.len());
    }
}

#[test]
fn a_draft_whose_questions_are_answered_is_a_lake() {
    let scene = Scene::new();
    let table = table("--storage-column", "storage_acre_ft");
    let mut arguments: Vec<&str> = table.iter().map(String::as_str).collect();
    arguments.extend(["--datum", "NAVD 88"]);
    let draft = scene.draft(&with(&arguments));
    let answers = [
        ("contact", "\"angler@example.org\""),
        ("full_pool_elevation_ft", "845.0"),
        ("minimum_pool_elevation_ft", "731.0"),
        ("area_share", "[{ elevation_ft = 845.0, share_frac = 0.5 }]"),
        (
            "thalweg",
            "[{ distance_mi = 0.0, bed_elevation_ft = 655.0, width_ft = 1100.0 }]",
        ),
        ("zone", "\"main\""),
        ("toe_elevation_ft", "753.0"),
        ("enters", "\"arm-1\""),
        ("regulated", "false"),
        ("thermal_regime", "\"lowland\""),
        ("id", "\"rainbow-trout\""),
        ("launch_depth_ft", "3.0"),
        ("running_depth_ft", "3.0"),
        ("run_speed_mph", "22.0"),
        ("trip_h", "6.0"),
        ("datum_offset_ft", "3.42"),
        ("datum_source", "\"the operator\""),
        ("depth_ft", "3.3"),
        ("name", "\"Any\""),
    ];
    let answered: String = draft
        .lines()
        .map(|line| match line.strip_suffix("= \"?\"") {
            Some(key) if !line.starts_with('#') => {
                let answer = answers.iter().find(|(name, _)| *name == key.trim());
                let (name, answer) = answer.unwrap_or_else(|| panic!("no answer to {key}"));
                format!("{name} = {answer}\n")
            }
            _ => format!("{line}\n"),
        })
        .collect();
    assert_eq!(scene.faults(&answered), Vec::<String>::new());
    let shown = scene.run(&["lake", "show", "draft.toml"]);
    assert_eq!(shown.status, 0, "{}", shown.err);
}

#[test]
fn the_nearest_running_series_are_chosen_and_the_others_stand_as_comments() {
    let draft = Scene::new().draft(&AT);
    let lake = parsed(&draft);
    let series = lake["series"].as_array().expect("series");
    let chosen = |id: &str| {
        let found = series.iter().find(|s| s["id"].as_str() == Some(id));
        let found = found.unwrap_or_else(|| panic!("no series {id}"));
        let text = |key: &str| found.get(key).and_then(Value::as_str).unwrap_or("").to_owned();
        (text("station"), text("parameter"))
    };
    // Stations as the README of the catalogues describes them.
    let wanted = [
        ("pool", "USGS-990000010", "62614"),
        ("storage", "USGS-990000010", "00054"),
        ("water-temp", "USGS-990000010", "00010"),
        ("release", "USGS-990000020", "00060"),
        ("wicket-creek-above-harrow-flow", "USGS-990000040", "00060"),
        ("sorrel-river-above-harrow-flow", "USGS-990000030", "00060"),
        ("sorrel-river-above-harrow-turbidity", "USGS-990000030", "63680"),
        ("thunder", "", "probabilityOfThunder"),
        // Of two sensors the primary one, by its own name.
        (
            "wicket-creek-above-harrow-temp",
            "USGS-990000040",
            "00010/99000000000000000000000000000011",
        ),
    ];
    for (id, station, parameter) in wanted {
        assert_eq!(chosen(id), (station.to_owned(), parameter.to_owned()), "{id}");
    }
    assert_eq!(lake["time_zone"].as_str(), Some("America/Los_Angeles"));
    // Ended in 1998 and in 2024, of another lake, or of no use yet: told, not taken.
    for other in [
        "USGS-990000050",
        "USGS-990000060",
        "XHGA",
        "parameter = \"00300\"",
    ] {
        assert!(
            draft.lines().any(|l| l.starts_with('#') && l.contains(other)),
            "{other}"
        );
        assert!(
            !draft.lines().any(|l| !l.starts_with('#') && l.contains(other)),
            "{other}"
        );
    }
    // In the corner of the box, beyond the circle.
    assert!(!draft.contains("USGS-990000070"));
}

#[test]
fn an_offset_is_known_only_where_the_service_states_the_very_datum_of_the_file() {
    let scene = Scene::new();
    let pool = |draft: &str| {
        let lake = parsed(draft);
        let series = lake["series"].as_array().expect("series").clone();
        let pool = series
            .iter()
            .find(|s| s["id"].as_str() == Some("pool"))
            .expect("the pool");
        (lake["vertical_datum"].clone(), pool["datum_offset_ft"].clone())
    };
    let asked = || Value::from("?");
    // Parameter 62614 is an elevation above NGVD 29 by its definition (src/sources/usgs_ogc/table.rs).
    assert_eq!(
        pool(&scene.draft(&AT)),
        (Value::from("NGVD 29"), Value::from(0.0))
    );
    let same = scene.draft(&with(&["--datum", "NGVD29"]));
    assert_eq!(pool(&same), (Value::from("NGVD 29"), Value::from(0.0)));
    let other = scene.draft(&with(&["--datum", "NAVD 88"]));
    assert_eq!(pool(&other), (Value::from("NAVD 88"), asked()));
    // A table whose datum nobody states may stand in another than the gauge.
    let table = table("--area-column", "area_acres");
    let mut arguments: Vec<&str> = table.iter().map(String::as_str).collect();
    assert_eq!(pool(&scene.draft(&with(&arguments))), (asked(), asked()));
    arguments.extend(["--hypsography-datum", "NGVD 29"]);
    assert_eq!(
        pool(&scene.draft(&with(&arguments))),
        (Value::from("NGVD 29"), Value::from(0.0))
    );
}

#[test]
fn areas_from_storages_are_near_the_areas_that_the_storages_were_made_from() {
    let table = table("--storage-column", "storage_acre_ft");
    let arguments: Vec<&str> = table.iter().map(String::as_str).collect();
    let lake = parsed(&Scene::new().draft(&with(&arguments)));
    let rows = lake["hypsography"]["rows"].as_array().expect("rows").clone();
    assert!((10..=40).contains(&rows.len()), "{}", rows.len());
    let csv = std::fs::read_to_string(root().join("fixtures/catalogues/capacity-harrow-gap.csv"))
        .expect("fixtures");
    let given: Vec<Vec<f64>> = csv
        .lines()
        .skip(1)
        .map(|l| l.split(',').map(|n| n.parse().expect("a number")).collect())
        .collect();
    for row in &rows {
        let number = |key: &str| row[key].as_float().expect("a number");
        let own = given
            .iter()
            .find(|g| g[0] == number("elevation_ft"))
            .expect("a row of the table");
        assert_eq!(number("volume_acre_ft"), own[1]);
        // The areas of the demonstration lake bend at its own rows, 8 to 20 ft apart, and the rows kept lie about as
        // far apart: a secant over such a step is off by up to half the bend, below 1 % of the greatest area.
        let off = (number("area_acres") - own[2]).abs();
        assert!(off < 0.01 * 5490.0, "{row:?} against {own:?}");
    }
}

#[test]
fn the_table_of_a_rating_file_is_the_shape_of_the_lake_with_its_datum() {
    let scene = Scene::new();
    let rating = root().join("fixtures/replies/cwms/rating-harg-elev-stor.xml");
    let rating = rating.to_string_lossy().into_owned();
    let draft = scene.draft(&with(&["--hypsography", &rating]));
    let lake = parsed(&draft);
    let rows = lake["hypsography"]["rows"].as_array().expect("rows").clone();
    // The table in force goes from 731 to 845 ft.
    let number = |row: &Value, key: &str| row[key].as_float().expect("a number");
    assert!((10..=40).contains(&rows.len()), "{rows:?}");
    assert!((number(&rows[0], "elevation_ft") - 731.0).abs() < 0.01);
    assert!((number(&rows[rows.len() - 1], "elevation_ft") - 845.0).abs() < 0.01);
    assert_eq!(scene.faults(&draft).len(), questions(&draft).len());
}

#[test]
fn a_table_without_its_columns_named_is_told_which_options_name_them() {
    let scene = Scene::new();
    let table = root().join("fixtures/catalogues/capacity-harrow-gap.csv");
    let table = table.to_string_lossy().into_owned();
    // DraftError::NoColumns.
    let mut arguments = with(&["--hypsography", &table]);
    arguments.extend(["--out", "-"]);
    let said = scene.replay(&root().join(super::CATALOGUES), &arguments);
    assert!(
        said.status != 0 && said.err.contains("--elevation-column"),
        "{}",
        said.err
    );
}
