//! `plungeline fit` and `plungeline skill` as their user runs them, with the briefs before and after.

use std::path::Path;

use assert_cmd::Command;
use plungeline::faces::json::{render_fit_schema, render_skill_schema};
use plungeline::lake::SpeciesId;
use plungeline::reports::{FitPage, SkillPage};
use plungeline::whereabouts::learn::stretch_table::{StretchCatch, TablePlace};
use plungeline::whereabouts::{CallBasis, IssuedCall, RulesWhy};
use serde_json::Value;

use crate::house::source::{document, root};

/// Runs the program on the demonstration's lake file and replies with a store of its own; what it prints.
fn run(store: &Path, arguments: &[&str], is_log: bool) -> String {
    let mut program = Command::cargo_bin("plungeline").expect("the program is built");
    program
        .args(arguments)
        .arg("--lake")
        .arg(root().join("config/lakes/harrow-gap.toml"))
        .arg("--store")
        .arg(store)
        .env("XDG_CACHE_HOME", store.join("cache"));
    if !is_log {
        program.arg("--replay").arg(root().join("fixtures/demo"));
    }
    let output = program.output().expect("the program starts");
    let (out, err) = (
        String::from_utf8_lossy(&output.stdout).into_owned(),
        String::from_utf8_lossy(&output.stderr).into_owned(),
    );
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {err}");
    out
}

fn brief(store: &Path) -> Value {
    let out = run(
        store,
        &["brief", "--as-of", "2025-10-09", "--format", "json"],
        false,
    );
    serde_json::from_str(&out).expect("JSON")
}

fn basis(brief: &Value) -> CallBasis {
    serde_json::from_value(brief["basis"].clone()).expect("a basis")
}

fn share(brief: &Value, zone: &str) -> f64 {
    brief["whereabouts"]["rainbow-trout"]["zones"][zone]["share"]
        .as_f64()
        .expect("a share")
}

#[test]
fn a_log_is_fitted_briefs_go_by_it_and_calls_are_scored() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path();
    let log =
        |words: &[&str], as_of: &str| run(store, &[&["log"], words, &["--as-of", as_of]].concat(), true);
    let before = brief(store);
    assert_eq!(
        basis(&before),
        CallBasis::Rules { why: None },
        "without a log exactly the rules"
    );

    // Three trips before that morning: rainbow trout up the Sorrel, none in the main body.
    for line in [
        "2025-09-24 sorrel 7:00-11:00 2 rods rainbow-trout 9 by habit then main 11:30-14:30 2 rods blank by scouting",
        "2025-10-01 sorrel 7:00-11:00 2 rods rainbow-trout 7 by habit then main 11:30-14:30 2 rods blank by scouting",
        "2025-10-07 sorrel 7:00-11:00 2 rods rainbow-trout 8 by forecast then main 11:30-14:30 2 rods blank by scouting",
    ] {
        log(&["add", line], "2025-10-08");
    }
    let unfitted = brief(store);
    let never = CallBasis::Rules {
        why: Some(RulesWhy::NeverFitted),
    };
    assert_eq!(basis(&unfitted), never);
    assert_eq!(share(&unfitted, "sorrel"), share(&before, "sorrel"));

    let shown = run(store, &["fit", "--as-of", "2025-10-09", "--only-show"], false);
    assert!(
        shown.contains("Shown only") && shown.contains("3 looked up in the store now"),
        "{shown}"
    );
    assert_eq!(basis(&brief(store)), never, "nothing was kept");

    let page = run(
        store,
        &["fit", "--as-of", "2025-10-09", "--format", "json"],
        false,
    );
    let page: FitPage = serde_json::from_str(&page).expect("the page of a fit");
    assert!(
        page.kept && !page.invented && page.left_out.is_empty(),
        "{:?}",
        page.left_out
    );
    assert_eq!((page.mornings.kept_before, page.mornings.looked_at_again), (3, 0));
    let rainbow = &page
        .species
        .values()
        .find(|s| s.name == "rainbow trout")
        .expect("rainbow trout");
    assert_eq!(rainbow.trips, 3);
    let of_sorrel = rainbow
        .shares
        .iter()
        .find(|s| s.zone.as_str() == "sorrel")
        .expect("a zone");
    assert!(of_sorrel.learned.share > of_sorrel.rules.share, "{of_sorrel:?}");
    // Catch per rod-hour of the Sorrel: 24 fish in 3 x 8 rod-hours.
    let all = |s: &&StretchCatch| {
        (s.zone.as_str(), &s.place) == ("sorrel", &TablePlace::WholeZone)
            && s.season.is_none()
            && s.temperature.is_none()
    };
    let per_h = rainbow.stretches.iter().find(all).expect("a row").catch_per_h;
    assert!((per_h - 1.0).abs() < 1e-12, "{per_h}");

    let learned = brief(store);
    let CallBasis::Learned {
        trips, trips_since, ..
    } = basis(&learned)
    else {
        panic!("{:?}", basis(&learned))
    };
    assert_eq!((trips, trips_since), (3, 0));
    assert!(share(&learned, "sorrel") > share(&before, "sorrel"));
    let text = run(store, &["brief", "--as-of", "2025-10-09"], false);
    assert!(
        text.contains("By the rules and what 3 of your trips have taught"),
        "{text}"
    );

    // The trip of the day itself is scored by the call of its morning; the others had none. All calls here are of a replayed morning.
    log(
        &[
            "add",
            "2025-10-09 sorrel 8:00-10:00 2 rods rainbow-trout 2 then main 10:30-12:30 2 rods blank",
        ],
        "2025-10-10",
    );
    let skill = |more: &[&str]| {
        let page = run(
            store,
            &[&["skill", "--as-of", "2025-10-10", "--format", "json"], more].concat(),
            true,
        );
        serde_json::from_str::<SkillPage>(&page)
            .expect("the skill page")
            .whereabouts
    };
    let record = skill(&[]);
    assert_eq!(
        (record.trips, record.trips_without_call, record.trips_called_late),
        (4, 4, 1),
        "a replay is a rehearsal"
    );
    let rehearsed = skill(&["--with-replayed"]);
    assert_eq!(
        (rehearsed.trips_without_call, rehearsed.trips_called_late),
        (3, 0)
    );
    let rainbow = &rehearsed.species[&SpeciesId::new("rainbow-trout")];
    // Of the calls of one clock the first made counts, that by the rules: two fish in the Sorrel, hours alike in both zones, so that
    // the score is twice that of one fish.
    let (sorrel, main) = (share(&before, "sorrel"), share(&before, "main"));
    let wanted = -2.0 * (sorrel / (sorrel + main)).ln();
    let found = rainbow.shares.log_score.expect("a score");
    assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
    let text = run(
        store,
        &["skill", "--as-of", "2025-10-10", "--with-replayed"],
        true,
    );
    assert!(
        text.contains("too few trips to tell") && text.lines().all(|l| l.chars().count() <= 80),
        "{text}"
    );

    // A trip of the fit is changed: the rules stand until the next fit.
    log(&["edit", "1", "1.rainbow-trout=1"], "2025-10-10");
    let changed = CallBasis::Rules {
        why: Some(RulesWhy::LogChanged),
    };
    assert_eq!(basis(&brief(store)), changed);

    calls_were_kept_and_never_rewritten(store);
}

/// Every brief of that morning left its call, and each says what it went by.
fn calls_were_kept_and_never_rewritten(store: &Path) {
    let mut bases = Vec::new();
    for file in std::fs::read_dir(store.join("harrow-gap/calls")).expect("the folder of calls") {
        let text = std::fs::read_to_string(file.expect("a file").path()).expect("readable");
        let call: IssuedCall = serde_json::from_str(&text).expect("a call");
        assert_eq!((call.inputs_sha256.len(), call.lake_file_sha256.len()), (64, 64));
        assert!(
            call.species
                .values()
                .all(|s| !s.zones.is_empty() && !s.offered.band.is_empty())
        );
        bases.push(call.basis);
    }
    // By no log, by a log never fitted, by the fit, by a changed log.
    let mut kinds: Vec<String> = bases.iter().map(|basis| format!("{basis:?}")).collect();
    kinds.sort();
    kinds.dedup();
    assert_eq!(kinds.len(), 4, "{bases:?}");
}

#[test]
fn a_morning_is_looked_up_again_once_the_store_knows_more_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path();
    let line = "2025-10-07 sorrel 7:00-11:00 2 rods rainbow-trout 8 then main 11:30-14:30 2 rods blank";
    run(store, &["log", "add", line, "--as-of", "2025-10-08"], true);
    let mornings = |arguments: &[&str]| {
        let offline = arguments.contains(&"--offline");
        let page = run(
            store,
            &[
                &["fit", "--only-show", "--as-of", "2025-10-09", "--format", "json"],
                arguments,
            ]
            .concat(),
            offline,
        );
        let page: FitPage = serde_json::from_str(&page).expect("a page");
        (page.mornings.kept_before, page.mornings.looked_at_again)
    };
    assert_eq!(mornings(&["--offline"]), (0, 1), "of an empty store");
    assert_eq!(mornings(&[]), (0, 1), "the store has been filled since");
    assert_eq!(mornings(&[]), (1, 0), "nothing is new");
    assert_eq!(mornings(&["--afresh"]), (0, 1));
}

#[test]
fn trips_that_no_fit_can_use_leave_the_rules_standing() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path();
    run(
        store,
        &[
            "log",
            "add",
            "2025-10-07 sorrel 4h rainbow-trout 3",
            "--as-of",
            "2025-10-08",
        ],
        true,
    );
    let page = run(store, &["fit", "--offline", "--as-of", "2025-10-09"], true);
    assert!(
        page.contains("None of them could be used") && page.contains("leg 1 of trip 1: the number of rods"),
        "{page}"
    );
    assert!(!store.join("harrow-gap/fits").exists(), "nothing was kept");
}

#[test]
fn the_demonstration_tells_of_an_invented_season_and_keeps_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let program = |arguments: &[&str]| {
        let output = Command::cargo_bin("plungeline")
            .expect("the program is built")
            .args(arguments)
            .env("XDG_CACHE_HOME", folder.path())
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
    let text = program(&["fit", "--demo"]);
    assert!(
        text.contains("The trips are invented") && text.contains("Tollhouse Wall"),
        "{text}"
    );
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let page: FitPage =
        serde_json::from_str(&program(&["fit", "--demo", "--format", "json"])).expect("a page");
    assert!(page.invented && !page.kept && page.trips > 20, "{}", page.trips);
    let brief: Value =
        serde_json::from_str(&program(&["brief", "--demo", "--format", "json"])).expect("JSON");
    assert_eq!(basis(&brief), CallBasis::Rules { why: None });
    let skill = program(&["skill", "--demo"]);
    assert!(skill.contains("Too few trips to tell"), "{skill}");
}

#[test]
fn the_committed_schemas_are_those_of_the_code() {
    for (file, schema) in [
        ("docs/fit.schema.json", render_fit_schema().expect("a schema")),
        ("docs/skill.schema.json", render_skill_schema().expect("a schema")),
    ] {
        if std::env::var_os("PLUNGELINE_BLESS").is_some() {
            std::fs::write(root().join(file), &schema).expect("writable");
        }
        assert!(
            document(file) == schema,
            "{file} is not that of the code; PLUNGELINE_BLESS=1 cargo test writes it anew"
        );
    }
}
