//! Signed reasons, in log-odds and in words.

use crate::faces::figures::{figures, flow_base_of};
use crate::faces::reader::{Reader, rounded, signed};
use crate::faces::words;
use crate::reports::Brief;
use crate::whereabouts::{Catchability, Reason, SpeciesCall};

use super::block::Page;

/// Contributions below this are not worth a line (project choice).
const SMALLEST_SHOWN: f64 = 0.005;

/// A factor nearer to 1 than this is not worth a word (project choice).
const SMALLEST_FACTOR: f64 = 0.15;

/// Writes the reasons.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.heading(
        "WHY",
        "log-odds against the main body: + speaks for the zone, - against it; in brackets the rule and how well it \
         is founded",
    );
    if brief.whereabouts.values().all(|call| call.zones.is_empty()) {
        page.text(
            "No species of the lake file has rules, so there are no reasons.",
            2,
        );
    }
    for choice in &brief.choices {
        if let Some(call) = brief.whereabouts.get(&choice.species) {
            species(page, brief, call, reader);
            catchability(page, brief, call, reader);
        }
    }
}

fn species(page: &mut Page, brief: &Brief, call: &SpeciesCall, reader: &Reader) {
    for (id, share) in &call.zones {
        let reasons: Vec<&Reason> = call.reasons.iter().filter(|r| &r.zone == id).collect();
        if reasons.is_empty() {
            continue;
        }
        let zone = words::zone(brief, id);
        page.lead(&format!(
            "{}, {zone}: {} in all, give or take {}",
            words::capitalised(&call.name),
            signed(share.eta, 2),
            rounded(share.eta_sd, 2)
        ));
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
            page.amount(&signed(reason.contribution, 2), &text);
        }
        let still: Vec<String> = reasons
            .iter()
            .filter(|r| !shown(r))
            .map(|r| format!("{} [{}]", r.label, r.rule))
            .collect();
        if !still.is_empty() {
            page.faint(&format!("without effect today: {}", still.join(", ")), 11, 11);
        }
    }
}

/// Says how easily the fish are caught where that is worth a word.
fn catchability(page: &mut Page, brief: &Brief, call: &SpeciesCall, reader: &Reader) {
    let said = |of: &&Catchability| (of.factor - 1.0).abs() >= SMALLEST_FACTOR;
    for of in call.catchability.iter().filter(said) {
        let why: Vec<String> = of
            .terms
            .iter()
            .filter(|t| t.contribution.abs() >= SMALLEST_SHOWN)
            .map(|t| {
                let drivers = figures(reader, |_| "", &t.drivers).join(", ");
                format!("{} ({drivers}) [{}, {}]", t.label, t.term, t.evidence)
            })
            .collect();
        page.hanging(
            &format!(
                "{}, {}: catch per hour about {} times that in clear, cool water by day ({} to {}), no part of the \
                 shares: {}",
                words::capitalised(&call.name),
                words::zone(brief, &of.zone),
                rounded(of.factor, 1),
                rounded(of.factor_low, 1),
                rounded(of.factor_high, 1),
                why.join("; ")
            ),
            2,
            4,
        );
    }
}
