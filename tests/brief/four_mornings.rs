//! The four demonstration mornings beside each other, as the program prints them: docs/four-mornings.md.

use plungeline::faces::reader::percent;
use plungeline::faces::{Detail, Ink, Reader, Units, render_text, words};
use plungeline::plan::CautionLevel;
use plungeline::reports::Brief;
use plungeline::whereabouts::{SpeciesCall, Verdict};

use super::demo::{MORNINGS, brief};
use crate::house::source::{document, root};

const DOCUMENT: &str = "docs/four-mornings.md";
/// Where the program's part begins; what stands before it is written by hand.
const BEGIN: &str = "<!-- made by tests/brief/four_mornings.rs, do not edit below -->\n";

fn reader() -> Reader {
    Reader::new(Units::Us, chrono_tz::America::Los_Angeles)
}

/// One line of the table: its head, and a cell a morning.
fn row(head: &str, mornings: &[Brief], cell: impl Fn(&Brief) -> String) -> String {
    let cells: Vec<String> = mornings.iter().map(|b| cell(b).replace('|', "\\|")).collect();
    format!("| {head} | {} |\n", cells.join(" | "))
}

fn call<'b>(brief: &'b Brief, species: &str) -> Option<&'b SpeciesCall> {
    brief
        .whereabouts
        .iter()
        .find(|(id, _)| id.as_str() == species)
        .map(|(_, call)| call)
}

fn verdict(brief: &Brief, species: &str) -> String {
    match call(brief, species).map(|c| &c.verdict) {
        Some(Verdict::Likeliest { zone, first_prob }) => {
            format!(
                "{}, first in {}",
                words::zone(brief, zone),
                words::of_ten(*first_prob)
            )
        }
        Some(Verdict::EitherPlace { .. }) => "either place".to_owned(),
        Some(Verdict::NotKnown { .. }) => "not known".to_owned(),
        None => String::new(),
    }
}

fn shares(brief: &Brief, species: &str) -> String {
    let Some(call) = call(brief, species) else {
        return String::new();
    };
    let mut zones: Vec<_> = call.zones.values().filter(|z| !z.closed).collect();
    zones.sort_by(|a, b| b.share.total_cmp(&a.share));
    let one = |z: &&plungeline::whereabouts::ZoneShare| format!("{} {}", z.name, percent(z.share));
    zones.iter().map(one).collect::<Vec<_>>().join("<br>")
}

fn band(brief: &Brief, species: &str) -> String {
    match call(brief, species).map(|c| (c.band_top_m, c.band_bottom_m, c.band_best_m)) {
        Some((Some(top_m), Some(bottom_m), best_m)) => {
            let best = best_m.map_or(String::new(), |m| format!(", best near {}", reader().depth(m)));
            format!("{}{best}", reader().band(top_m, bottom_m))
        }
        _ => "not known".to_owned(),
    }
}

fn ramp(brief: &Brief, species: &str) -> String {
    let choice = brief.choices.iter().find(|c| c.species.as_str() == species);
    let id = choice.and_then(|c| c.ramp.as_ref());
    id.and_then(|id| brief.ramps.iter().find(|r| &r.id == id))
        .map_or("none known".to_owned(), |r| r.name.clone())
}

fn cautions(brief: &Brief) -> String {
    let said = |c: &&plungeline::plan::Caution| c.level != CautionLevel::Reminder;
    let one = |c: &plungeline::plan::Caution| {
        format!(
            "{} {}",
            words::hazard(c.hazard).to_lowercase(),
            words::level(c.level).to_lowercase()
        )
    };
    brief
        .cautions
        .iter()
        .filter(said)
        .map(one)
        .collect::<Vec<_>>()
        .join("<br>")
}

fn table(mornings: &[Brief]) -> String {
    let mut text = row("", mornings, |b| reader().stamp(b.as_of));
    text.push_str(&format!("|---|{}\n", "---|".repeat(mornings.len())));
    for (species, name) in [
        ("rainbow-trout", "rainbow trout"),
        ("landlocked-chinook", "kings"),
    ] {
        text.push_str(&row(&format!("{name}: call"), mornings, |b| verdict(b, species)));
        text.push_str(&row(&format!("{name}: shares"), mornings, |b| shares(b, species)));
        text.push_str(&row(&format!("{name}: depth"), mornings, |b| band(b, species)));
        text.push_str(&row(&format!("{name}: ramp"), mornings, |b| ramp(b, species)));
    }
    text.push_str(&row("cautions", mornings, cautions));
    text.push_str(&row("official alerts", mornings, |b| {
        let events: Vec<&str> = b.alerts.list.iter().map(|a| a.event.as_str()).collect();
        if events.is_empty() {
            "none in force when asked".to_owned()
        } else {
            events.join(", ")
        }
    }));
    text.push_str(&row("level", mornings, |b| {
        b.pool
            .as_ref()
            .map_or(String::new(), |p| reader().elevation(p.elevation_m))
    }));
    text.push_str(&row("surface", mornings, |b| {
        b.surface
            .as_ref()
            .map_or(String::new(), |s| reader().temp(s.temp_degc))
    }));
    text
}

#[test]
fn the_four_mornings_of_the_document_are_those_that_the_program_prints() {
    let mornings: Vec<Brief> = MORNINGS
        .iter()
        .map(|day| serde_json::from_value(brief(day)).expect("a brief"))
        .collect();
    let mut made = format!("{BEGIN}\n{}", table(&mornings));
    for morning in &mornings {
        let text = render_text(morning, &reader(), Ink { colour: false }, Detail::Whole);
        made.push_str(&format!(
            "\n## {}\n\n```text\n{text}```\n",
            reader().stamp(morning.as_of)
        ));
    }
    let all = document(DOCUMENT);
    let (by_hand, found) = all
        .split_once(BEGIN)
        .expect("the mark where the program's part begins");
    if std::env::var_os("PLUNGELINE_BLESS").is_some() {
        std::fs::write(root().join(DOCUMENT), format!("{by_hand}{made}")).expect("writable");
        return;
    }
    assert!(
        found == &made[BEGIN.len()..],
        "{DOCUMENT} is not what the program prints; PLUNGELINE_BLESS=1 cargo test writes it anew"
    );
}
