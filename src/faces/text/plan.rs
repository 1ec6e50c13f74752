//! The plan: what to do from the first hour on, in an order, and what when it fails. It fits one screen.

use chrono::Duration;

use crate::conditions::AFTER_TRIP_H;
use crate::faces::counters::minutes;
use crate::faces::reader::{Reader, percent, rounded};
use crate::faces::words;
use crate::lake::{SpeciesId, ZoneId};
use crate::plan::{
    CautionLevel, Hazard, NoWay, OrderPlace, Plan, RampPlan, Run, RunPace, SecondChoice, SpeciesDepth,
    SpeciesOrder, ZoneDepth,
};
use crate::reports::Brief;

use super::block::{Block, Page, held};
use super::plan_hours::hours;
use super::plan_tackle::{cable, ladder};

/// Columns of a label.
pub(super) const LABEL: usize = 7;
/// A rise of the water over a ramp until the return that is worth a word, m (project choice: half a foot); a fall always is, and `--why` has
/// every change.
const RETURN_TOLD_M: f64 = 0.15;

/// Writes the plan.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    let plan = &brief.plan;
    let remark = format!(
        "{}: ramps by level only; gate, closure, surface are not known",
        reader.day_of(plan.hours.from)
    );
    page.heading("THE PLAN", &remark);
    if !plan.stop.is_empty() {
        let held: Vec<String> = plan.stop.iter().map(|h| stop(brief, *h, reader)).collect();
        let text = format!(
            "STAY ASHORE while these hold: {}. The rest is without them.",
            held.join(", ")
        );
        page.text(&text, 2);
    }
    page.row("Ramps", LABEL, &ramps(plan, reader));
    for (order, depth) in plan.order.iter().zip(&plan.depth) {
        species(page, brief, (order, depth), reader);
    }
    ladder(page, brief, reader);
    cable(page, brief, reader);
    hours(page, brief, reader);
}

/// A hazard that says to stay ashore, with the hours in which it does, as far as they are known. An hour at either end of what the brief looks at
/// is where it stops looking, and no end of the hazard.
fn stop(brief: &Brief, hazard: Hazard, reader: &Reader) -> String {
    let name = words::hazard(hazard).to_lowercase();
    let mut cautions = brief.cautions.iter();
    let severe = cautions.find(|c| c.hazard == hazard && c.level == CautionLevel::Severe);
    let Some((from, to)) = severe.and_then(|c| c.from.zip(c.to)) else {
        return held(&format!("{name} at any hour"));
    };
    let trip = &brief.plan.hours;
    let begins = from > trip.from;
    let ends = to < trip.to + Duration::hours(AFTER_TRIP_H);
    held(&match (begins, ends) {
        (true, true) => format!("{name} {} to {}", reader.hour(from), reader.hour(to)),
        (true, false) => format!("{name} from {} on", reader.hour(from)),
        (false, true) => format!("{name} to {}", reader.hour(to)),
        (false, false) => format!("{name} at any hour"),
    })
}

/// Ramps in use, and the names of the others.
fn ramps(plan: &Plan, reader: &Reader) -> String {
    if plan.ramps.is_empty() {
        return "none in the lake file, or no boat".to_owned();
    }
    let in_use = |r: &&RampPlan| r.usable == Some(true) && r.lanes != Some(0);
    let used: Vec<&RampPlan> = plan.ramps.iter().filter(in_use).collect();
    let lasts: Vec<String> = used.iter().map(|ramp| lasts(ramp, reader)).collect();
    // What holds for all of them alike is said once.
    let to_horizon = |ramp: &&RampPlan| ramp.lasts.is_some_and(|lasts| lasts.to_horizon);
    let alike = lasts.len() > 1 && used.iter().all(to_horizon) && lasts.iter().all(|l| l == &lasts[0]);
    let ramp = |(i, ramp): (usize, &&RampPlan)| match alike {
        true => one_ramp(ramp, (i == 0, reader)),
        false => {
            let parts = [one_ramp(ramp, (i == 0, reader)), lasts[i].clone()];
            held_parts(&parts)
        }
    };
    let mut said: Vec<String> = used.iter().enumerate().map(ramp).collect();
    if alike {
        said.push(format!("each {}", lasts[0]));
    }
    let names = |which: &dyn Fn(&RampPlan) -> bool| -> Vec<&str> {
        let those = plan.ramps.iter().filter(|r| which(r));
        those.map(|r| r.name.as_str()).collect()
    };
    let out = names(&|r| r.usable == Some(false) || (r.usable == Some(true) && r.lanes == Some(0)));
    let unknown = names(&|r| r.usable.is_none());
    if !out.is_empty() {
        said.push(format!("out of use: {}", out.join(", ")));
    }
    if !unknown.is_empty() {
        said.push(format!("not known: {}", unknown.join(", ")));
    }
    if !plan.closed_saddles.is_empty() {
        said.push(format!("closed way: {}", plan.closed_saddles.join(", ")));
    }
    format!("{}.", said.join("; "))
}

/// Parts that there are, after each other.
fn held_parts(parts: &[String]) -> String {
    let there: Vec<&str> = parts
        .iter()
        .map(String::as_str)
        .filter(|p| !p.is_empty())
        .collect();
    there.join(", ")
}

/// A ramp with its water, of what the `first` says; with that on return where it is worth a word.
fn one_ramp(ramp: &RampPlan, (first, reader): (bool, &Reader)) -> String {
    let Some(water_m) = ramp.water_over_toe_m else {
        return ramp.name.clone();
    };
    let over = if first { " over the toe" } else { "" };
    let back = match ramp.water_on_return_m {
        Some(m)
            if m - water_m >= RETURN_TOLD_M
                || (m < water_m && reader.length(m) != reader.length(water_m)) =>
        {
            format!(" ({} on return)", reader.length(m))
        }
        _ => String::new(),
    };
    format!("{} {}{over}{back}", ramp.name, reader.length(water_m))
}

/// How long a ramp lasts; empty where that is not known.
fn lasts(ramp: &RampPlan, reader: &Reader) -> String {
    match ramp.lasts {
        Some(lasts) if lasts.to_horizon => format!("to {} or longer", reader.day(lasts.date)),
        Some(lasts) => format!("last day with 4 in 5 chance {}", reader.day(lasts.date)),
        None => String::new(),
    }
}

pub(super) fn name_of(brief: &Brief, species: &SpeciesId) -> String {
    let call = brief.whereabouts.get(species);
    call.map_or_else(|| species.to_string(), |c| c.name.clone())
}

fn species(page: &mut Page, brief: &Brief, (order, depth): (&SpeciesOrder, &SpeciesDepth), reader: &Reader) {
    let name = words::capitalised(&name_of(brief, &order.species));
    if let Some(why) = &order.not_known {
        page.lead(&format!(
            "{name}: no start is advised; where it is is not known: {why}"
        ));
        return;
    }
    let Some(first) = order.places.first() else {
        page.lead(&format!("{name}: no water that can be fished today"));
        return;
    };
    page.lead(&name);
    page.row("First", LABEL, &place(brief, (order, first), reader));
    let zone = depth.zones.iter().find(|z| z.zone == first.zone);
    page.row("Depth", LABEL, &depth_of(depth, zone, reader));
    if let Some(second) = &order.second {
        page.row("Then", LABEL, &then(brief, second, depth, reader));
    }
    if let Some(scouting) = &order.scouting {
        let zone = words::zone(brief, &scouting.zone);
        let text = if scouting.advised {
            format!(
                "{} in {zone}: the log asks for it, and it is near",
                minutes(scouting.hours_h)
            )
        } else {
            format!(
                "the log asks for an hour in {zone}; today it costs too much running, or too much of the trip"
            )
        };
        page.row("Scout", LABEL, &format!("{text}."));
    }
}

/// A zone, the ramp and the run to it, and the stretches to try.
fn place(brief: &Brief, (order, place): (&SpeciesOrder, &OrderPlace), reader: &Reader) -> String {
    let mut text = words::zone(brief, &place.zone);
    let before_it = || {
        let orders = brief.plan.order.iter();
        let before = orders.take_while(|other| other.species != order.species);
        before.filter_map(|other| other.places.first())
    };
    // The run that a species before it has is not told again.
    let above = before_it()
        .find(|other| (&other.zone, &other.ramp, &other.run_to) == (&place.zone, &place.ramp, &place.run_to));
    let ramp = brief
        .plan
        .ramps
        .iter()
        .find(|r| Some(&r.id) == place.ramp.as_ref());
    match ramp {
        Some(_) if above.is_some() => text.push_str(", as above"),
        Some(ramp) => {
            let run = ramp
                .runs
                .iter()
                .find(|r| r.zone == place.zone && r.stretch == place.run_to);
            text.push_str(&format!(" from {}", ramp.name));
            if let Some(run) = run {
                // What keeps every run back is told of the first.
                let told = before_it().any(|other| other.ramp.is_some());
                text.push_str(&said_of_run(run, brief.plan.pace.as_ref(), (told, reader)));
            }
        }
        None => text.push_str(&format!(", {}", no_run(brief, &place.zone))),
    }
    // The way goes to the stretch that is tried first; to another where no way to that one is known.
    if above.is_none() && place.ramp.is_some() && place.run_to.as_ref() != place.stretches.first() {
        let to = place.run_to.as_ref().map(|id| stretch(brief, id));
        let to = to.unwrap_or_else(|| "its nearest place".to_owned());
        text.push_str(&format!(" to {to}"));
    }
    let stretches: Vec<String> = place.stretches.iter().map(|id| stretch(brief, id)).collect();
    let same_stretches = above.is_some_and(|other| other.stretches == place.stretches);
    if !stretches.is_empty() && !same_stretches {
        text.push_str(&format!("; by {}", stretches.join(", then ")));
    }
    format!("{text}.")
}

/// Length and time of a run, what it passes, and, unless a run before it `told`, what keeps all runs of the trip back.
fn said_of_run(run: &Run, pace: Option<&RunPace>, (told, reader): (bool, &Reader)) -> String {
    let (Some(distance_m), Some(run_h), Some(pace)) = (run.distance_m, run.run_h, pace) else {
        return String::new();
    };
    let mut text = held(&format!(", {} in {}", reader.run(distance_m), minutes(run_h)));
    if pace.waits_for_dawn && !told {
        let why = if pace.slow_by_day {
            ""
        } else {
            " (driftwood not known)"
        };
        text.push_str(&format!(", not before {}{why}", reader.hour(pace.leave_at)));
    }
    if pace.slow_by_day {
        text.push_str(if told {
            ", slow too"
        } else {
            ", slow for driftwood"
        });
    } else if let Some(until) = pace.slow_until(run_h) {
        text.push_str(&format!(", slow in the dark to {}", reader.hour(until)));
    }
    if !run.past.is_empty() {
        text.push_str(&format!(", past {}", run.past.join(" and ")));
    }
    text
}

/// Why no run to a zone is known.
pub(super) fn no_run(brief: &Brief, zone: &ZoneId) -> String {
    let runs = brief.plan.ramps.iter().flat_map(|r| &r.runs);
    let reasons: Vec<&NoWay> = runs
        .filter(|r| &r.zone == zone && r.stretch.is_none())
        .filter_map(|r| r.why_not.as_ref())
        .collect();
    let why = match reasons
        .iter()
        .find(|why| !matches!(why, NoWay::RampOut))
        .or(reasons.first())
    {
        Some(NoWay::NoPosition) => "a position is missing in the lake file".to_owned(),
        Some(NoWay::NoThalweg { zone }) => {
            format!("the thalweg of {} has no positions", words::zone(brief, zone))
        }
        Some(NoWay::NoLevel) => "no level in time".to_owned(),
        Some(NoWay::NoBoat) => "the lake file has no boat".to_owned(),
        Some(NoWay::RampOut) => "no ramp floats the boat".to_owned(),
        Some(NoWay::TooShallow { zone, .. }) => {
            format!("the way is too shallow in {}", words::zone(brief, zone))
        }
        Some(NoWay::Saddle { name, .. }) => format!("{name} closes the way"),
        None => "no ramp is known to float the boat".to_owned(),
    };
    format!("run not known: {why}")
}

/// Name of a stretch.
fn stretch(brief: &Brief, id: &str) -> String {
    let zones = brief.plan.depth.iter().flat_map(|d| &d.zones);
    let pick = zones.flat_map(|z| &z.structures).find(|s| s.stretch == id);
    pick.map_or_else(|| id.to_owned(), |s| s.name.clone())
}

/// How deep by day and at first light.
fn depth_of(depth: &SpeciesDepth, zone: Option<&ZoneDepth>, reader: &Reader) -> String {
    let Some((zone, set_m)) = zone.and_then(|z| Some((z, z.set_m?))) else {
        return "not known.".to_owned();
    };
    let mut text = reader.set_depth(set_m);
    if let (Some(light), Some(shallower_m)) = (depth.first_light, zone.first_light_m)
        && reader.set_depth(shallower_m) != text
    {
        let until = reader.hour(light.to);
        text = format!("{} to {until}, then {text}", reader.set_depth(shallower_m));
    }
    if let (Some(top_m), Some(bottom_m)) = (zone.band_top_m, zone.band_bottom_m) {
        // Water outside the limits of temperature and oxygen suits nothing, be it the best there is.
        let water = if zone.outside_limits {
            "least bad"
        } else {
            "suitable"
        };
        text.push_str(&format!(" ({water} water {})", reader.band(top_m, bottom_m)));
    }
    if let Some(surface_m) = zone.surface_m {
        text.push_str(&format!(
            "; a line run flat too, in the upper {}",
            reader.set_depth(surface_m)
        ));
    }
    match &zone.within_limits {
        Some(ranges) if ranges.is_empty() => {
            text.push_str("; no depth within its limits");
        }
        Some(ranges) if zone.outside_limits => {
            let held: Vec<String> = ranges.iter().map(|r| reader.band(r.top_m, r.bottom_m)).collect();
            text.push_str(&format!(
                "; its limits of temperature and oxygen: {}",
                held.join(" and ")
            ));
        }
        _ => {}
    }
    if depth.steep {
        text.push_str("; feeding, along steep walls (common practice)");
    }
    format!("{text}.")
}

/// The second choice, and when.
fn then(brief: &Brief, second: &SecondChoice, depth: &SpeciesDepth, reader: &Reader) -> String {
    match second {
        SecondChoice::Zone { zone, at, run_h } => {
            let run = run_h.map_or_else(String::new, |h| format!(" ({})", minutes(h)));
            let own = depth.zones.iter().find(|z| &z.zone == zone);
            let deep = own
                .and_then(|z| z.set_m)
                .map_or_else(String::new, |m| format!(", {}", reader.set_depth(m)));
            // Which depths they are, --why tells.
            let limits = if own.is_some_and(|z| z.outside_limits) {
                ", outside limits"
            } else {
                ""
            };
            format!(
                "if quiet, at {} to {}{run}{deep}{limits}.",
                reader.hour(*at),
                words::zone(brief, zone)
            )
        }
        SecondChoice::SameZone {
            stretch: next,
            at,
            set_m,
        } => {
            let along = next
                .as_ref()
                .map_or_else(|| "steep walls".to_owned(), |id| stretch(brief, id));
            let orders = &brief.plan.order;
            let first = orders.iter().find(|o| o.species == depth.species);
            let first = first.and_then(|o| o.places.first());
            let again = next.is_some() && first.and_then(|p| p.stretches.first()) == next.as_ref();
            let again = if again { " again" } else { "" };
            let deep = set_m.map_or_else(String::new, |m| format!(", {} deep", reader.set_depth(m)));
            format!("if quiet, at {}{again} along {along}{deep}.", reader.hour(*at))
        }
    }
}

/// Writes what the order rests on: every number of it.
pub fn why(page: &mut Page, brief: &Brief) {
    if brief.plan.order.iter().all(|o| o.places.is_empty()) {
        return;
    }
    page.heading(
        "WHY THIS ORDER",
        "share of the fish, times how easily they are caught, times the hours that the run leaves",
    );
    for order in brief.plan.order.iter().filter(|o| !o.places.is_empty()) {
        page.lead(&words::capitalised(&name_of(brief, &order.species)));
        for place in &order.places {
            let run = match place.run_h {
                Some(run_h) => {
                    let back = place
                        .back_h
                        .map_or_else(String::new, |h| format!(", {} back", minutes(h)));
                    format!("run {} out{back}", minutes(run_h))
                }
                None => no_run(brief, &place.zone),
            };
            let text = format!(
                "{}: {} of the fish x {} = {} of the best an hour; {run}, {} to fish: {} of the first place over the trip",
                words::capitalised(&words::zone(brief, &place.zone)),
                percent(place.share),
                place
                    .catchability
                    .map_or_else(|| "1 (not known)".to_owned(), |c| rounded(c, 2)),
                percent(place.encounter_frac),
                minutes(place.fishing_h),
                percent(place.worth_frac)
            );
            page.hanging(&text, 4, 6);
        }
    }
    let more = "One pass of the ladder, half an hour a rung and no more than half of the hours, goes before the second place; it is \
                another zone where that has 30 % of the fish, or is worth 30 % of the first place and no other stretch reaches the \
                depth. Runs follow the thalwegs of the lake file, slow in the dark and among driftwood, at \
                today's level; off them the depth is not known. Places without water within the species' limits count half.";
    page.faint(more, 2, 2);
}

/// Blocks of the plan alone, after the cautions, for who wants one screen.
pub fn alone(brief: &Brief, reader: &Reader) -> Vec<Block> {
    let mut page = Page::default();
    write(&mut page, brief, reader);
    page.blocks
}
