//! Every number of the plan opened: what it is made of, how old that is, and the row of its formula.

use crate::conditions::InputAge;
use crate::faces::counters::minutes;
use crate::faces::figures::{figures, flow_base_of};
use crate::faces::reader::{Reader, age, percent, rounded, signed};
use crate::faces::words;
use crate::lake::{SeriesPlace, practice};
use crate::plan::{
    Caution, CautionLevel, Hazard, RampPlan, RampState, RunPace, SetDepth, SpeciesDepth, SpeciesOrder,
};
use crate::quantity::Quantity;
use crate::reports::Brief;

use super::block::{Page, held};
use super::plan::name_of;

/// Columns of a label.
const LABEL: usize = 9;
/// Age beyond which an input belongs to a record that has ended.
const ENDED_H: f64 = 24.0 * 90.0;

/// What the columns of water, and by them shares and bands, are driven by.
const WATER: [Quantity; 8] = [
    Quantity::PoolElevation,
    Quantity::Release,
    Quantity::Inflow,
    Quantity::RiverTemp,
    Quantity::WaterTemp,
    Quantity::DissolvedOxygen,
    Quantity::Turbidity,
    Quantity::AirTemp,
];

/// Writes all of them.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    page.heading(
        "EVERY NUMBER",
        "what it is made of, how old that is, and in brackets the row of its formula in docs/methods.md",
    );
    for (order, depth) in brief.plan.order.iter().zip(&brief.plan.depth) {
        share(page, brief, order);
        band(page, brief, depth, reader);
    }
    let members = brief.water.members;
    let water = format!(
        "{members} members of the water by zone and depth; driven or corrected by {}",
        inputs(brief, &WATER, false)
    );
    page.row("Water", LABEL, &format!("{water}."));
    for ramp in &brief.plan.ramps {
        page.row(
            "Ramp",
            LABEL,
            &format!("{}.", water_over_toe(brief, ramp, reader)),
        );
    }
    runs(page, brief, reader);
    cable(page, brief, reader);
    hours(page, brief, reader);
    let held_today = |c: &&Caution| c.level != CautionLevel::Reminder;
    for caution in brief.cautions.iter().filter(held_today) {
        page.row(
            "Caution",
            LABEL,
            &format!("{}.", of_caution(brief, caution, reader)),
        );
    }
}

/// Newest value of each series of these quantities: its age, service and station.
fn inputs(brief: &Brief, quantities: &[Quantity], forecast: bool) -> String {
    let mut newest: Vec<&InputAge> = Vec::new();
    let wanted = |i: &&InputAge| {
        let in_use = i.age_h.is_none_or(|h| h <= ENDED_H) || i.late;
        quantities.contains(&i.quantity) && (i.cadence == "forecast") == forecast && in_use
    };
    for input in brief.inputs.iter().filter(wanted) {
        match newest.iter_mut().find(|other| other.series == input.series) {
            Some(other) if input.age_h.is_some() && other.age_h.is_none_or(|h| input.age_h < Some(h)) => {
                *other = input
            }
            Some(_) => {}
            None => newest.push(input),
        }
    }
    if newest.is_empty() {
        return "no series of the lake file".to_owned();
    }
    let said: Vec<String> = newest.into_iter().map(|input| one_input(brief, input)).collect();
    said.join("; ")
}

fn one_input(brief: &Brief, input: &InputAge) -> String {
    let place = match &input.place {
        SeriesPlace::Lake => String::new(),
        SeriesPlace::Zone(zone) => format!(" of {}", words::zone(brief, zone)),
        SeriesPlace::Inflow(inflow) => format!(" of {}", words::inflow(brief, inflow.as_str())),
    };
    let old = match input.age_h {
        Some(age_h) => held(&format!("{} old", age(age_h))),
        None => "none".to_owned(),
    };
    let late = if input.late { ", LATE" } else { "" };
    let station = if input.station.is_empty() {
        String::new()
    } else {
        format!(" {}", input.station)
    };
    format!(
        "{}{place} {old}{late} ({}{station})",
        words::quantity(input.quantity),
        words::service(&input.service)
    )
}

/// Share, interval and place in the order of the first place.
fn share(page: &mut Page, brief: &Brief, order: &SpeciesOrder) {
    let Some(call) = brief.whereabouts.get(&order.species) else {
        return;
    };
    let name = words::capitalised(&call.name);
    for place in &order.places {
        let Some(share) = call.zones.get(&place.zone) else {
            continue;
        };
        let catch = place.catchability.map_or_else(
            || "catchability not known, taken as 1".to_owned(),
            |c| format!("catchability {}", rounded(c, 2)),
        );
        let half = if place.within_limits {
            ""
        } else {
            ", counted half without a layer within its limits"
        };
        let text = format!(
            "{name}, {}: {} from log-odds of {} (the sum under WHY) over all zones [shares]; {} to {} hold 8 of 10 joint draws of \
             coefficients and members; {catch} [catchability]; {} to fish after the runs{half}, so {} of the first place [order of \
             places]",
            words::zone(brief, &place.zone),
            percent(share.share),
            signed(share.eta, 2),
            percent(share.low),
            percent(share.high),
            minutes(place.fishing_h),
            percent(place.worth_frac)
        );
        page.row("Share", LABEL, &format!("{text}."));
    }
}

/// Band and depth to set, by zone.
fn band(page: &mut Page, brief: &Brief, depth: &SpeciesDepth, reader: &Reader) {
    let name = words::capitalised(&name_of(brief, &depth.species));
    for zone in &depth.zones {
        let (Some(top_m), Some(bottom_m), Some(set_m)) = (zone.band_top_m, zone.band_bottom_m, zone.set_m)
        else {
            continue;
        };
        let water = brief.water.zones.iter().find(|z| z.zone == zone.zone);
        let basis = water.map_or_else(|| "not known".to_owned(), |w| words::basis(reader, &w.basis));
        let light = zone.first_light_m.map_or_else(String::new, |m| {
            format!(
                "; {} at first light, {} shallower or less where the water above does not suit it ({})",
                reader.set_depth(m),
                reader.set_depth(practice().shallower_m()),
                practice().shallower_basis()
            )
        });
        let suits = match zone.outside_limits {
            true => "the least bad water, all outside its limits,",
            false => "the water that suits it",
        };
        let text = format!(
            "{name}, {}: {} is {suits} by temperature and oxygen, set {} the best of it{light}; water {basis} \
             [depth to set]",
            words::zone(brief, &zone.zone),
            reader.band(top_m, bottom_m),
            reader.set_depth(set_m)
        );
        page.row("Depth", LABEL, &format!("{text}."));
    }
}

fn water_over_toe(brief: &Brief, ramp: &RampPlan, reader: &Reader) -> String {
    let level = inputs(brief, &[Quantity::PoolElevation], false);
    let Some((water_m, pool)) = ramp.water_over_toe_m.zip(brief.pool.as_ref()) else {
        return format!("{}: not known; {level} [ramps]", ramp.name);
    };
    let back = ramp.water_on_return_m.map_or_else(String::new, |m| {
        let trend = match &pool.change_7d {
            Some(c) => format!("by the trend of 7 days ({})", reader.change(c.change_m)),
            None => "if it falls as fast as it may unseen, its trend is not known".to_owned(),
        };
        let is_late = |r: &RampState| r.id == ramp.id && r.water_at_least_m.is_some();
        let late = if brief.ramps.iter().any(is_late) {
            ", counted from the least that the pool may have fallen to since the late level"
        } else {
            ""
        };
        format!("; {} on return {trend}{late}", reader.length(m))
    });
    let lasts = ramp.lasts.map_or_else(String::new, |lasts| {
        format!(
            "; enough on {} with {} chance [how long a ramp lasts]",
            reader.day(lasts.date),
            percent(lasts.usable_prob)
        )
    });
    format!(
        "{}: {} is the level, {}, less the toe of the lake file{back} [ramps]{lasts}; {level}",
        ramp.name,
        reader.length(water_m),
        reader.elevation(pool.elevation_m)
    )
}

/// When the boat leaves, and how fast it goes.
fn pace(pace: &RunPace, reader: &Reader) -> String {
    let waits = if pace.waits_for_dawn {
        ", at civil dawn, since wood may float"
    } else {
        ""
    };
    let whose = if pace.slow_speed_assumed {
        "common practice, no source"
    } else {
        "the lake file"
    };
    let (slow, fast) = (
        reader.speed(pace.slow_speed_m_s),
        reader.speed(pace.run_speed_m_s),
    );
    let speeds = match (pace.slow_by_day, pace.light_from, pace.light_to) {
        (true, ..) => format!("{slow} ({whose}) all day, since wood floats"),
        (false, Some(from), Some(to)) => format!(
            "{slow} ({whose}) before {} and after {}, else {fast}",
            reader.hour(from),
            reader.hour(to)
        ),
        _ => format!("{slow} ({whose}): when it gets light is not known"),
    };
    format!(
        "leaves at {}{waits}; {speeds} [pace of runs]",
        reader.hour(pace.leave_at)
    )
}

/// The runs that the order counts with.
fn runs(page: &mut Page, brief: &Brief, reader: &Reader) {
    if let Some(found) = &brief.plan.pace {
        page.row("Pace", LABEL, &format!("{}.", pace(found, reader)));
    }
    for ramp in &brief.plan.ramps {
        let whole = ramp.runs.iter().filter(|r| r.stretch.is_none());
        let said: Vec<String> = whole
            .filter_map(|run| {
                Some(format!(
                    "{} {} in {}",
                    words::zone(brief, &run.zone),
                    held(&reader.run(run.distance_m?)),
                    held(&minutes(run.run_h?))
                ))
            })
            .collect();
        if !said.is_empty() {
            let text = format!(
                "from {} to the nearest place of each: {}; along the thalwegs of the lake file at today's level, at the pace above [run to zones and stretches]",
                ramp.name,
                said.join("; ")
            );
            page.row("Run", LABEL, &format!("{text}."));
        }
    }
}

/// What the ball does at the ends of each rung.
fn cable(page: &mut Page, brief: &Brief, reader: &Reader) {
    let table = &brief.plan.set_depth;
    if table.rows.is_empty() {
        return;
    }
    let text = format!(
        "drag coefficient across {} {}, {} where it hums; lead ball as a smooth sphere; water at rest below; the line from the \
         release to the rod is left out [a weight towed on a light cable]",
        words::cable(table.cable_kind),
        rounded(table.drag_coefficient, 1),
        rounded(table.strumming_drag_coefficient, 1)
    );
    page.row("Cable", LABEL, &format!("{text}."));
    for row in &table.rows {
        if let Some(text) = one_cable(row, reader) {
            page.row("", LABEL, &format!("{text}."));
        }
    }
}

fn one_cable(row: &SetDepth, reader: &Reader) -> Option<String> {
    Some(format!(
        "{} at {}: {} out; on it {} at {}, {} at {}, about {} humming there with a lure that lies like a plate across the flow",
        reader.set_depth(row.depth_m),
        held(&reader.speeds(row.speed_m_s, row.speed_m_s)),
        reader.set_depth(row.cable_out_m?),
        reader.set_depth(row.slow_depth_m?),
        held(&reader.speeds(row.speed_min_m_s, row.speed_min_m_s)),
        reader.set_depth(row.fast_depth_m?),
        held(&reader.speeds(row.speed_max_m_s, row.speed_max_m_s)),
        reader.set_depth(row.least_depth_m?)
    ))
}

/// Light, wind and chop by hour, and the drift.
fn hours(page: &mut Page, brief: &Brief, reader: &Reader) {
    let lake = &brief.lake;
    let sun = format!(
        "sun at {} deg north, {} deg east [sun: dawn, rise, set, dusk; sun over the hills]",
        rounded(lake.latitude_deg, 2),
        rounded(lake.longitude_deg, 2)
    );
    page.row("Hours", LABEL, &format!("{sun}."));
    let wind = [Quantity::WindSpeed, Quantity::WindGust, Quantity::WindDirection];
    let members = brief.wind.as_ref().map_or_else(
        || "not known".to_owned(),
        |w| format!("what 9 of 10 of {} members stay below [hours]", w.members),
    );
    let text = format!("wind {members}; {}", inputs(brief, &wind, true));
    page.row("", LABEL, &format!("{text}."));
    let chop = "chop the higher of two published forms, with the gust over the fetch of each water at today's level [waves of a \
                caution; fetch from outlines]";
    page.row("", LABEL, &format!("{chop}."));
    if let Some(drift) = &brief.plan.set_depth.drift {
        let text = format!(
            "drift of the surface 2 to 3 % of the strongest mean wind of the trip, {} [drift of the surface]",
            reader.speed(drift.wind_speed_m_s)
        );
        page.row("", LABEL, &format!("{text}."));
    }
}

/// The figures and inputs of one caution; its threshold and source stand under THRESHOLDS.
fn of_caution(brief: &Brief, caution: &Caution, reader: &Reader) -> String {
    let wind: &[Quantity] = &[Quantity::WindSpeed, Quantity::WindGust, Quantity::WindDirection];
    let (quantities, forecast): (&[Quantity], bool) = match caution.hazard {
        Hazard::Wind | Hazard::Waves => (wind, true),
        Hazard::ColdWater | Hazard::Ice => (&[Quantity::WaterTemp, Quantity::RiverTemp], false),
        Hazard::Thunder => (&[Quantity::ThunderProbability], true),
        Hazard::Debris => (&[Quantity::Inflow, Quantity::PoolElevation], false),
        Hazard::LowWater | Hazard::ChangingLevel | Hazard::Ramp => (&[Quantity::PoolElevation], false),
        Hazard::Fog => (
            &[Quantity::Visibility, Quantity::AirTemp, Quantity::DewPoint],
            true,
        ),
        Hazard::ColdAir => (&[Quantity::AirTemp, Quantity::WindSpeed], true),
        Hazard::Heat => (&[Quantity::AirTemp, Quantity::DewPoint], true),
        Hazard::Darkness
        | Hazard::LifeJacket
        | Hazard::Algae
        | Hazard::FishAdvisory
        | Hazard::Regulations => (&[], false),
    };
    let figures = figures(reader, |v| flow_base_of(&brief.inflows, v), &caution.figures);
    let figures = if figures.is_empty() {
        String::new()
    } else {
        format!(", {}", figures.join(", "))
    };
    let from = if quantities.is_empty() {
        "from the lake file and the hours".to_owned()
    } else {
        inputs(brief, quantities, forecast)
    };
    format!(
        "{} ({}){figures}: {from} [cautions]",
        words::hazard(caution.hazard),
        words::level(caution.level).to_lowercase()
    )
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_row_in_brackets_is_one_of_the_methods() {
        let methods = include_str!("../../../docs/methods.md");
        let code = include_str!("numbers.rs").split("#[cfg(test)]").next().unwrap();
        // A text may be broken over lines of code.
        let code: String = code
            .replace("\\\n", " ")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        let mut told = 0;
        for part in code.split(" [").skip(1) {
            let Some((rows, _)) = part.split_once(']') else {
                continue;
            };
            if !rows.starts_with(|c: char| c.is_ascii_lowercase()) {
                continue;
            }
            for row in rows.split("; ") {
                assert!(
                    methods.contains(&format!("| {row} |")),
                    "{row:?} is no row of docs/methods.md"
                );
                told += 1;
            }
        }
        assert!(told >= 12, "{told}");
    }
}
