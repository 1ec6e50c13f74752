//! One morning with each feed of the lake file removed in turn: what the brief says, and what becomes less certain.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use plungeline::faces::text::block::{Block, Detail, compose};
use plungeline::faces::{Reader, Units};
use plungeline::reports::{Brief, Lacking};

use super::demo::{cache, run};
use crate::house::source::{document, root};

const DOCUMENT: &str = "docs/missing-feeds.md";
const MORNING: &str = "2025-07-24";

/// Every feed of the demonstration lake: its folder in the store, and the intervals that must be wider without
/// it. One without any serves cautions alone, or nothing yet.
const FEEDS: [(&str, &[&str]); 21] = [
    ("pool", &["level a week ahead", "share of the Wicket Arm"]),
    ("storage", &[]),
    ("release", &["level a week ahead"]),
    ("evaporation", &["level a week ahead"]),
    ("surface", &["surface today", "surface a week ahead"]),
    ("sorrel-flow", &["level a week ahead"]),
    ("sorrel-temp", &["Sorrel River", "share of the Sorrel River"]),
    ("sorrel-turbidity", &["share of the Sorrel Arm"]),
    ("wicket-flow", &["level a week ahead"]),
    ("wicket-temp", &["Wicket Creek", "share of the Wicket Creek"]),
    ("air-temp", &["surface of the days ahead"]),
    ("dew-point", &[]),
    ("wind-speed", &[]),
    ("wind-gust", &[]),
    ("wind-direction", &[]),
    ("cloud-cover", &[]),
    ("surface-pressure", &[]),
    ("precipitation", &[]),
    ("shortwave", &[]),
    ("visibility", &[]),
    ("official-alerts", &[]),
];

/// A filled store that no other test uses.
fn store() -> PathBuf {
    let folder = cache().join("feeds");
    let text = folder.to_string_lossy();
    let pulled = run(&["pull", "--demo", "--as-of", MORNING, "--store", &text]);
    assert_eq!(
        pulled.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&pulled.stderr)
    );
    folder.join("20250724T113000Z")
}

/// Exit status and brief from a store as it is.
fn brief_of(store: &Path) -> (i32, Brief) {
    let lake = root().join("config/lakes/harrow-gap.toml");
    let (lake, store) = (lake.to_string_lossy(), store.to_string_lossy());
    let output = run(&[
        "brief",
        "--lake",
        &lake,
        "--store",
        &store,
        "--offline",
        "--as-of",
        MORNING,
        "--format",
        "json",
    ]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let brief = serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}\n{said}"));
    (output.status.code().expect("a status"), brief)
}

/// Width of an interval of the brief, by its name; that of a share in log-odds. `None` where it is not known.
fn width(brief: &Brief, name: &str) -> Option<f64> {
    let logit = |p: f64| (p / (1.0 - p)).ln();
    let day = match name {
        "surface today" => Some(0),
        "surface a week ahead" => Some(7),
        _ => None,
    };
    if let Some(day) = day {
        let of = brief.water.surface_outlook.get(day)?;
        return Some(of.high_degc - of.low_degc);
    }
    if name == "surface of the days ahead" {
        let days = brief.water.surface_outlook.get(1..)?;
        return Some(days.iter().map(|d| d.high_degc - d.low_degc).sum::<f64>() / days.len() as f64);
    }
    if name == "level a week ahead" {
        let of = brief.level_outlook.as_ref()?.days.get(7)?;
        return Some(of.high_m - of.low_m);
    }
    if let Some(zone) = name.strip_prefix("share of the ") {
        let call = brief.whereabouts.values().last()?;
        let of = call.zones.values().find(|z| z.name == zone)?;
        return Some(logit(of.high) - logit(of.low));
    }
    let of = brief.water.rivers.iter().find(|r| r.name == name)?;
    Some(of.high_degc - of.low_degc)
}

/// The texts of what is lacking, of cautions, conditions, ramps and what is not known.
fn said(brief: &Brief) -> Vec<String> {
    let reader = Reader::new(Units::Us, chrono_tz::America::Los_Angeles);
    let text = |block| match block {
        Block::Item { text, number: None } => Some(text),
        Block::Row { label, text, .. } | Block::Labelled { label, text, .. } => {
            Some(format!("{label} {text}").trim().to_owned())
        }
        _ => None,
    };
    compose(brief, &reader, Detail::Short)
        .into_iter()
        .filter_map(text)
        .collect()
}

/// Everything about one feed, for the document.
fn section(feed: &str, wider: &[&str], whole: &Brief, without: &Brief) -> String {
    let before: BTreeSet<String> = said(whole).into_iter().collect();
    let mut text = format!("\n## Without `{feed}`\n\n");
    for line in said(without).iter().filter(|l| !before.contains(*l)) {
        text.push_str(&format!("- {}\n", line.replace('\u{a0}', " ")));
    }
    let widened: Vec<String> = wider
        .iter()
        .map(|name| match (width(whole, name), width(without, name)) {
            (Some(whole), Some(without)) => format!("{name}: {:.2} times as wide", without / whole),
            _ => format!("{name}: not known"),
        })
        .collect();
    if !widened.is_empty() {
        text.push_str(&format!("\nIntervals: {}.\n", widened.join("; ")));
    }
    text
}

#[test]
fn each_feed_that_is_removed_is_named_with_status_3_and_leaves_wider_intervals() {
    let store = store();
    let lake = store.join("harrow-gap");
    let (status, whole) = brief_of(&store);
    assert_eq!(status, 0, "{:?}", whole.trust);
    let mut folders: BTreeSet<String> = std::fs::read_dir(&lake)
        .expect("a store")
        .map(|e| e.expect("an entry"))
        .filter(|e| e.path().is_dir())
        .map(|e| e.file_name().to_string_lossy().into_owned())
        .collect();
    folders.remove("issued-briefs");
    folders.remove("water-states");
    folders.remove("calls");
    folders.remove("forecasts");
    let listed: BTreeSet<String> = FEEDS.iter().map(|(f, _)| (*f).to_owned()).collect();
    assert_eq!(listed, folders, "every feed of the store has its row");
    let mut document_text = String::from(
        "# When a feed is missing\n\nThe demonstration morning of 24 July 2025 with each feed of the lake file removed in \
         turn. Each brief ends with status 3 and says so at its top; below stand the lines that it has and the whole \
         brief has not, and the intervals that rest on the feed. Made by `tests/brief/feeds.rs`.\n",
    );
    for (feed, wider) in FEEDS {
        let aside = store.join("aside");
        std::fs::rename(lake.join(feed), &aside).expect("a feed to remove");
        let (status, without) = brief_of(&store);
        let _ = std::fs::remove_dir_all(lake.join(feed));
        std::fs::rename(&aside, lake.join(feed)).expect("and to put back");
        assert_eq!(status, 3, "{feed}: {:?}", without.trust);
        let named = without.trust.lacking.iter().any(|l| match l {
            Lacking::Feeds { series } => series.iter().any(|s| s.series == feed),
            Lacking::Level { .. } => feed == "pool",
            Lacking::Wind { .. } => feed == "wind-speed",
            Lacking::OfficialAlerts => feed == "official-alerts",
            _ => false,
        });
        assert!(named, "{feed} is not named: {:?}", without.trust.lacking);
        for name in wider {
            let before = width(&whole, name).expect("known with every feed");
            if let Some(after) = width(&without, name) {
                assert!(after > before, "{feed}: {name} {before} to {after}");
            }
        }
        document_text.push_str(&section(feed, wider, &whole, &without));
    }
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join(DOCUMENT), &document_text).expect("writable");
    }
    assert!(
        document(DOCUMENT) == document_text,
        "{DOCUMENT} is not what the program says; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
}
