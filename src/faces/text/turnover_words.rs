//! Words of the turnover outlook.

use chrono::{Datelike as _, NaiveDate};

use crate::column::turnover::ALIKE_DEGC;
use crate::faces::reader::{Reader, age, chance, percent, rounded};
use crate::reports::{OutlookBasis, OutlookLacking, PlaceOutlook, TurnoverOutlook, WANTED_YEARS};
use crate::series::{Consequence, Gap};

/// What anglers take for signs of a turnover.
pub const SIGNS: [&str; 5] = [
    "The sonar shows no thermocline any more, or one that sinks from trip to trip.",
    "The same temperature at the surface and on the ball or a probe, all the way down.",
    "Water that turns murky, green or brown without rain, with bits of dead weed and foam lines.",
    "A smell of rotten eggs on a calm morning, where the deep water had lost its oxygen.",
    "Marks at all depths, scattered, where they stood in a band the week before.",
];

/// From here on a place counts as mixed already in words.
const SURE_PROB: f64 = 0.95;

/// A day with its month in full.
pub fn day(date: NaiveDate) -> String {
    date.format("%-d %B").to_string()
}

/// A day for a table.
pub fn short_day(date: NaiveDate) -> String {
    date.format("%-d %b").to_string()
}

/// Two days, their month once where they share it.
fn between(from: NaiveDate, to: NaiveDate) -> String {
    if (from.month(), from.year()) == (to.month(), to.year()) {
        format!("{} and {}", from.day(), day(to))
    } else {
        format!("{} and {}", day(from), day(to))
    }
}

/// A chance in a table: a plain none and all are said so.
pub fn table_chance(prob: f64) -> String {
    if prob <= 0.0 {
        return "-".to_owned();
    }
    if prob >= 1.0 - 1e-9 {
        return "all".to_owned();
    }
    chance(prob)
}

/// The answer for one place in a sentence.
pub fn headline(place: &PlaceOutlook, until: NaiveDate) -> String {
    let name = in_sentence(place);
    if place.closed {
        return format!(
            "{}: closed at today's level, there is nothing to turn over.",
            place.name
        );
    }
    if place.already_mixed_prob >= SURE_PROB {
        return format!("Turnover in {name}: already mixed from top to bottom.");
    }
    let already = match place.already_mixed_prob {
        prob if prob >= 0.05 => format!("; already mixed with a chance of {}", chance(prob)),
        _ => String::new(),
    };
    let not = match place.not_turned_over_prob {
        prob if prob >= 0.05 => format!("; not by {} with a chance of {}", day(until), chance(prob)),
        _ => String::new(),
    };
    match (place.median, place.early, place.late) {
        (Some(median), Some(early), Some(late)) => format!(
            "Turnover in {name}: median {}, 8 in 10 between {}{already}{not}.",
            day(median),
            between(early, late)
        ),
        (Some(median), None, Some(late)) => format!(
            "Turnover in {name}: median {}, 9 in 10 by {}{already}{not}.",
            day(median),
            day(late)
        ),
        (Some(median), Some(early), None) => format!(
            "Turnover in {name}: median {}, 1 in 10 by {}{already}{not}.",
            day(median),
            day(early)
        ),
        (Some(median), None, None) => format!("Turnover in {name}: median {}{already}{not}.", day(median)),
        (None, _, Some(late)) => format!(
            "Turnover in {name}: likelier mixed already than not, 9 in 10 by {}{already}.",
            day(late)
        ),
        (None, _, None) if place.already_mixed_prob >= 0.5 => {
            format!("Turnover in {name}: likelier mixed already than not{already}{not}.")
        }
        (None, _, None) => format!(
            "Turnover in {name}: likelier than not it does not turn over by {}; it does with a chance of {}.",
            day(until),
            chance(place.already_mixed_prob + place.turns_over_prob)
        ),
    }
}

/// The median by the other rule in use, of the places that have one: looser over cold water, stricter over warm.
pub fn by_degree(places: &[PlaceOutlook], reader: &Reader) -> Option<String> {
    let open = places.iter().filter(|place| !place.closed);
    let dates: Vec<String> = open
        .filter_map(|place| Some(format!("{} {}", place.name, day(place.median_by_degree?))))
        .collect();
    let within = reader.temp_change(ALIKE_DEGC);
    let within = within.trim_start_matches('+');
    (!dates.is_empty()).then(|| {
        format!(
            "By the other rule in use, surface and bottom within {within} of each other, the median is: {}.",
            dates.join(", ")
        )
    })
}

/// The name of a place within a sentence: the main body is no name.
fn in_sentence(place: &PlaceOutlook) -> String {
    match place.kind {
        crate::lake::ZoneKind::MainBody => format!("the {}", place.name.to_lowercase()),
        _ => format!("the {}", place.name),
    }
}

/// What is lacking.
pub fn lacking(of: &OutlookLacking) -> String {
    let old = |age_h: &Option<f64>| {
        age_h.map_or_else(
            || "none is known".to_owned(),
            |h| format!("the newest is {} old", age(h)),
        )
    };
    match of {
        OutlookLacking::Level { age_h } => format!("A level in time: {}.", old(age_h)),
        OutlookLacking::Weather { age_h } => format!("Weather in time: {}.", old(age_h)),
        OutlookLacking::Years { found } => {
            format!(
                "Past years: the store has {found} whole ones of these months; `plungeline pull --history 40` brings more."
            )
        }
        OutlookLacking::Runs => "The lake's columns could not be run.".to_owned(),
    }
}

/// That there are few years, or few that are alike.
pub fn few(basis: &OutlookBasis) -> String {
    if basis.few_analogs {
        return format!(
            "Few analogs: the answer rests on what {} equal years would say; take the interval for wider than it is.",
            rounded(basis.effective_years, 1)
        );
    }
    format!(
        "Few years: {} where {WANTED_YEARS} or more are wanted; take the interval for wider than it is.",
        basis.years
    )
}

/// Chance of a turnover under way from which on no cold layer is sent to (project choice).
const UNDER_WAY_PROB: f64 = 0.5;

/// What a turnover means for the species of the lake file.
pub fn fish(outlook: &TurnoverOutlook, until: NaiveDate) -> Vec<(String, String)> {
    let Some(main) = outlook.places.first() else {
        return Vec::new();
    };
    let mixed = main.already_mixed_prob >= SURE_PROB;
    let when = match main.median {
        _ if mixed => "Now".to_owned(),
        Some(median) => format!("From about {} on", day(median)),
        None => format!("If the lake mixes before {}", day(until)),
    };
    let before = if mixed || main.under_way_prob >= UNDER_WAY_PROB {
        ""
    } else {
        " Until then keep to the cool band under the warm water."
    };
    let mut said = Vec::new();
    for species in &outlook.species {
        match species.as_str() {
            "rainbow-trout" => said.push((
                "Trout".to_owned(),
                format!(
                    "{when} they can use the whole column and stand shallow, most of them in the upper 30 ft or 10 m while the surface is cool (tagged and netted fish elsewhere: Fast 1993, Rowe and Chisnall 1995).{before}"
                ),
            )),
            "landlocked-chinook" => said.push((
                "Kings".to_owned(),
                format!(
                    "{when} no cold layer holds them at one depth; oxygen comes back to the bottom, and they spread and go by the bait. Young ones were found toward the dam in autumn (Monzyk and Romer). How grown ones spread then nobody has measured in a reservoir.{before}"
                ),
            )),
            _ => {}
        }
    }
    said
}

/// What the outlook rests on.
pub fn basis(basis: &OutlookBasis, reader: &Reader) -> Vec<String> {
    let mut said = vec![format!(
        "{} runs of the lake's water from {} on, with the weather of {} past years, {} to {}, each from another member of today's water.",
        basis.runs,
        reader.day_hour(basis.from),
        basis.years,
        basis.first_year,
        basis.last_year
    )];
    said.push(if basis.by_likeness {
        format!(
            "Years count by how like the air of the last three months was to this year's: as much as {} equal years.",
            rounded(basis.effective_years, 1)
        )
    } else {
        format!("All years count alike, and no trend is taken out of their warmth: if autumns have become warmer, the dates are early by as much. 1 in {} is left for an autumn that is like none of them.", basis.years + 1)
    });
    said.push(if basis.forecast_days > 0.0 {
        format!(
            "The first {} days have the weather forecast ({} members), which gives way to the past year over its last {} days, its weight falling straight to none.",
            rounded(basis.forecast_days, 0),
            basis.forecast_members,
            rounded(basis.blend_days, 0)
        )
    } else {
        "No weather forecast: the past years begin at once.".to_owned()
    });
    if basis.shaped_frac > 0.0 {
        said.push(format!(
            "{} of the days are known by their daily values alone and have the course of a like day that is known by the hour.",
            percent(basis.shaped_frac)
        ));
    }
    if basis.smooth_frac > 0.0 {
        said.push(format!(
            "{} of the days are known by their daily values alone, and no like day is known by the hour: their wind is too even, and they mix too late.",
            percent(basis.smooth_frac)
        ));
    }
    said.push(
        "Rivers and release go on from today's, and what they differ from the usual of the season fades; they are not those of the past years. A planned release of the lake file goes before."
            .to_owned(),
    );
    if basis.held_runs > 0 {
        said.push(format!(
            "In {} of the runs the level met the full or the minimum pool, and was held there.",
            basis.held_runs
        ));
    }
    let open: Vec<String> = basis
        .left_out
        .iter()
        .filter(|out| out.lacking.is_some())
        .map(|out| out.year.to_string())
        .collect();
    if !open.is_empty() {
        said.push(format!("Left out for want of values: {}.", open.join(", ")));
    }
    said.push(
        "Turned over: the bottom less than 0.1 kg/m3 denser than the surface, and so on 7 of the next 10 days.".to_owned(),
    );
    said
}

/// What is not known, in a line.
pub fn gap(gap: &Gap) -> String {
    let what = gap.what.replace('_', " ");
    match &gap.consequence {
        Consequence::StandIn { stand_in } => format!("Not known in full: {what}; in its place: {stand_in}."),
        Consequence::LeftOut { figure } => format!("Not known: {what}; left out: {figure}."),
        _ => format!("Not known: {what}."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lake::{ZoneId, ZoneKind};

    fn on(month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2025, month, day).unwrap()
    }

    fn place() -> PlaceOutlook {
        PlaceOutlook {
            zone: ZoneId::new("main"),
            name: "Main Body".to_owned(),
            kind: ZoneKind::MainBody,
            closed: false,
            depth_m: Some(40.0),
            already_mixed_prob: 0.0,
            turns_over_prob: 1.0,
            not_turned_over_prob: 0.0,
            closed_prob: 0.0,
            no_run_prob: 0.0,
            by_date: Vec::new(),
            early: Some(on(11, 2)),
            median: Some(on(11, 14)),
            late: Some(on(11, 27)),
            median_by_degree: None,
            surface_then: None,
            surface_now: None,
            under_way_prob: 0.0,
        }
    }

    #[test]
    fn the_answer_is_a_plain_sentence() {
        let until = NaiveDate::from_ymd_opt(2026, 2, 28).unwrap();
        let said = |place: PlaceOutlook| headline(&place, until);
        assert_eq!(
            said(place()),
            "Turnover in the main body: median 14 November, 8 in 10 between 2 and 27 November."
        );
        let over_a_month = PlaceOutlook {
            early: Some(on(10, 28)),
            ..place()
        };
        assert!(said(over_a_month).contains("between 28 October and 27 November"));
        let mixed = PlaceOutlook {
            already_mixed_prob: 1.0,
            turns_over_prob: 0.0,
            ..place()
        };
        assert!(said(mixed).ends_with("already mixed from top to bottom."));
        let seldom = PlaceOutlook {
            turns_over_prob: 0.3,
            not_turned_over_prob: 0.7,
            median: None,
            late: None,
            ..place()
        };
        assert!(
            said(seldom.clone()).contains("does not turn over by 28 February; it does with a chance of 30 %")
        );
        let late = PlaceOutlook {
            not_turned_over_prob: 0.2,
            turns_over_prob: 0.8,
            late: None,
            ..place()
        };
        assert_eq!(
            said(late),
            "Turnover in the main body: median 14 November, 1 in 10 by 2 November; not by 28 February with a chance of 20 %."
        );
        let closed = PlaceOutlook {
            closed: true,
            ..seldom
        };
        assert!(said(closed).contains("closed"));
    }

    #[test]
    fn the_median_by_the_other_rule_is_told_where_there_is_one() {
        let metric = Reader::new(crate::faces::Units::Metric, chrono_tz::UTC);
        let us = Reader {
            units: crate::faces::Units::Us,
            ..metric
        };
        let dated = PlaceOutlook {
            median_by_degree: Some(on(11, 9)),
            ..place()
        };
        let arm = PlaceOutlook {
            name: "Sorrel Arm".to_owned(),
            median_by_degree: Some(on(11, 3)),
            ..place()
        };
        let closed = PlaceOutlook {
            closed: true,
            ..arm.clone()
        };
        let said = by_degree(&[dated.clone(), arm, place()], &metric).unwrap();
        assert!(
            said.contains(
                "within 1.00 °C of each other, the median is: Main Body 9 November, Sorrel Arm 3 November."
            ),
            "{said}"
        );
        // By hand: 1 degC is 1.8 degF.
        assert!(
            by_degree(&[dated, closed.clone()], &us)
                .unwrap()
                .contains("within 1.8 °F of each other, the median is: Main Body 9 November.")
        );
        assert_eq!(by_degree(&[place(), closed], &us), None);
    }

    #[test]
    fn a_chance_in_a_table_tells_none_and_all() {
        let found = [0.0, 0.004, 0.25, 0.999, 1.0].map(table_chance);
        assert_eq!(found, ["-", "under 1 %", "25 %", "over 99 %", "all"]);
    }
}
