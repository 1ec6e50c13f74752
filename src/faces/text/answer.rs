//! Where they are, how deep, and where to start.

use crate::faces::reader::{Reader, percent};
use crate::faces::words;
use crate::lake::ZoneKind;
use crate::plan::RampReason;
use crate::reports::{Brief, Choice};
use crate::whereabouts::{SpeciesCall, Verdict, ZoneShare};

use super::layout::{Page, held, padded, padded_left};

/// Cells of a share's bar beside a name of 16 columns; a longer name takes from it.
const BAR_CELLS: usize = 20;
/// Longest name of a zone that shares its line with a bar.
const LONGEST_NAME: usize = 30;

/// Writes the answer.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.blank();
    page.heading(
        "WHERE THEY ARE",
        "share of the fish that the rules expect, and its 80 %",
    );
    page.faint_wrapped(
        "interval; on any one day the fish scatter more than that",
        "                ",
        "                ",
    );
    for choice in &brief.choices {
        if let Some(call) = brief.whereabouts.get(&choice.species) {
            species(page, brief, call, choice, reader);
        }
    }
}

fn species(page: &mut Page, brief: &Brief, call: &SpeciesCall, choice: &Choice, reader: &Reader) {
    let verdict = format!("{}: {}", words::capitalised(&call.name), verdict(brief, call));
    page.wrapped(&verdict, "  ", "    ");
    let mut shares: Vec<&ZoneShare> = call.zones.values().collect();
    shares.sort_by(|a, b| b.share.total_cmp(&a.share));
    let widest = shares.iter().map(|s| s.name.chars().count()).max().unwrap_or(0);
    let width = widest.clamp(16, LONGEST_NAME);
    for share in shares {
        share_line(page, share, width);
    }
    page.wrapped(&depth(call, brief, reader), "    ", "    ");
    page.wrapped(&start(brief, choice, reader), "    ", "    ");
}

fn verdict(brief: &Brief, call: &SpeciesCall) -> String {
    match &call.verdict {
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

/// One zone: its name, a bar as long as the name leaves room for, share and interval. A name longer than
/// [`LONGEST_NAME`] has a line of its own.
fn share_line(page: &mut Page, share: &ZoneShare, width: usize) {
    let mut name = share.name.as_str();
    if name.chars().count() > width {
        page.wrapped(name, "    ", "    ");
        name = "";
    }
    if share.closed {
        page.wrapped(
            &format!(
                "{} closed at this level: no share, no ramp, no route",
                held(&padded(name, width))
            ),
            "    ",
            "      ",
        );
        return;
    }
    let remark = if share.kind == ZoneKind::River {
        "  above trolling water"
    } else {
        ""
    };
    let interval = format!("{} to {}", whole(share.low), whole(share.high));
    page.raw(&format!(
        "    {} {} {}  {}{remark}",
        padded(name, width),
        bar(share.share, BAR_CELLS + 16 - width),
        padded_left(&percent(share.share), 5),
        padded_left(&interval, 8),
    ));
}

fn whole(share_frac: f64) -> String {
    crate::faces::reader::rounded(share_frac * 100.0, 0)
}

/// A share as a bar in eighths of a cell.
fn bar(share_frac: f64, cells: usize) -> String {
    const EIGHTHS: [char; 8] = [' ', '▏', '▎', '▍', '▌', '▋', '▊', '▉'];
    let eighths = (share_frac.clamp(0.0, 1.0) * (cells * 8) as f64).round() as usize;
    let mut text = "█".repeat(eighths / 8);
    if eighths / 8 < cells {
        text.push(EIGHTHS[eighths % 8]);
    }
    padded(&text, cells)
}

fn depth(call: &SpeciesCall, brief: &Brief, reader: &Reader) -> String {
    let zone = words::zone(brief, &call.likeliest_fishable);
    match (call.band_top_m, call.band_bottom_m) {
        (Some(top_m), Some(bottom_m)) => {
            let best = call
                .band_best_m
                .map_or(String::new(), |m| format!(", best near {}", reader.depth(m)));
            format!(
                "Depth in {zone}: {}{best} ({}; oxygen is not known).",
                reader.band(top_m, bottom_m),
                words::basis(reader, &call.band_basis)
            )
        }
        _ => format!("Depth in {zone}: not known."),
    }
}

/// Why a ramp was chosen, in brackets.
fn ramp_reason(reason: RampReason, reader: &Reader) -> String {
    match reason {
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
