//! What to run, at which speed through the water, and how much cable takes it to depth.

use crate::faces::reader::{Reader, compass};
use crate::faces::words;
use crate::plan::{PlanRung, SetDepth, SurfaceDrift};
use crate::reports::Brief;

use super::block::{Page, held};
use super::plan::{LABEL, name_of};

/// Word after how much a ball may be lifted.
const SHALLOWER: &str = " shallower";

/// The rungs of all species as one list, those shared once.
pub(super) fn ladder(page: &mut Page, brief: &Brief, reader: &Reader) {
    let mut merged: Vec<(&PlanRung, Vec<String>)> = Vec::new();
    for ladder in &brief.plan.ladder {
        let name = name_of(brief, &ladder.species);
        let mut place = 0;
        for rung in &ladder.rungs {
            match merged.iter().position(|(other, _)| *other == rung) {
                Some(at) => {
                    merged[at].1.push(name.clone());
                    place = at + 1;
                }
                None => {
                    merged.insert(place, (rung, vec![name.clone()]));
                    place += 1;
                }
            }
        }
    }
    if merged.is_empty() {
        return;
    }
    // What is the same for all is said once.
    let mut bases: Vec<&str> = merged.iter().map(|(rung, _)| rung.basis.as_str()).collect();
    bases.dedup();
    let common = match bases[..] {
        [only] => format!(" ({only})"),
        _ => String::new(),
    };
    let drift = brief.plan.set_depth.drift;
    page.lead(&format!(
        "To run{common}, by speed {}",
        through_water(drift.as_ref(), reader)
    ));
    let all = brief.plan.ladder.len();
    for (i, (rung, species)) in merged.iter().enumerate() {
        let whom = if species.len() == all {
            String::new()
        } else {
            format!("{}: ", species.join(", "))
        };
        let mut text = format!(
            "{whom}{}, {}",
            rung.what,
            held(&reader.speeds(rung.speed_min_m_s, rung.speed_max_m_s))
        );
        if let Some(lead_m) = rung.lead_m {
            text.push_str(&format!(", lead {}", held(&reader.lead(lead_m))));
        }
        if let Some(note) = &rung.note {
            text.push_str(&format!(", {note}"));
        }
        text.push_str(&format!(". On when {}", rung.move_on.trim_end_matches('.')));
        if common.is_empty() {
            text.push_str(&format!(" [{}]", rung.basis));
        }
        page.numbered(i + 1, &text);
    }
}

/// What the speeds are of, and what the wind makes of them on a GPS.
fn through_water(drift: Option<&SurfaceDrift>, reader: &Reader) -> String {
    let Some(drift) = drift else {
        return "through the water, not over ground; the wind's drift is not known".to_owned();
    };
    let gap = reader.speeds(drift.speed_min_m_s, drift.speed_max_m_s);
    let toward = drift
        .wind_direction_deg
        .map_or_else(String::new, |from| format!(" toward {}", compass(from + 180.0)));
    // Of the top alone: at the depth of a ball the water drifts less, or back.
    format!(
        "through the water; the top of it drifts {}{toward}: GPS reads more with it, less against it",
        held(&gap)
    )
}

/// Cable out for the depths to set, and how much shallower the ball may run.
pub(super) fn cable(page: &mut Page, brief: &Brief, reader: &Reader) {
    let table = &brief.plan.set_depth;
    if table.rows.is_empty() {
        return;
    }
    let same_depth = |a: &SetDepth, b: &SetDepth| a.depth_m == b.depth_m;
    // Depths stand in order; those whose cable is the depth itself at every speed are one.
    let is_as_deep = |rows: &&[SetDepth]| rows.iter().all(|row| as_deep(row, reader));
    let by_depth: Vec<&[SetDepth]> = table.rows.chunk_by(same_depth).collect();
    let shallow = by_depth.iter().take_while(|rows| is_as_deep(rows)).count();
    let mut depths: Vec<String> = match shallow {
        0 | 1 => by_depth[..shallow]
            .iter()
            .map(|rows| one_depth(rows, reader))
            .collect(),
        _ => {
            let rows = by_depth[..shallow].concat();
            let most = reader.set_depth(by_depth[shallow - 1][0].depth_m);
            let table = held(&format!("{most} or less: the depth itself"));
            vec![format!("{table}{}", shallower(&rows, reader))]
        }
    };
    depths.extend(by_depth[shallow..].iter().map(|rows| one_depth(rows, reader)));
    let columns = table.rows.chunk_by(same_depth).next().unwrap_or_default();
    let speeds: Vec<String> = columns.iter().map(|row| reader.trolling(row.speed_m_s)).collect();
    let assumed = if table.assumed {
        ", taken for want of yours"
    } else {
        ""
    };
    // The deepest, which stands last, is lifted most: the words after it are for all.
    let lifted = if depths.last().is_some_and(|last| last.ends_with(SHALLOWER)) {
        " if fast, humming, with a lure"
    } else {
        ""
    };
    // Slower than the middle of a rung the ball hangs deeper than it is set for.
    let sunk = table
        .rows
        .iter()
        .filter_map(|r| Some(r.slow_depth_m? - r.depth_m));
    let sunk = sunk
        .max_by(f64::total_cmp)
        .and_then(|by_m| reader.shallower(by_m))
        .map_or_else(String::new, |by| format!(", up to {} deeper if slow", held(&by)));
    let text = format!(
        "out at {} {} for {}{lifted}{sunk} ({} of lead, {} {}{assumed})",
        speeds.join(" "),
        reader.speed_unit(),
        depths.join("; "),
        reader.mass(table.ball_kg),
        held(&reader.wire(table.cable_diameter_m)),
        words::cable(table.cable_kind)
    );
    page.row("Cable", LABEL, &format!("{text}."));
}

/// Whether the counter shows the depth itself at this speed.
fn as_deep(row: &SetDepth, reader: &Reader) -> bool {
    let shown = |depth_m: f64| reader.set_depth_number(depth_m);
    row.cable_out_m
        .is_some_and(|out_m| shown(out_m) == shown(row.depth_m))
}

/// One depth: cable out by speed, and how much shallower the ball may run at the most.
fn one_depth(rows: &[SetDepth], reader: &Reader) -> String {
    let out = |row: &SetDepth| {
        row.cable_out_m
            .map_or_else(|| "too little cable".to_owned(), |m| reader.set_depth_number(m))
    };
    let outs: Vec<String> = rows.iter().map(out).collect();
    let table = held(&format!(
        "{}: {}",
        reader.set_depth(rows[0].depth_m),
        outs.join(" ")
    ));
    format!("{table}{}", shallower(rows, reader))
}

/// How much shallower the ball may run at the most; empty where a counter does not show it.
fn shallower(rows: &[SetDepth], reader: &Reader) -> String {
    let lifted = rows.iter().filter_map(|r| Some(r.depth_m - r.least_depth_m?));
    lifted
        .max_by(f64::total_cmp)
        .and_then(|by_m| reader.shallower(by_m))
        .map_or_else(String::new, |by| {
            format!(", {}{SHALLOWER}", held(&format!("up to {by}")))
        })
}
