//! Cautions: first on the page, never left out.

use chrono::Duration;

use crate::conditions::AFTER_TRIP_H;
use crate::faces::figures::{figures, flow_base_of};
use crate::faces::gaps::topic_in_words;
use crate::faces::reader::{Reader, Units};
use crate::faces::words;
use crate::plan::{Caution, CautionLevel, Hazard, LightsDue};
use crate::reports::Brief;
use crate::units::M_S_PER_KT;

use super::block::{Page, Tone, held};

/// Columns of a level.
const LEVEL_WIDTH: usize = 10;

/// Writes the cautions.
pub fn write(page: &mut Page, brief: &Brief, reader: &Reader) {
    let trip = &brief.plan.hours;
    let span = format!(
        "{}, {} to {}: the trip and two hours after it",
        reader.day_of(trip.from),
        reader.hour(trip.from),
        reader.hour(trip.to + Duration::hours(AFTER_TRIP_H))
    );
    page.heading("CAUTIONS", &span);
    for caution in &brief.cautions {
        one(page, brief, caution, reader);
    }
}

fn one(page: &mut Page, brief: &Brief, caution: &Caution, reader: &Reader) {
    let tone = match caution.level {
        CautionLevel::Severe | CautionLevel::Strong => Tone::Danger,
        CautionLevel::Caution => Tone::Caution,
        CautionLevel::NotKnown => Tone::Bold,
        CautionLevel::Reminder => Tone::Faint,
    };
    let label = words::level(caution.level);
    page.labelled(tone, label, LEVEL_WIDTH, &sentence(brief, caution, reader));
}

/// Writes the thresholds behind the cautions that hold today, with their sources, at the foot of the page.
pub fn thresholds(page: &mut Page, brief: &Brief, reader: &Reader) {
    let behind = |c: &&Caution| !matches!(c.level, CautionLevel::Reminder | CautionLevel::NotKnown);
    if !brief.cautions.iter().any(|c| behind(&c)) {
        return;
    }
    page.heading("THRESHOLDS", "behind the cautions above, and their sources");
    for caution in brief.cautions.iter().filter(behind) {
        let text = format!(
            "{}: {}. {}.",
            words::hazard(caution.hazard),
            caution.threshold.trim_end_matches('.'),
            words::capitalised(caution.source.trim_end_matches('.'))
        );
        page.item(&speeds(&temperatures(&text, reader), reader));
    }
}

/// The temperatures of a published threshold, `50 degF (10 degC)`, as the rest of the page writes them; for a
/// metric reader those in Celsius alone.
fn temperatures(text: &str, reader: &Reader) -> String {
    let mut text = text.to_owned();
    while reader.units == Units::Metric
        && let Some((before, rest)) = text.split_once(" degF (")
        && let Some((celsius, after)) = rest.split_once(" degC)")
    {
        let words = before.rsplit_once(' ').map_or("", |(words, _)| words);
        text = format!("{words} {celsius} degC{after}");
    }
    text.replace("degF", "°F").replace("degC", "°C")
}

/// The speeds of a published threshold, `25 kt`, with what they are on the rest of the page behind them.
fn speeds(text: &str, reader: &Reader) -> String {
    let mut said = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once(" kt") {
        said.push_str(before);
        said.push_str(" kt");
        let number = before
            .rsplit([' ', '-'])
            .next()
            .and_then(|word| word.parse::<f64>().ok());
        let whole_word = !after.starts_with(|c: char| c.is_alphanumeric());
        if let Some(speed_kt) = number.filter(|_| whole_word) {
            said.push_str(&format!(" ({})", reader.speed(speed_kt * M_S_PER_KT)));
        }
        rest = after;
    }
    said.push_str(rest);
    said
}

/// What the caution says: the hazard, what to do, and the figures behind it; of one that cannot be
/// judged, what is missing and where to look instead.
fn sentence(brief: &Brief, caution: &Caution, reader: &Reader) -> String {
    let hazard = words::hazard(caution.hazard);
    // Among the names stand places, and what is missing (`wind_gust`, `water_temp:Wicket Arm`).
    let missing = |name: &String| topic_in_words(brief, name);
    let unknown: Vec<String> = caution.names.iter().filter_map(missing).collect();
    let known = caution.names.iter().filter(|name| missing(name).is_none());
    let at: Vec<String> = match caution.hazard {
        Hazard::ChangingLevel => known.map(|name| with_its_arm(brief, name)).collect(),
        _ => known.cloned().collect(),
    };
    if caution.level == CautionLevel::NotKnown {
        let text = caution.threshold.trim_start_matches("not known: ");
        // The text says what is missing, but not where.
        return if caution.names.iter().any(|name| name.contains(':')) {
            format!("{hazard}: {text} ({}).", unknown.join("; "))
        } else {
            format!("{hazard}: {text}.")
        };
    }
    let advice = words::advice(caution.hazard, caution.level);
    let points_at_a_page = matches!(
        caution.hazard,
        Hazard::Algae | Hazard::FishAdvisory | Hazard::Regulations
    );
    if points_at_a_page && !caution.names.is_empty() {
        return format!("{hazard}: {advice}: {}", caution.names.join(", "));
    }
    if caution.hazard == Hazard::Ramp && !caution.names.is_empty() {
        return format!("{hazard}: {advice}: {}.", caution.names.join(", "));
    }
    let said = figures(reader, |v| flow_base_of(&brief.inflows, v), &caution.figures);
    let mut facts: Vec<String> = Vec::new();
    if !caution.products.is_empty() {
        facts.push(format!(
            "official: {}, quoted below with its hours",
            caution.products.join(", ")
        ));
    }
    facts.push(format!(
        "{}{}",
        said.join(", "),
        places(caution.hazard, &at, said.is_empty())
    ));
    if let Some(colder) = &caution.colder_off_route {
        let temp = held(&reader.temp(colder.water_temp_degc));
        facts.push(format!(
            "colder, but off every open route: {}, {temp}",
            colder.name
        ));
    }
    if caution.hazard == Hazard::Darkness {
        facts.extend(caution.lights_due.iter().map(|due| lights(due, reader)));
        facts.extend(on_the_way(caution));
    } else {
        facts.extend(shoals(caution, reader));
        // The hours of an official product are its own, and go on beyond the trip.
        let own = caution.products.is_empty();
        facts.extend(own.then(|| hours(caution, reader)).flatten());
        let no_hours = own && caution.from.is_none();
        if no_hours && matches!(caution.hazard, Hazard::Fog | Hazard::Thunder) {
            facts.push("at which hour is not known: count on any".to_owned());
        }
    }
    if !unknown.is_empty() {
        facts.push(format!("not known: {}", unknown.join("; ")));
    }
    facts.retain(|fact| !fact.is_empty());
    if facts.is_empty() {
        format!("{hazard}: {advice}.")
    } else {
        format!("{hazard}: {advice}. {}.", words::capitalised(&facts.join("; ")))
    }
}

/// A river with the zone that it enters, where its inflow is known: "Sorrel River into the Sorrel Arm"; any other name as it is.
fn with_its_arm(brief: &Brief, name: &str) -> String {
    let river = brief.water.rivers.iter().find(|river| river.name == name);
    let inflow = river.and_then(|river| brief.inflows.iter().find(|i| i.inflow == river.inflow));
    inflow.map_or_else(
        || name.to_owned(),
        |inflow| format!("{name} into {}", words::zone(brief, &inflow.zone)),
    )
}

/// The hours in which the threshold is passed, and the worst of them where there are several.
fn hours(caution: &Caution, reader: &Reader) -> Option<String> {
    let (from, to) = (caution.from?, caution.to?);
    if from == to {
        return Some(held(&format!("at {}", reader.hour(from))));
    }
    let span = held(&format!("{} to {}", reader.hour(from), reader.hour(to)));
    Some(match caution.peak_at {
        Some(hour) => format!("{span}, {}", held(&format!("highest at {}", reader.hour(hour)))),
        None => span,
    })
}

/// Where it is: "in Wicket Creek" after figures, "Wicket Creek" alone.
fn places(hazard: Hazard, names: &[String], alone: bool) -> String {
    if names.is_empty() {
        return String::new();
    }
    let names = names.join(", ");
    match (alone, hazard) {
        (_, Hazard::LowWater) => format!("; ramp ends near the surface: {names}"),
        (true, Hazard::ChangingLevel) => format!("below a dam upstream: {names}"),
        (true, _) => names,
        (false, Hazard::ColdWater) => format!(" in {names}, the coldest on any open route"),
        (false, Hazard::Wind | Hazard::Waves) => format!(", on {names}"),
        (false, _) => format!(" in {names}"),
    }
}

/// A part of the trip with lights: "lights 05:36 to 07:04, dark to 06:36", or "lights 18:25 to 20:00, dark from 18:53".
fn lights(due: &LightsDue, reader: &Reader) -> String {
    let span = held(&format!(
        "lights {} to {}",
        reader.hour(due.from),
        reader.hour(due.to)
    ));
    let dark = match (due.dark_from, due.dark_to) {
        (Some(from), Some(to)) if from == due.from && to == due.to => "all of it dark".to_owned(),
        (Some(from), Some(to)) if from == due.from => held(&format!("dark to {}", reader.hour(to))),
        (Some(from), _) => held(&format!("dark from {}", reader.hour(from))),
        (None, _) => return span,
    };
    format!("{span}, {dark}")
}

/// Names of the shoals that a way in the dark may pass; how deep they lie stands under low water.
fn on_the_way(caution: &Caution) -> Option<String> {
    let names: Vec<&str> = caution.shoals.iter().map(|s| s.name.as_str()).collect();
    (!names.is_empty()).then(|| format!("shoals on an open route: {}", names.join(", ")))
}

/// The shoals of low water: what is just under the surface, then what stands out of the water.
fn shoals(caution: &Caution, reader: &Reader) -> Vec<String> {
    let (under, out): (Vec<_>, Vec<_>) = caution.shoals.iter().partition(|s| s.water_over_m >= 0.0);
    let listed = |shoals: Vec<&crate::plan::ShoalState>| -> Vec<String> {
        shoals
            .iter()
            .map(|s| {
                let over = held(&format!("({})", reader.length(s.water_over_m.abs())));
                format!("{} {over}", s.name)
            })
            .collect()
    };
    let mut facts = Vec::new();
    if !under.is_empty() {
        facts.push(format!("just under the surface: {}", listed(under).join(", ")));
    }
    if !out.is_empty() {
        facts.push(format!("out of the water: {}", listed(out).join(", ")));
    }
    facts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_threshold_in_both_scales_is_shown_in_the_readers() {
        let text = "water below 60 degF (15.6 degC): the hands fail"; // (60 - 32) / 1.8 = 15.6
        let said = |units| {
            let zone = chrono_tz::UTC;
            temperatures(text, &Reader::new(units, zone))
        };
        assert_eq!(said(Units::Metric), "water below 15.6 °C: the hands fail");
        assert_eq!(said(Units::Us), "water below 60 °F (15.6 °C): the hands fail");
    }

    #[test]
    fn a_threshold_in_knots_has_the_readers_speed_behind_it() {
        let said = |text, units| speeds(text, &Reader::new(units, chrono_tz::UTC));
        let text = "wind of 12 kt or gusts of 20-33 kt, no kts, a kt";
        // 1 kt is 1.15078 mph and 0.51444 m/s.
        assert_eq!(
            said(text, Units::Us),
            "wind of 12 kt (14 mph) or gusts of 20-33 kt (38 mph), no kts, a kt"
        );
        assert_eq!(said("gusts of 20 kt", Units::Metric), "gusts of 20 kt (10.3 m/s)");
        assert_eq!(said("none", Units::Us), "none");
    }
}
