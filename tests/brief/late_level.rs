//! A level that has come late: what the brief says of ramps and low water, on every face.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use serde_json::Value;

use super::demo::{cache, run};

/// The store that was filled on 24 July, when the gauge was last read; filled once for all tests.
fn store() -> &'static Path {
    static STORE: OnceLock<PathBuf> = OnceLock::new();
    STORE.get_or_init(|| {
        let folder = cache().join("late-level");
        let text = folder.to_string_lossy();
        let pulled = run(&["pull", "--demo", "--as-of", "2025-07-24", "--store", &text]);
        let said = String::from_utf8_lossy(&pulled.stderr);
        assert_eq!(pulled.status.code(), Some(0), "{said}");
        folder.join("20250724T113000Z")
    })
}

/// A brief at `as_of` from that store.
fn brief_at(as_of: &str, format: &str) -> String {
    let inside = store();
    let lake = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let (lake, inside) = (lake.to_string_lossy(), inside.to_string_lossy());
    let output = run(&[
        "brief",
        "--lake",
        &lake,
        "--store",
        &inside,
        "--offline",
        "--format",
        format,
        "--as-of",
        as_of,
    ]);
    String::from_utf8(output.stdout).expect("UTF-8")
}

fn json_at(as_of: &str) -> Value {
    serde_json::from_str(&brief_at(as_of, "json")).expect("JSON")
}

fn low_water(brief: &Value) -> Value {
    let cautions = brief["cautions"].as_array().expect("cautions");
    let found = cautions.iter().find(|c| c["hazard"] == "low_water");
    found.cloned().unwrap_or(Value::Null)
}

#[test]
fn ramps_and_shoals_go_by_a_late_level_lowered_then_by_none() {
    let in_time = json_at("2025-07-24");
    let toe = |brief: &Value| brief["ramps"][0].clone();
    assert!(toe(&in_time)["water_at_least_m"].is_null());
    // Two days on the gauge is 44 h past its 6 h.
    let late = json_at("2025-07-26");
    let ramp = toe(&late);
    let figure = |key: &str| ramp[key].as_f64().expect("a figure");
    let fallen_m = figure("water_over_toe_m") - figure("water_at_least_m");
    // Half a foot a day over 2.06 days, or the week's own pace where that was faster.
    let slope_m_per_day = in_time["pool"]["slope_7d_m_per_day"].as_f64().expect("a slope");
    let wanted_m = 2.06 * (0.5 * 0.3048f64).max(-slope_m_per_day);
    assert!(
        (fallen_m - wanted_m).abs() < 0.05 * wanted_m,
        "{fallen_m} {wanted_m}"
    );
    assert_eq!(ramp["usable"], true, "deep enough even so");
    assert!(low_water(&late)["figures"]["pool_elevation_low_m"].is_number());
    let old = json_at("2025-08-03");
    assert!(toe(&old)["usable"].is_null() && toe(&old)["water_over_toe_m"].is_null());
    assert_eq!(low_water(&old)["level"], "not_known");
    let closures = old["gaps"].as_array().expect("gaps").iter();
    let named = closures.filter(|g| g["what"].as_str().is_some_and(|w| w.starts_with("closed arms")));
    assert_eq!(named.count(), 1);
}

#[test]
fn the_text_says_that_the_level_is_late() {
    let plain = |as_of: &str| {
        let text = brief_at(as_of, "text");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let late = plain("2025-07-26");
    for words in [
        "by a late level",
        "if the pool has fallen since as far as it may",
        "the level may be as low as",
    ] {
        assert!(late.contains(words), "{words}: {late}");
    }
    assert!(plain("2025-08-03").contains("not known: the level is too old"));
    assert!(!plain("2025-07-24").contains("by a late level"));
}
