//! The program as its user runs it, on the demonstration lake, without any network.

use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::OnceLock;

use assert_cmd::Command;
use serde_json::Value;

/// One cache folder for all tests of this run, emptied when the first asks for it.
pub fn cache() -> &'static Path {
    static CACHE: OnceLock<PathBuf> = OnceLock::new();
    CACHE.get_or_init(|| {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("brief");
        if folder.exists() {
            std::fs::remove_dir_all(&folder).expect("the folder of an earlier run can be removed");
        }
        std::fs::create_dir_all(&folder).expect("a folder under the target folder");
        folder
    })
}

/// Runs the program with these arguments.
pub fn run(arguments: &[&str]) -> Output {
    Command::cargo_bin("plungeline")
        .expect("the program is built")
        .args(arguments)
        .env("XDG_CACHE_HOME", cache())
        .env("XDG_DATA_HOME", cache().join("data"))
        .env("XDG_CONFIG_HOME", cache().join("config"))
        .env_remove("NO_COLOR")
        .output()
        .expect("the program starts")
}

/// The brief of a demonstration morning as JSON, made once for all tests.
pub fn brief(morning: &str) -> Value {
    static MADE: [OnceLock<Value>; MORNINGS.len()] = [const { OnceLock::new() }; MORNINGS.len()];
    let at = MORNINGS.iter().position(|m| *m == morning);
    at.map_or_else(
        || fresh(morning),
        |i| MADE[i].get_or_init(|| fresh(morning)).clone(),
    )
}

/// The same, made anew.
fn fresh(morning: &str) -> Value {
    let output = run(&["brief", "--demo", "--as-of", morning, "--format", "json"]);
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{stderr}");
    serde_json::from_slice(&output.stdout).expect("JSON")
}

pub const MORNINGS: [&str; 4] = ["2025-07-24", "2025-10-09", "2026-01-17", "2026-03-12"];

#[test]
fn the_readme_command_prints_a_brief_that_opens_with_cautions() {
    let printed = |arguments: &[&str]| {
        let output = run(arguments);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{said}");
        let text = String::from_utf8(output.stdout).expect("UTF-8");
        assert!(text.starts_with("Harrow Gap Reservoir"), "{text}");
        // 80 columns, plain in a pipe.
        let long: Vec<&str> = text.lines().filter(|l| l.chars().count() > 80).collect();
        assert!(long.is_empty(), "{long:?}");
        assert!(!text.contains('\u{1b}'));
        text
    };
    let in_order = |text: &str, headings: &[&str]| {
        let at = |head: &str| {
            text.find(&format!("\n{head}"))
                .unwrap_or_else(|| panic!("{head}\n{text}"))
        };
        assert!(headings.is_sorted_by_key(|h| at(h)), "{text}");
    };
    let short = printed(&["brief", "--demo"]);
    let common = [
        "CAUTIONS",
        "WHERE THEY ARE",
        "THE PLAN",
        "WHAT CHANGED",
        "INPUTS",
        "NOT KNOWN",
    ];
    in_order(&short, &common);
    // Reasons and ages are a line each there: three signed contributions of each species, and what is late.
    assert_eq!(short.matches("\n    Why: ").count(), 2, "{short}");
    assert!(short.contains("LATE: storage (4 days)"), "{short}");
    let whole = printed(&["brief", "--demo", "--why"]);
    in_order(
        &whole,
        &[
            "THE PLAN",
            "WHY  ",
            "WHY THIS ORDER",
            "EVERY NUMBER",
            "WHAT CHANGED",
            "INPUTS",
            "THRESHOLDS",
        ],
    );
    for heading in ["WHY  ", "WHY THIS ORDER", "EVERY NUMBER", "THRESHOLDS"] {
        assert!(!short.contains(&format!("\n{heading}")), "{heading}\n{short}");
    }
    // Up to the plan's end both say the same.
    let end = |text: &str, head: &str| text.split(&format!("\n{head}")).next().map(str::to_owned);
    assert_eq!(end(&short, "WHAT CHANGED"), end(&whole, "WHY  "));
}

#[test]
fn the_json_of_every_morning_keeps_the_contract() {
    for morning in MORNINGS {
        let brief = brief(morning);
        for key in ["reasons", "ramps", "cautions", "inputs"] {
            assert!(
                brief[key].as_array().is_some_and(|a| !a.is_empty()),
                "{morning}: {key}"
            );
        }
        let species = brief["whereabouts"].as_object().expect("species");
        assert_eq!(species.len(), 2, "{morning}");
        for (name, call) in species {
            let zones = call["zones"].as_object().expect("zones");
            let mut sum = 0.0;
            for (zone, share) in zones {
                let number = |key: &str| {
                    share[key]
                        .as_f64()
                        .unwrap_or_else(|| panic!("{morning} {name} {zone} {key}"))
                };
                assert!(number("low") <= number("high"), "{morning} {name} {zone}");
                assert!((0.0..=1.0).contains(&number("share")), "{morning} {name} {zone}");
                sum += number("share");
            }
            assert!((sum - 1.0).abs() <= 1e-9, "{morning} {name}: {sum}"); // the contract's own tolerance
            let (top, bottom) = (call["band_top_m"].as_f64(), call["band_bottom_m"].as_f64());
            assert!(
                top.is_some() && top < bottom,
                "{morning} {name}: {top:?} {bottom:?}"
            );
            let likeliest = call["likeliest_fishable"].as_str().expect("a zone");
            assert!(
                zones[likeliest]["fishable"].as_bool() == Some(true),
                "{morning} {name}: {likeliest}"
            );
        }
        for input in brief["inputs"].as_array().expect("inputs") {
            assert!(
                input["age_h"].is_number() || input["late"] == true,
                "{morning}: {input}"
            );
        }
    }
}

#[test]
fn the_same_morning_twice_is_the_same_brief() {
    assert_eq!(brief("2025-10-09"), fresh("2025-10-09"));
}

#[test]
fn a_day_without_a_forecast_is_a_brief_with_status_3_that_says_so() {
    let output = run(&["brief", "--demo", "--as-of", "2024-05-20"]);
    assert_eq!(
        output.status.code(),
        Some(3),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(text.contains("NOT ENOUGH TO TRUST"), "{text}");
    assert!(text.contains("wind forecast"), "{text}");
}

#[test]
fn a_clock_before_any_data_is_a_brief_with_status_3_and_named_gaps() {
    let output = run(&["brief", "--demo", "--as-of", "1980-01-01"]);
    assert_eq!(
        output.status.code(),
        Some(3),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(text.contains("level missing"), "{text}");
    assert!(text.contains("NOT KNOWN"), "{text}");
}

#[test]
fn offline_and_empty_is_a_brief_with_status_3() {
    let store = cache().join("empty-store");
    let store = store.to_string_lossy();
    let output = run(&["brief", "--demo", "--offline", "--store", &store]);
    assert_eq!(
        output.status.code(),
        Some(3),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

#[test]
fn wrong_arguments_end_with_status_2() {
    for arguments in [
        vec!["brief", "--demo", "--as-of", "yesterday"],
        vec!["brief", "--lake", "/nowhere/lake.toml"],
        vec!["brief", "--lake", "no-such-name"],
        vec!["brief"],
        vec!["brief", "--demo", "--format", "pdf"],
        vec!["brief", "--demo", "--record", "x"],
        vec!["frobnicate"],
    ] {
        let output = run(&arguments);
        assert_eq!(
            output.status.code(),
            Some(2),
            "{arguments:?}: {}",
            String::from_utf8_lossy(&output.stderr)
        );
        assert!(!output.stderr.is_empty(), "{arguments:?}");
    }
}

#[test]
fn colour_comes_only_when_asked_for() {
    let text = |force: bool| {
        let mut command = Command::cargo_bin("plungeline").expect("the program is built");
        command
            .args(["brief", "--demo"])
            .env("XDG_CACHE_HOME", cache())
            .env_remove("NO_COLOR");
        if force {
            command.env("CLICOLOR_FORCE", "1");
        }
        String::from_utf8(command.output().expect("the program starts").stdout).expect("UTF-8")
    };
    assert!(text(true).contains("\u{1b}["));
    let coloured = text(true);
    let stripped = strip(&coloured);
    assert_eq!(stripped, text(false));
}

/// `text` without its escape codes (`ESC [ ... m`).
fn strip(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("\u{1b}[") {
        out.push_str(&rest[..at]);
        let end = rest[at..].find('m').map_or(rest.len(), |m| at + m + 1);
        rest = &rest[end..];
    }
    out.push_str(rest);
    out
}

#[test]
fn an_old_forecast_that_still_covers_the_trip_judges_no_danger_away() {
    // Calm on 24 July. The forecast reaches 16 days, so ten days later it still covers the trip.
    let store = cache().join("old-forecast");
    let store = store.to_string_lossy();
    let pulled = run(&["pull", "--demo", "--as-of", "2025-07-24", "--store", &store]);
    assert_eq!(
        pulled.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&pulled.stderr)
    );
    let lake = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let inside = Path::new(&*store).join("20250724T113000Z");
    let levels = |as_of: &str| {
        let (lake, inside) = (lake.to_string_lossy(), inside.to_string_lossy());
        let arguments = [
            "brief",
            "--lake",
            &lake,
            "--store",
            &inside,
            "--offline",
            "--format",
            "json",
            "--as-of",
            as_of,
        ];
        let output = run(&arguments);
        let brief: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        let level = |hazard: &str| {
            let cautions = brief["cautions"].as_array().expect("cautions");
            cautions
                .iter()
                .find(|c| c["hazard"] == hazard)
                .map(|c| c["level"].as_str().expect("a level").to_owned())
        };
        (output.status.code(), ["wind", "waves", "fog"].map(level))
    };
    assert_eq!(levels("2025-07-24"), (Some(0), [None, None, None]));
    let not_known = Some("not_known".to_owned());
    for later in ["2025-07-26", "2025-08-03"] {
        assert_eq!(
            levels(later),
            (Some(3), [not_known.clone(), not_known.clone(), not_known.clone()]),
            "{later}"
        );
    }
}
