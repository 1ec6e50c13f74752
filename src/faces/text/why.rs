//! Signed reasons, in log-odds and in words.

use crate::faces::figures::{figures, flow_base_of};
use crate::faces::reader::{Reader, rounded, signed};
use crate::faces::words;
use crate::reports::Brief;
use crate::whereabouts::{Reason, SpeciesCall};

use super::answer::zone_name;
use super::layout::{Page, padded_left};

/// Contributions below this are not worth a line (project choice).
const SMALLEST_SHOWN: f64 = 0.005;

/// Writes the reasons.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.blank();
    page.heading(
        "WHY",
        "log-odds against the main body: + speaks for the zone, - against it;",
    );
    page.faint_wrapped(
        "in brackets the rule and how well it is founded",
        "     ",
        "     ",
    );
    for choice in &brief.choices {
        if let Some(call) = brief.whereabouts.get(&choice.species) {
            species(page, brief, call, reader);
        }
    }
}

fn species(page: &mut Page, brief: &Brief, call: &SpeciesCall, reader: &Reader) {
    for (id, share) in &call.zones {
        let reasons: Vec<&Reason> = call.reasons.iter().filter(|r| &r.zone == id).collect();
        if reasons.is_empty() {
            continue;
        }
        let zone = zone_name(brief, id);
        page.wrapped(
            &format!(
                "{}, {zone}: {} in all, give or take {}",
                words::capitalised(&call.name),
                signed(share.eta, 2),
                rounded(share.eta_sd, 2)
            ),
            "  ",
            "    ",
        );
        let shown = |r: &&&Reason| r.contribution.abs() >= SMALLEST_SHOWN;
        for reason in reasons.iter().filter(shown) {
            let drivers = figures(reader, |v| flow_base_of(&brief.inflows, v), &reason.drivers);
            let mut text = reason.label.clone();
            if !drivers.is_empty() {
                text.push_str(&format!(" ({})", drivers.join(", ")));
            }
            text.push_str(&match reason.evidence.as_str() {
                "none" => format!(" [{}]", reason.rule),
                evidence => format!(" [{}, {evidence}]", reason.rule),
            });
            let first = format!("    {}  ", padded_left(&signed(reason.contribution, 2), 5));
            page.wrapped(&text, &first, "           ");
        }
        let still: Vec<String> = reasons
            .iter()
            .filter(|r| !shown(r))
            .map(|r| format!("{} [{}]", r.label, r.rule))
            .collect();
        if !still.is_empty() {
            page.faint_wrapped(
                &format!("without effect today: {}", still.join(", ")),
                "           ",
                "           ",
            );
        }
    }
}
