//! Official alerts in the brief: quoted word for word, known or not known, and what they do to the cautions.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use chrono_tz::America::Los_Angeles;
use plungeline::faces::{Detail, Ink, Reader, Units, render_text};
use plungeline::reports::Brief;
use serde_json::Value;

use super::demo::{MORNINGS, brief, cache, run};

/// The store that was filled on 12 March, when an advisory was in force; filled once for all tests.
fn store() -> &'static Path {
    static STORE: OnceLock<PathBuf> = OnceLock::new();
    STORE.get_or_init(|| {
        let folder = cache().join("alerts");
        let text = folder.to_string_lossy();
        let pulled = run(&["pull", "--demo", "--as-of", "2026-03-12", "--store", &text]);
        let said = String::from_utf8_lossy(&pulled.stderr);
        assert_eq!(pulled.status.code(), Some(0), "{said}");
        folder.join("20260312T113000Z")
    })
}

/// A brief at `as_of` from that store alone.
fn offline_at(as_of: &str) -> Value {
    let lake = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let (lake, inside) = (lake.to_string_lossy(), store().to_string_lossy());
    let output = run(&[
        "brief",
        "--lake",
        &lake,
        "--store",
        &inside,
        "--offline",
        "--as-of",
        as_of,
        "--format",
        "json",
    ]);
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{error}: {}", String::from_utf8_lossy(&output.stderr)))
}

fn events(brief: &Value) -> Vec<&str> {
    let list = brief["alerts"]["list"].as_array().expect("a list");
    list.iter().filter_map(|alert| alert["event"].as_str()).collect()
}

fn caution<'a>(brief: &'a Value, hazard: &str) -> &'a Value {
    let cautions = brief["cautions"].as_array().expect("cautions");
    cautions
        .iter()
        .find(|c| c["hazard"] == hazard)
        .unwrap_or(&Value::Null)
}

fn text_of(brief: &Value) -> String {
    let brief: Brief = serde_json::from_value(brief.clone()).expect("a brief");
    let reader = Reader::new(Units::Us, Los_Angeles);
    render_text(&brief, &reader, Ink { colour: false }, Detail::Whole)
}

/// The lines of the block, without the indent.
fn block(text: &str) -> String {
    let rest = text
        .split_once("OFFICIAL ALERTS")
        .expect("the block")
        .1
        .trim_start();
    let lines = rest.lines().take_while(|line| !line.trim().is_empty());
    lines.map(str::trim).collect::<Vec<_>>().join(" ")
}

#[test]
fn each_morning_knows_its_alerts_and_two_of_them_have_one() {
    let wanted: [&[&str]; 4] = [&[], &[], &["Dense Fog Advisory"], &["Lake Wind Advisory"]];
    for (morning, wanted) in MORNINGS.into_iter().zip(wanted) {
        let brief = brief(morning);
        assert!(
            brief["alerts"]["not_known"].is_null(),
            "{morning}: {}",
            brief["alerts"]
        );
        assert_eq!(events(&brief), wanted, "{morning}");
        assert_eq!(brief["alerts"]["known_at"], brief["as_of"], "{morning}");
    }
}

#[test]
fn a_lake_wind_advisory_is_the_stop_line_of_the_wind_and_of_nothing_else() {
    let brief = brief("2026-03-12");
    let wind = caution(&brief, "wind");
    assert_eq!(wind["level"], "severe");
    assert_eq!(wind["products"], serde_json::json!(["Lake Wind Advisory"]));
    // 10:00 in Los Angeles, from the invented advisory.
    assert_eq!(wind["from"], "2026-03-12T17:00:00Z");
    let others = brief["cautions"].as_array().expect("cautions").iter();
    let raised: Vec<&Value> = others
        .filter(|c| c["products"].as_array().is_some_and(|p| !p.is_empty()))
        .map(|c| &c["hazard"])
        .collect();
    assert_eq!(raised, ["wind"]);
}

#[test]
fn a_clock_set_back_or_on_knows_what_was_known_then() {
    let before = offline_at("2026-03-12T04:29:00");
    assert_eq!(before["alerts"]["not_known"]["kind"], "not_fetched");
    assert_eq!(events(&before), [""; 0]);
    let hour_later = offline_at("2026-03-12T05:30:00");
    assert!(hour_later["alerts"]["not_known"].is_null());
    assert_eq!(events(&hour_later), ["Lake Wind Advisory"]);
    // 6.5 h after the reply it says nothing of what is in force, but the advisory lasts until 20:00.
    let late = offline_at("2026-03-12T11:00:00");
    assert_eq!(late["alerts"]["not_known"]["kind"], "late");
    assert_eq!(events(&late), ["Lake Wind Advisory"]);
    assert_eq!(caution(&late, "wind")["level"], "severe");
    let text = block(&text_of(&late));
    for said in [
        "Official alerts are not known: the newest reply of Thu 12 Mar 04:30 is 6 h old, more than 6 h;",
        "see https://www.weather.gov or the local office.",
        "What is quoted below may have been changed or added to since.",
    ] {
        assert!(text.contains(said), "{said:?} is not in\n{text}");
    }
    let next_day = offline_at("2026-03-13T04:30:00");
    assert_eq!(events(&next_day), [""; 0], "the advisory is over");
    assert!(
        !block(&text_of(&next_day)).contains("None were"),
        "late is not none"
    );
}

#[test]
fn a_product_is_quoted_word_for_word_with_its_times_and_its_address() {
    let brief = brief("2026-03-12");
    let alert = &brief["alerts"]["list"][0];
    let text = text_of(&brief);
    let (_, after_cautions) = text.split_once("CAUTIONS").expect("cautions");
    let begins = after_cautions.find("OFFICIAL ALERTS").expect("the block");
    let first_blank = after_cautions.find("\n\n").expect("the end of the cautions");
    assert_eq!(begins, first_blank + 2, "right after the cautions");
    let quoted: Vec<&str> = text
        .lines()
        .filter_map(|line| line.trim_start().strip_prefix('|'))
        .collect();
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let said: Vec<String> = ["headline", "description", "instruction"]
        .into_iter()
        .flat_map(|key| words(alert[key].as_str().expect("a text")))
        .collect();
    assert_eq!(words(&quoted.join(" ")), said);
    for line in [
        "  Lake Wind Advisory\n",
        "    Thu 12 Mar 10:00 to Thu 12 Mar 20:00; severity Moderate;",
        "    https://api.weather.gov/alerts/INVENTED-HARROW-GAP-2026-03-12\n",
    ] {
        assert!(text.contains(line), "{line:?} is not in\n{text}");
    }
}

#[test]
fn none_in_force_is_said_of_its_time_and_is_no_promise() {
    let text = block(&text_of(&brief("2025-10-09")));
    assert_eq!(
        text,
        "National Weather Service, as known Thu 9 Oct 04:30, word for word None were in force for the hours from \
         Thu 9 Oct 05:36 to Thu 9 Oct 13:36 when asked, Thu 9 Oct 04:30. That can change at any time: check before you \
         launch, see https://www.weather.gov or the local office."
    );
}

#[test]
fn without_a_service_the_brief_says_that_alerts_are_not_known_and_where_to_look() {
    let mut brief = brief("2025-10-09");
    let alerts = &mut brief["alerts"];
    alerts["not_known"] = serde_json::json!({"kind": "not_described"});
    (alerts["service"], alerts["known_at"]) = (Value::Null, Value::Null);
    assert_eq!(
        block(&text_of(&brief)),
        "NOT KNOWN Official alerts are not known: the lake file names no service of them; see \
         https://www.weather.gov or the local office."
    );
}

#[test]
fn a_long_address_stays_in_one_piece_and_no_text_obeys_the_terminal() {
    let mut brief = brief("2026-03-12");
    // The form of an address of today, 96 characters (invented number).
    let url = format!(
        "https://api.weather.gov/alerts/urn:oid:2.49.0.1.840.0.{}.001.1",
        "0".repeat(36)
    );
    let alert = &mut brief["alerts"]["list"][0];
    alert["url"] = url.clone().into();
    alert["headline"] = "red \u{1b}[31m and \u{202e}turned".into();
    alert["ends"] = Value::Null;
    let text = text_of(&brief);
    assert!(text.lines().any(|line| line == url), "{text}");
    assert!(!text.contains('\u{1b}') && !text.contains('\u{202e}'), "{text}");
    assert!(
        text.contains("no end given, this message holds until Thu 12 Mar 13:00"),
        "{text}"
    );
}

#[test]
fn a_damaged_reply_in_the_store_is_named_and_nothing_is_made_of_it() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let lake = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
    let kept = folder.path().join("harrow-gap/official-alerts");
    std::fs::create_dir_all(&kept).expect("writable");
    std::fs::write(kept.join("20260312T113000Z.json"), b"{\"service\": \"nw").expect("writable");
    let (lake, store) = (lake.to_string_lossy(), folder.path().to_string_lossy());
    let output = run(&[
        "brief",
        "--lake",
        &lake,
        "--store",
        &store,
        "--offline",
        "--as-of",
        "2026-03-12T05:00:00",
        "--format",
        "json",
    ]);
    let brief: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(brief["alerts"]["not_known"]["kind"], "not_fetched");
    let gaps = brief["gaps"].as_array().expect("gaps");
    assert!(
        gaps.iter().any(|gap| gap["what"] == "official_alerts"),
        "{gaps:?}"
    );
}
