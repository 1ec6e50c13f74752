//! Many lakes at once, and two pulls into one store.

use plungeline::series::Store;

use super::{configure, run, small_lake};

const REPLAY: [&str; 4] = ["--replay", "fixtures/demo", "--as-of", "2025-10-09"];

fn pull<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&["pull"], more, &REPLAY].concat()
}

#[test]
fn all_lakes_of_the_configuration_folder_are_pulled_and_a_faulty_one_does_not_stop_the_others() {
    let home = tempfile::tempdir().expect("a temporary folder");
    configure(home.path(), "upper", &small_lake("upper"));
    configure(home.path(), "lower", &small_lake("lower"));
    let (status, table, stderr) = run(home.path(), &pull(&["--all"]));
    assert_eq!(status, 0, "{stderr}");
    assert!(table.contains("(lower)") && table.contains("(upper)"), "{table}");
    assert!(table.lines().all(|l| l.chars().count() <= 80), "{table}");
    assert!(!table.contains('\u{1b}'));
    for id in ["upper", "lower"] {
        assert!(stderr.contains(&format!("stored {id} pool/daily: ")), "{stderr}");
    }

    configure(home.path(), "broken", "id = 3");
    let (status, table, stderr) = run(home.path(), &pull(&["--all"]));
    // The lake file is the user's to mend: 2. The others were pulled all the same, and brought nothing new.
    assert_eq!(status, 2, "{stderr}");
    assert!(table.contains("NOT PULLED"), "{table}");
    assert_eq!(table.matches("0 new values").count(), 2, "{table}");
}

/// Provokes `Error::TwinLakes`.
#[test]
fn lakes_named_one_by_one_come_as_json_and_two_files_of_one_id_are_refused() {
    let home = tempfile::tempdir().expect("a temporary folder");
    configure(home.path(), "upper", &small_lake("upper"));
    configure(home.path(), "twin", &small_lake("upper"));
    configure(home.path(), "lower", &small_lake("lower"));
    let both = pull(&["--lake", "upper", "--lake", "lower", "--format", "json"]);
    let (status, json, stderr) = run(home.path(), &both);
    assert_eq!(status, 0, "{stderr}");
    let lakes: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(
        (lakes[0]["lake"].as_str(), lakes[1]["lake"].as_str()),
        (Some("upper"), Some("lower"))
    );
    // Daily values of 2024 and of 2025 up to 8 October are 366 + 281 days.
    assert!(
        lakes[0]["series"][0]["added"]
            .as_u64()
            .is_some_and(|n| (600..=647).contains(&n)),
        "{json}"
    );
    let (status, _, stderr) = run(home.path(), &pull(&["--lake", "upper", "--lake", "twin"]));
    assert_eq!(status, 2, "{stderr}");
    assert!(stderr.contains("one store cannot hold two lakes"), "{stderr}");
}

/// Provokes `StoreError::PullRunning`.
#[test]
fn a_second_pull_is_told_who_pulls_and_a_brief_uses_what_is_there() {
    let home = tempfile::tempdir().expect("a temporary folder");
    configure(home.path(), "upper", &small_lake("upper"));
    let (status, _, stderr) = run(home.path(), &pull(&["--lake", "upper"]));
    assert_eq!(status, 0, "{stderr}");
    // This process stands for the first pull: it takes the same lock.
    let store = Store::open(&home.path().join("data/plungeline"), "upper").expect("the store opens");
    let now = "2025-10-09T11:29:00Z".parse().expect("an instant");
    let held = store.begin_pull(now).expect("free");
    let (status, table, stderr) = run(home.path(), &pull(&["--lake", "upper"]));
    assert_eq!((status, table.as_str()), (1, ""), "{stderr}");
    let own = format!("process {}, since 2025-10-09 11:29:00 UTC", std::process::id());
    assert!(
        stderr.contains(&own) && stderr.contains("wait until it has finished"),
        "{stderr}"
    );
    let brief = [&["brief", "--lake", "upper"][..], &REPLAY].concat();
    let (_, page, stderr) = run(home.path(), &brief);
    assert!(
        stderr.contains("nothing fetched, the answer is made from what the store holds"),
        "{stderr}"
    );
    assert!(page.starts_with("Small Water (upper)"), "{page}{stderr}");
    drop(held);
    let (status, _, stderr) = run(home.path(), &pull(&["--lake", "upper"]));
    assert_eq!(status, 0, "{stderr}");
}

#[test]
fn since_takes_values_that_were_revised_before_the_days_that_every_pull_asks_for_again() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let table = home.path().join("evaporation.csv");
    let rows = |first: &str| -> String {
        let days = chrono::NaiveDate::from_ymd_opt(2025, 1, 1)
            .expect("a day")
            .iter_days();
        let row = |(n, day): (usize, chrono::NaiveDate)| {
            let value = if n == 0 { first } else { "2.5" };
            format!("{day},{value}\n")
        };
        "date,evaporation_acre_ft\n".to_owned() + &days.take(280).enumerate().map(row).collect::<String>()
    };
    std::fs::write(&table, rows("1.5")).expect("writable");
    let demo = crate::house::source::root().join("fixtures/demo/csv/evaporation.csv.gz");
    let text = small_lake("upper").replace(&*demo.to_string_lossy(), &table.to_string_lossy());
    configure(home.path(), "upper", &text);
    let revised = |more: &[&str]| {
        let arguments = pull(&[&["--lake", "upper", "--format", "json"], more].concat());
        let (status, json, stderr) = run(home.path(), &arguments);
        assert_eq!(status, 0, "{stderr}");
        let lakes: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        let series = lakes[0]["series"].as_array().expect("series");
        let of = series
            .iter()
            .find(|s| s["series"] == "evaporation")
            .expect("evaporation");
        of["revised"].as_u64().expect("a number")
    };
    assert_eq!(revised(&[]), 0);
    std::fs::write(&table, rows("1.75")).expect("writable");
    // 1 January is more than 60 days before 9 October.
    assert_eq!(revised(&[]), 0);
    assert_eq!(revised(&["--since", "2025-01-01"]), 1);
}
