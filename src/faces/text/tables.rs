//! What changed, ramps, input ages, gaps.

use crate::conditions::InputAge;
use crate::faces::reader::{Reader, age};
use crate::faces::{changes, gaps, words};
use crate::plan::RampState;
use crate::reports::Brief;
use crate::series::Flag;

use super::ahead::ramp_ahead;
use super::block::Page;

/// Writes what differs from the brief before.
pub fn changes(page: &mut Page, brief: &Brief, reader: &Reader) {
    let Some(found) = &brief.changes else {
        page.heading("WHAT CHANGED", "no earlier brief in this store to compare with");
        return;
    };
    page.heading(
        "WHAT CHANGED",
        &format!("since the brief of {}", reader.stamp(found.since)),
    );
    for line in changes::lines(brief, found, reader, changes::RuleCodes::Shown) {
        page.hanging(&line, 2, 4);
    }
}

/// Columns of a ramp's name.
const RAMP_WIDTH: usize = 17;

/// Writes the ramps.
pub fn ramps(page: &mut Page, brief: &Brief, reader: &Reader) {
    if brief.ramps.is_empty() {
        return;
    }
    page.heading("RAMPS", "by level only; gate, closure and surface are not known");
    for ramp in &brief.ramps {
        let state = ramp_state(brief, ramp, reader);
        let lanes = match (ramp.usable, ramp.lanes) {
            (Some(true), Some(0)) => ", but no lane is open".to_owned(),
            (Some(true), Some(1)) => ", 1 lane".to_owned(),
            (Some(true), Some(lanes)) => format!(", {lanes} lanes"),
            _ => String::new(),
        };
        let left = ramp_ahead(ramp, reader);
        page.row(&ramp.name, RAMP_WIDTH, &format!("{state}{lanes}{left}"));
    }
}

/// Whether a ramp floats the boat, and by which level.
fn ramp_state(brief: &Brief, ramp: &RampState, reader: &Reader) -> String {
    let (Some(water_m), needed) = (ramp.water_over_toe_m, reader.length(ramp.needed_m)) else {
        let why = if brief.pool.is_some() {
            "the level is too old"
        } else {
            "no level"
        };
        return format!("not known: {why}");
    };
    let water = reader.length(water_m);
    let mut state = match ramp.usable {
        Some(true) => format!("floats the boat: {water} over the toe"),
        Some(false) if water_m >= ramp.needed_m => {
            let back = ramp
                .water_on_return_m
                .map_or_else(String::new, |m| reader.length(m));
            format!("not on return: {water} over the toe now, {back} then, {needed} needed")
        }
        Some(false) if water_m >= 0.0 => {
            format!("too little water: {water} over the toe, {needed} needed")
        }
        Some(false) => format!("out of the water: toe {} dry", reader.length(-water_m)),
        None => format!("not known: {water} over the toe, {needed} needed"),
    };
    if let Some(least_m) = ramp.water_at_least_m {
        state.push_str(" by a late level");
        if ramp.usable != Some(false) {
            let least = reader.length(least_m);
            state.push_str(&format!(
                ", {least} if the pool has fallen since as far as it may"
            ));
        }
    }
    state
}

/// Columns of a cadence.
const CADENCE_WIDTH: usize = 11;

/// Age beyond which an input that is not late belongs to a record that has ended.
const ENDED_H: f64 = 24.0 * 90.0;

/// Writes the age of every input.
pub fn inputs(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.heading(
        "INPUTS",
        "age of the newest value; what the quality checks found in 60 days",
    );
    let ended = |input: &&InputAge| !input.late && input.age_h.is_some_and(|h| h > ENDED_H);
    // Series of the same cadence, age and remarks share a line.
    let mut lines: Vec<(&str, String, Vec<&str>)> = Vec::new();
    for input in brief.inputs.iter().filter(|i| !ended(i)) {
        let mut head = newest(input, reader);
        let remarks = remarks(input);
        if !remarks.is_empty() {
            head.push_str(&format!(", {}", remarks.join(", ")));
        }
        let same = |(cadence, other, _): &&mut (&str, String, Vec<&str>)| {
            *cadence == input.cadence && *other == head
        };
        match lines.iter_mut().find(same) {
            Some((_, _, names)) => names.push(&input.series),
            None => lines.push((&input.cadence, head, vec![&input.series])),
        }
    }
    for (cadence, head, names) in lines {
        page.row(cadence, CADENCE_WIDTH, &format!("{head}: {}", names.join(", ")));
    }
    let past: Vec<&str> = brief
        .inputs
        .iter()
        .filter(ended)
        .map(|i| i.series.as_str())
        .collect();
    if !past.is_empty() {
        let text = format!(
            "records that end by design, another cadence goes on: {}",
            past.join(", ")
        );
        page.faint(&text, 2, 6);
    }
}

/// Writes the ages in short: the oldest newest value of each cadence, and what is late.
pub fn ages(page: &mut Page, brief: &Brief) {
    page.heading(
        "INPUTS",
        "age of the newest values; brief --why opens every number to its own",
    );
    let current = |i: &&InputAge| !i.late && i.age_h.is_some_and(|h| h <= ENDED_H);
    let mut said: Vec<String> = Vec::new();
    for (cadence, words) in [
        ("daily", "daily values"),
        ("continuous", "values within the day"),
        ("forecast", "forecasts"),
    ] {
        let ages = brief
            .inputs
            .iter()
            .filter(|i| i.cadence == cadence)
            .filter(current)
            .filter_map(|i| i.age_h);
        if let Some(oldest_h) = ages.max_by(f64::total_cmp) {
            said.push(format!("{words} at most {}", age(oldest_h)));
        }
    }
    let late: Vec<String> = brief
        .inputs
        .iter()
        .filter(|i| i.late)
        .map(|i| match i.age_h {
            Some(age_h) => format!("{} ({})", i.series, age(age_h)),
            None => format!("{} (none)", i.series),
        })
        .collect();
    if !late.is_empty() {
        said.push(format!("LATE: {}", late.join(", ")));
    }
    let text = if said.is_empty() {
        "the lake file names no series".to_owned()
    } else {
        said.join("; ")
    };
    page.hanging(&format!("{}.", words::capitalised(&text)), 2, 4);
}

/// Age and time of the newest value; of daily values the day.
fn newest(input: &InputAge, reader: &Reader) -> String {
    let (Some(newest), Some(age_h)) = (input.newest, input.age_h) else {
        return "none".to_owned();
    };
    let when = if input.cadence == "daily" {
        format!("of {}", words::day_of_mean(reader, newest))
    } else {
        reader.day_hour(newest)
    };
    format!("{} {when}", age(age_h))
}

fn remarks(input: &InputAge) -> Vec<String> {
    let mut remarks = Vec::new();
    if input.late {
        remarks.push("LATE".to_owned());
    }
    if let Some(Flag::Suspect | Flag::Fail) = input.worst_flag_24h {
        remarks.push("faults in 24 h".to_owned());
    }
    if input.refused_60d > 0 {
        remarks.push(format!("{} refused", input.refused_60d));
    }
    if input.suspect_60d > 0 {
        remarks.push(format!("{} suspect", input.suspect_60d));
    }
    if input.provisional_60d_frac.is_some_and(|f| f > 0.5) {
        remarks.push("provisional".to_owned());
    }
    remarks
}

/// Writes what is not known.
pub fn not_known(page: &mut Page, brief: &Brief, reader: &Reader) {
    if brief.gaps.is_empty() {
        return;
    }
    page.heading("NOT KNOWN", "and what follows from it");
    for line in gaps::lines(brief, reader) {
        page.item(&words::capitalised(&line));
    }
}
