//! Where they are, how deep, and where to start.

use crate::faces::reader::{Reader, percent, signed};
use crate::faces::words;
use crate::lake::ZoneKind;
use crate::plan::{Caution, CautionLevel, RampReason};
use crate::reports::{Brief, Choice};
use crate::whereabouts::{CallBasis, SpeciesCall, Verdict, ZoneShare};

use super::block::{Block, Page, ShareBar, held};

/// Writes the answer.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.heading(
        "WHERE THEY ARE",
        match brief.basis {
            CallBasis::Rules { .. } => {
                "share of the fish that the rules expect, and its 80 % interval; on any one day the fish scatter more than that"
            }
            CallBasis::Learned { .. } => {
                "share of the fish that rules and trips expect, and its 80 % interval; on any one day the fish scatter more than that"
            }
        },
    );
    if let Some(stop) = stop_line(brief) {
        page.text(&stop, 2);
    }
    if let Some(basis) = words::call_basis(&brief.basis, reader) {
        page.text(&basis, 2);
    }
    for choice in &brief.choices {
        if let Some(call) = brief.whereabouts.get(&choice.species) {
            species(page, brief, call, choice, reader);
        }
    }
}

/// That a caution says not to launch, before it is said where to; `None` where none does.
fn stop_line(brief: &Brief) -> Option<String> {
    let stops = |c: &&Caution| c.level == CautionLevel::Severe && words::says_stay_ashore(c.hazard);
    let mut hazards: Vec<String> = Vec::new();
    for caution in brief.cautions.iter().filter(stops) {
        let name = words::hazard(caution.hazard).to_lowercase();
        if !hazards.contains(&name) {
            hazards.push(name);
        }
    }
    (!hazards.is_empty()).then(|| {
        format!(
            "The cautions on {} say not to go out or not to run: read them first. What follows is for when they no longer hold.",
            hazards.join(" and ")
        )
    })
}

fn species(page: &mut Page, brief: &Brief, call: &SpeciesCall, choice: &Choice, reader: &Reader) {
    let verdict = format!("{}: {}", words::capitalised(&call.name), verdict(brief, call));
    page.lead(&verdict);
    if let Verdict::NotKnown { .. } = call.verdict {
        page.text(&depth(call, brief, reader), 4);
        page.text("Where to start for it is not known.", 4);
        return;
    }
    let mut shares: Vec<&ZoneShare> = call.zones.values().collect();
    shares.sort_by(|a, b| b.share.total_cmp(&a.share));
    let (closed, open): (Vec<_>, Vec<_>) = shares.into_iter().partition(|s| s.closed);
    page.blocks
        .push(Block::Shares(open.into_iter().map(share_bar).collect()));
    for share in closed {
        let text = format!(
            "{}: closed at this level, no share, no ramp, no route",
            share.name
        );
        page.hanging(&text, 4, 6);
    }
    page.text(&depth(call, brief, reader), 4);
    page.text(&start(brief, choice, reader), 4);
    if let Some(why) = reasons(brief, call) {
        page.text(&why, 4);
    }
}

/// Reasons that have a place on the line.
const REASONS_SHOWN: usize = 3;

/// What speaks most for and against the likeliest place, signed: of the main body, against which arms are weighed, what speaks
/// most about the arm with the most fish.
fn reasons(brief: &Brief, call: &SpeciesCall) -> Option<String> {
    let arm = call
        .zones
        .iter()
        .filter(|(_, share)| share.kind == ZoneKind::Arm && !share.closed)
        .max_by(|a, b| a.1.share.total_cmp(&b.1.share))
        .map(|(id, _)| id)?;
    let of = |zone| call.reasons.iter().filter(move |r| &r.zone == zone);
    let zone = if of(&call.likeliest_fishable).next().is_some() {
        &call.likeliest_fishable
    } else {
        arm
    };
    let said: Vec<String> = of(zone)
        .filter(|r| r.contribution != 0.0)
        .take(REASONS_SHOWN)
        .map(|r| format!("{} {}", held(&signed(r.contribution, 2)), r.label))
        .collect();
    let eta = call.zones.get(zone)?.eta;
    (!said.is_empty()).then(|| {
        format!(
            "Why: {} against the main body {} in log-odds, most by {}.",
            words::zone(brief, zone),
            signed(eta, 2),
            said.join("; ")
        )
    })
}

fn verdict(brief: &Brief, call: &SpeciesCall) -> String {
    match &call.verdict {
        Verdict::NotKnown { why } => format!("in which part of the lake is not known: {why}"),
        Verdict::Likeliest { zone, first_prob } => format!(
            "likeliest in {}; of the water you can troll it comes first in {}",
            words::zone(brief, zone),
            words::of_ten(*first_prob)
        ),
        Verdict::EitherPlace { zones, first_prob } => {
            let names: Vec<String> = zones.iter().map(|z| words::zone(brief, z)).collect();
            format!(
                "either place, {}; no zone stands out (the first of them leads in {})",
                names.join(" or "),
                words::of_ten(*first_prob)
            )
        }
    }
}

/// One zone with its share and interval.
fn share_bar(share: &ZoneShare) -> ShareBar {
    ShareBar {
        name: share.name.clone(),
        share_frac: share.share,
        low_frac: share.low,
        high_frac: share.high,
        share: percent(share.share),
        interval: format!("{} to {}", whole(share.low), whole(share.high)),
        remark: if share.kind == ZoneKind::River {
            "above trolling water"
        } else {
            ""
        },
    }
}

fn whole(share_frac: f64) -> String {
    crate::faces::reader::rounded(share_frac * 100.0, 0)
}

fn depth(call: &SpeciesCall, brief: &Brief, reader: &Reader) -> String {
    // Its likeliest zone is the main body then, which no share names.
    let zone = match call.verdict {
        Verdict::NotKnown { .. } => "the main body, if it is there".to_owned(),
        _ => words::zone(brief, &call.likeliest_fishable),
    };
    match (call.band_top_m, call.band_bottom_m) {
        (Some(top_m), Some(bottom_m)) => {
            let best = words::best_depth(call.band_best_m, call.band_reaches_limits(), reader);
            format!(
                "Depth in {zone}: {}{best} ({}; {}).",
                reader.band(top_m, bottom_m),
                words::basis(reader, &call.band_basis),
                limits(call, brief, reader)
            )
        }
        _ => format!("Depth in {zone}: not known."),
    }
}

/// Where the water is within the species' hard limits: between warm water above and poor water below.
fn limits(call: &SpeciesCall, brief: &Brief, reader: &Reader) -> String {
    let mut zones = brief.water.zones.iter();
    let oxygen = zones.any(|z| z.zone == call.likeliest_fishable && !z.oxygens.is_empty());
    if !oxygen {
        return "oxygen is not known".to_owned();
    }
    let Some(within_limits) = &call.within_limits else {
        return "its limits of temperature and oxygen are not known".to_owned();
    };
    let stretches: Vec<String> = within_limits
        .iter()
        .map(|range| reader.band(range.top_m, range.bottom_m))
        .collect();
    match stretches.is_empty() {
        true => "no depth is within its limits of temperature and oxygen".to_owned(),
        false => format!(
            "within its limits of temperature and oxygen {}",
            stretches.join(" and ")
        ),
    }
}

/// Why a ramp was chosen, in brackets.
fn ramp_reason(reason: RampReason, reader: &Reader) -> String {
    match reason {
        RampReason::ShortestRun { distance_m } => {
            format!(" (the shortest run, {})", reader.run(distance_m))
        }
        RampReason::OnlyOne => " (the only ramp that floats the boat)".to_owned(),
        RampReason::Nearest { distance_m } => format!(
            " (the nearest ramp that floats the boat, {} off in a straight line)",
            reader.distance(distance_m)
        ),
        RampReason::SameZone => " (in the same water)".to_owned(),
        RampReason::MostWater => " (the most water over its end)".to_owned(),
    }
}

fn start(brief: &Brief, choice: &Choice, reader: &Reader) -> String {
    let ramp = choice
        .ramp
        .as_ref()
        .and_then(|id| brief.ramps.iter().find(|r| &r.id == id))
        .map_or("no ramp is known to float the boat".to_owned(), |r| {
            let why = choice.ramp_reason.map(|reason| ramp_reason(reason, reader));
            format!("launch at {}{}", r.name, why.unwrap_or_default())
        });
    let fallback = choice.fallback.as_ref().map_or(String::new(), |zone| {
        format!("; if it stays quiet, {}", words::zone(brief, zone))
    });
    format!("Start in {}, {ramp}{fallback}.", words::zone(brief, &choice.zone))
}
