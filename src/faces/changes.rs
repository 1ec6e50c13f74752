//! What differs from the brief before, a line each.

use std::collections::BTreeMap;

use crate::lake::SpeciesId;
use crate::plan::CautionLevel;
use crate::reports::{Brief, CautionChange, Changes, FigureChange, RampChange, ShareCause};

use super::figures::{figures, flow_base_of};
use super::reader::{Reader, percent};
use super::words;

/// Whether the rules that moved a share are named by their codes (`R2`), which stand in docs/methods.md.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleCodes {
    /// For one who reads the methods.
    Shown,
    /// For one who does not.
    Hidden,
}

/// The changes in words, in their order.
pub fn lines(brief: &Brief, changes: &Changes, reader: &Reader, codes: RuleCodes) -> Vec<String> {
    let figures = changes.figures.iter().map(|c| figure(brief, (reader, codes), c));
    let ramps = changes.ramps.iter().map(|c| ramp(brief, c));
    let cautions = changes.cautions.iter().map(caution);
    let lines: Vec<String> = figures.chain(ramps).chain(cautions).collect();
    if lines.is_empty() {
        vec!["nothing worth a line".to_owned()]
    } else {
        lines
    }
}

/// Before and now, either of which may not be known.
fn from_to(before: Option<String>, now: Option<String>) -> String {
    match (before, now) {
        (Some(before), Some(now)) => format!("{before} to {now}"),
        (None, Some(now)) => format!("{now}, not known before"),
        (Some(before), None) => format!("no longer known, was {before}"),
        (None, None) => "not known".to_owned(),
    }
}

fn figure(brief: &Brief, (reader, codes): (&Reader, RuleCodes), change: &FigureChange) -> String {
    match change {
        FigureChange::Level { before_m, now_m } => {
            let said = |m: &Option<f64>| m.map(|m| reader.elevation(m));
            let moved = before_m
                .zip(*now_m)
                .map(|(before, now)| format!(" ({})", reader.change_between(before, now)));
            format!(
                "level: {}{}",
                from_to(said(before_m), said(now_m)),
                moved.unwrap_or_default()
            )
        }
        FigureChange::Inflow {
            inflow,
            before_m3s,
            now_m3s,
        } => {
            let said = |q: &Option<f64>| q.map(|q| reader.discharge(q));
            let name = words::inflow(brief, inflow.as_str());
            format!("flow of {name}: {}", from_to(said(before_m3s), said(now_m3s)))
        }
        FigureChange::Surface {
            before_degc,
            now_degc,
        } => {
            let said = |t: &Option<f64>| t.map(|t| reader.temp(t));
            format!("surface: {}", from_to(said(before_degc), said(now_degc)))
        }
        FigureChange::Share {
            species,
            zone,
            before_frac,
            now_frac,
            causes,
        } => {
            let share = format!(
                "{}, {}: {} to {}",
                species_name(brief, species),
                words::zone(brief, zone),
                percent(*before_frac),
                percent(*now_frac)
            );
            let causes: Vec<String> = causes.iter().map(|c| cause(brief, (reader, codes), c)).collect();
            if causes.is_empty() {
                share
            } else {
                format!("{share}; moved by {}", causes.join("; by "))
            }
        }
    }
}

/// A cause: the rule, the zone it speaks of, and its inputs before and now.
fn cause(brief: &Brief, (reader, codes): (&Reader, RuleCodes), cause: &ShareCause) -> String {
    let said = |value: fn(&crate::reports::InputChange) -> Option<f64>| {
        let named: BTreeMap<String, f64> = cause
            .inputs
            .iter()
            .filter_map(|i| Some((i.name.clone(), value(i)?)))
            .collect();
        figures(reader, |v| flow_base_of(&brief.inflows, v), &named).join(", ")
    };
    let (now, before) = (said(|i| i.now), said(|i| i.before));
    let inputs = match (now.is_empty(), before.is_empty()) {
        (false, false) => format!(" ({now}; before: {before})"),
        (false, true) => format!(" ({now}; before: without effect)"),
        (true, false) => format!(" (without effect or not known now; before: {before})"),
        (true, true) => String::new(),
    };
    let code = match codes {
        RuleCodes::Shown => format!(" [{}]", cause.rule),
        RuleCodes::Hidden => String::new(),
    };
    let place = words::zone(brief, &cause.zone);
    format!("{} in {place}{inputs}{code}", cause.label)
}

fn ramp(brief: &Brief, change: &RampChange) -> String {
    let found = brief.ramps.iter().find(|r| r.id == change.ramp);
    let name = found.map_or(change.ramp.as_str(), |r| r.name.as_str());
    let word = |usable: Option<bool>| match usable {
        Some(true) => "in use",
        Some(false) => "out of use",
        None => "not known",
    };
    format!(
        "ramp {name}: {} to {} by level",
        word(change.before),
        word(change.now)
    )
}

fn caution(change: &CautionChange) -> String {
    let word =
        |level: Option<CautionLevel>| level.map_or("none".to_owned(), |l| words::level(l).to_lowercase());
    format!(
        "caution on {}: {} to {}",
        words::hazard(change.hazard).to_lowercase(),
        word(change.before),
        word(change.now)
    )
}

fn species_name(brief: &Brief, id: &SpeciesId) -> String {
    let call = brief.whereabouts.get(id);
    call.map_or_else(|| id.to_string(), |c| c.name.clone())
}
