//! Notices: which keys a kind has, its threshold, its margin.

use super::block::{Block, plain, quote};
use super::fault::At;
use super::known::Known;
use super::places::{all, below_full, pool_zone, unique};
use super::zones::above_bed;
use crate::lake::{BandEdge, InflowId, Notice, NoticeCondition, NoticeSide, SpeciesId, ZoneId};

/// Days of calm before a notice is told again (project choice).
const REARM_DAYS: f64 = 1.0;
/// Last day of the outlook of a ramp, counted from the day of the trip.
const RAMP_HORIZON_DAYS: u32 = 15;
/// Margins where the file gives none (project choices).
const MARGIN_PROB: f64 = 0.15;
const MARGIN_RATIO: f64 = 0.2;
const MARGIN_DEGC: f64 = 1.0;
const MARGIN_LEVEL_M: f64 = 0.3;
const MARGIN_DEPTH_M: f64 = 2.0;
const MARGIN_FRAC: f64 = 0.10;
/// Keys that belong to some kinds only.
const OWN_KEYS: [&str; 20] = [
    "zone",
    "ramp",
    "inflow",
    "species",
    "edge",
    "within_days",
    "at_least_prob",
    "at_least_ratio",
    "at_least_temp",
    "at_most_temp",
    "at_least_elevation",
    "at_most_elevation",
    "at_least_depth",
    "at_most_depth",
    "at_least_frac",
    "at_most_frac",
    "margin_prob",
    "margin_ratio",
    "margin_temp",
    "margin_height",
];

/// All notices, in the order of the file; `None` where one of them is faulty.
pub(super) fn read_notices(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<Notice>> {
    let mut ids = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let id = block.id("id");
        ids.extend(id.clone());
        let kind = block.word("kind");
        let condition = kind.as_ref().and_then(|kind| read_condition(block, kind, known));
        let rearm_days = block.number("rearm_days");
        let note = block.text("note");
        if faulty(block, "rearm_days", rearm_days.is_some()) || faulty(block, "note", note.is_some()) {
            return None;
        }
        Some(Notice {
            id: id?.value,
            condition: condition?,
            rearm_days: rearm_days.map_or(REARM_DAYS, |at| at.value),
            note: note.map(|at| at.value),
        })
    };
    let list = all(root.blocks("notices").iter().map(read));
    unique(root.faults, "notices", ids.iter());
    list
}

/// Whether a key stands there without a sound value.
fn faulty(block: &Block<'_, '_>, stem: &str, sound: bool) -> bool {
    block.has(stem) && !sound
}

fn read_condition(
    block: &Block<'_, '_>,
    kind: &At<&'static str>,
    known: &Known<'_>,
) -> Option<NoticeCondition> {
    refuse_others(block, kind.value);
    match kind.value {
        "turnover" => {
            let zone = zone_or_main(block, known);
            let (within_days, at_least_prob, margin_prob) = chance(block, None)?;
            Some(NoticeCondition::Turnover {
                zone: zone?,
                within_days,
                at_least_prob,
                margin_prob,
            })
        }
        "ramp-out" | "ramp-back" => {
            let ramp = needed(block, "ramp", kind.value, |b| {
                b.reference("ramp", &known.ids("ramps"))
            });
            let (within_days, at_least_prob, margin_prob) = chance(block, Some(RAMP_HORIZON_DAYS))?;
            let ramp = ramp?.value;
            Some(match kind.value {
                "ramp-out" => NoticeCondition::RampOut {
                    ramp,
                    within_days,
                    at_least_prob,
                    margin_prob,
                },
                _ => NoticeCondition::RampBack {
                    ramp,
                    within_days,
                    at_least_prob,
                    margin_prob,
                },
            })
        }
        "pulse" => {
            let inflow = needed(block, "inflow", kind.value, |b| {
                b.reference("inflow", &known.ids("inflows"))
            });
            let ratio = needed(block, "at_least_ratio", kind.value, |b| {
                b.number("at_least_ratio")
            });
            let room = ratio.as_ref().map(|at| at.value - 1.0);
            let margin_ratio = margin(block, "margin_ratio", MARGIN_RATIO, room);
            Some(NoticeCondition::Pulse {
                inflow: InflowId::new(inflow?.value),
                at_least_ratio: ratio?.value,
                margin_ratio: margin_ratio?,
            })
        }
        "depth" => read_depth(block, known),
        "surface-temp" => {
            let zone = zone_or_main(block, known);
            let limit = one_side(block, "at_least_temp", "at_most_temp");
            let margin_degc = margin(block, "margin_temp", MARGIN_DEGC, None);
            let (side, temp) = limit?;
            Some(NoticeCondition::SurfaceTemp {
                zone: zone?,
                side,
                temp_degc: temp.value,
                margin_degc: margin_degc?,
            })
        }
        "level" => {
            let limit = one_side(block, "at_least_elevation", "at_most_elevation");
            if let Some((_, elevation)) = &limit {
                below_full(block, elevation, "the level of a notice", known);
                above_bed(block, elevation, "the level of a notice", known);
            }
            let margin_m = margin(block, "margin_height", MARGIN_LEVEL_M, None);
            let (side, elevation) = limit?;
            Some(NoticeCondition::Level {
                side,
                elevation_m: elevation.value,
                margin_m: margin_m?,
            })
        }
        _ => read_share(block, known),
    }
}

fn read_depth(block: &Block<'_, '_>, known: &Known<'_>) -> Option<NoticeCondition> {
    let species = needed(block, "species", "depth", |b| {
        b.reference("species", &known.ids("species"))
    });
    let edge = block.word("edge");
    if faulty(block, "edge", edge.is_some()) {
        return None;
    }
    let limit = one_side(block, "at_least_depth", "at_most_depth");
    // Fish come up to a depth from anywhere below; down to it they come from no higher than the surface.
    let room = limit
        .as_ref()
        .and_then(|(side, depth)| (*side == NoticeSide::AtLeast).then_some(depth.value));
    let margin_m = margin(block, "margin_height", MARGIN_DEPTH_M, room);
    let (side, depth) = limit?;
    Some(NoticeCondition::Depth {
        species: SpeciesId::new(species?.value),
        edge: match edge.map(|at| at.value) {
            Some("top") => BandEdge::Top,
            Some("bottom") => BandEdge::Bottom,
            _ => BandEdge::Best,
        },
        side,
        depth_m: depth.value,
        margin_m: margin_m?,
    })
}

fn read_share(block: &Block<'_, '_>, known: &Known<'_>) -> Option<NoticeCondition> {
    let species = needed(block, "species", "share", |b| {
        b.reference("species", &known.ids("species"))
    });
    let zone = needed(block, "zone", "share", |b| {
        b.reference("zone", &known.ids("zones"))
    });
    let limit = one_side(block, "at_least_frac", "at_most_frac");
    let room = limit.as_ref().map(|(side, share)| match side {
        NoticeSide::AtLeast => share.value,
        NoticeSide::AtMost => 1.0 - share.value,
    });
    let margin_frac = margin(block, "margin_frac", MARGIN_FRAC, room);
    let (side, share) = limit?;
    Some(NoticeCondition::Share {
        species: SpeciesId::new(species?.value),
        zone: ZoneId::new(zone?.value),
        side,
        share_frac: share.value,
        margin_frac: margin_frac?,
    })
}

/// The keys of a kind, beside those of every notice.
fn keys_of_kind(kind: &str) -> &'static [&'static str] {
    match kind {
        "turnover" => &["zone", "within_days", "at_least_prob", "margin_prob"],
        "ramp-out" | "ramp-back" => &["ramp", "within_days", "at_least_prob", "margin_prob"],
        "pulse" => &["inflow", "at_least_ratio", "margin_ratio"],
        "depth" => &[
            "species",
            "edge",
            "at_least_depth",
            "at_most_depth",
            "margin_height",
        ],
        "surface-temp" => &["zone", "at_least_temp", "at_most_temp", "margin_temp"],
        "level" => &["at_least_elevation", "at_most_elevation", "margin_height"],
        _ => &["species", "zone", "at_least_frac", "at_most_frac", "margin_frac"],
    }
}

/// Notes each key that another kind has and this one has not.
fn refuse_others(block: &Block<'_, '_>, kind: &str) {
    let own = keys_of_kind(kind);
    let wanted = format!("of a notice of kind {}: {}", quote(kind), own.join(", "));
    for stem in OWN_KEYS.iter().chain(&["margin_frac"]) {
        if !own.contains(stem) {
            block.refuse(stem, &wanted);
        }
    }
}

/// A key that this kind must have.
fn needed<T>(
    block: &Block<'_, '_>,
    stem: &str,
    kind: &str,
    read: impl Fn(&Block<'_, '_>) -> Option<T>,
) -> Option<T> {
    if !block.has(stem) {
        block.missing(stem, &format!("for kind {}", quote(kind)));
    }
    read(block)
}

/// The zone, or the main body where the key is absent; a lake without one has its fault already.
fn zone_or_main(block: &Block<'_, '_>, known: &Known<'_>) -> Option<ZoneId> {
    if block.has("zone") {
        return pool_zone(block, "zone", known).map(|at| ZoneId::new(at.value));
    }
    let main = known.zones.iter().find(|(_, kind)| kind == "main-body");
    main.map(|(id, _)| ZoneId::new(id.clone()))
}

/// Days, chance and margin of a condition that may come within some days, at most so many.
fn chance(block: &Block<'_, '_>, most_days: Option<u32>) -> Option<(u32, f64, f64)> {
    let within = needed(block, "within_days", "turnover, ramp-out or ramp-back", |b| {
        b.whole("within_days")
    });
    let prob = needed(block, "at_least_prob", "turnover, ramp-out or ramp-back", |b| {
        b.number("at_least_prob")
    });
    let room = prob.as_ref().map(|at| at.value);
    let margin_prob = margin(block, "margin_prob", MARGIN_PROB, room);
    let within = within?;
    if let Some(most) = most_days.filter(|most| within.value > *most) {
        block.fault(
            &within.span,
            format!("within_days = {}", within.value),
            format!("at most {most}, as far as the level is carried ahead"),
            format!("write {most} or less"),
        );
        return None;
    }
    Some((within.value, prob?.value, margin_prob?))
}

/// A number, with its unit where it has one.
fn value(block: &Block<'_, '_>, stem: &str) -> Option<At<f64>> {
    match stem.ends_with("_prob") || stem.ends_with("_ratio") || stem.ends_with("_frac") {
        true => block.number(stem),
        false => block.measure(stem),
    }
}

/// The threshold, which stands under one of two keys.
fn one_side(
    block: &Block<'_, '_>,
    at_least: &'static str,
    at_most: &'static str,
) -> Option<(NoticeSide, At<f64>)> {
    match (block.has(at_least), block.has(at_most)) {
        (true, true) => {
            let second = format!("one of {at_least} and {at_most}: write a second notice for the other way");
            block.refuse(at_most, &second);
            None
        }
        (true, false) => Some((NoticeSide::AtLeast, value(block, at_least)?)),
        (false, true) => Some((NoticeSide::AtMost, value(block, at_most)?)),
        (false, false) => {
            block.missing(at_least, &format!("or {at_most}"));
            None
        }
    }
}

/// The margin: of the file, or `usual`, or half of `room` where that is less. A margin as wide as the room that the
/// figure has on the other side of its threshold is a fault: the notice would never be told again.
fn margin(block: &Block<'_, '_>, stem: &'static str, usual: f64, room: Option<f64>) -> Option<f64> {
    if !block.has(stem) {
        return Some(room.map_or(usual, |room| usual.min(room / 2.0)));
    }
    let at = value(block, stem)?;
    if let Some(room) = room.filter(|room| at.value >= *room) {
        block.fault(
            &at.span,
            format!("{stem} of {} (SI)", plain(at.value)),
            format!(
                "less than {}, the way from the threshold to the end of its range",
                plain(room)
            ),
            "make it smaller, or the notice is told once and never again",
        );
        return None;
    }
    Some(at.value)
}
