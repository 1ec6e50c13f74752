//! What trips have taught, as text, 80 columns.

use std::fmt::Write;

use textwrap::{Options, fill};

use super::fit_head::{head, trips_word};
use crate::faces::reader::Reader;
use crate::faces::words::capitalised;
use crate::lake::ZoneId;
use crate::reports::FitPage;
use crate::whereabouts::learn::report::{Coefficient, SpeciesReport};
use crate::whereabouts::learn::rows::LeftOutReason;
use crate::whereabouts::learn::stretch_table::{Season, StretchCatch, TablePlace, TemperatureClass};

const WIDTH: usize = 80;

/// The page as text, at most 80 columns.
pub fn render_fit(page: &FitPage, reader: &Reader) -> String {
    let mut text = String::new();
    head(&mut text, page, reader);
    for species in page.species.values() {
        species_text(&mut text, species, page, reader);
    }
    text
}

pub(super) fn said(text: &mut String, indent: &str, words: &str) {
    let options = Options::new(WIDTH)
        .initial_indent(indent)
        .subsequent_indent(indent);
    let _ = writeln!(text, "{}", fill(words, options));
}

fn species_text(text: &mut String, of: &SpeciesReport, page: &FitPage, reader: &Reader) {
    let _ = writeln!(text, "{}: {}", capitalised(&of.name), trips_word(of.trips));
    if of.coefficients.is_empty() {
        said(
            text,
            "  ",
            "There are no rules for it, so that trips have nothing to move.",
        );
    }
    if of.trips == 0 {
        said(text, "  ", "No trip yet: the shares are those of the rules.");
    }
    for left in &of.left_out {
        let why = match left.reason {
            LeftOutReason::ClosedZone => "closed by the level of that day; look at the log or the lake file",
            LeftOutReason::UnknownZone => "not a zone of the lake file",
            LeftOutReason::ReportDriven => "chosen by a report",
        };
        said(
            text,
            "  ",
            &format!(
                "Left out: trip {} in {}: {why}.",
                left.trip,
                zone_name(page, &left.zone)
            ),
        );
    }
    if !of.coefficients.is_empty() {
        let _ = writeln!(
            text,
            "\n  {:<10}{:>16}{:>18}{:>11}",
            "", "rules", "as learned", "learned"
        );
    }
    for coefficient in &of.coefficients {
        coefficient_text(text, coefficient);
    }
    shares_text(text, of, page);
    choice_text(text, of, page);
    if !of.stretches.is_empty() {
        let _ = writeln!(
            text,
            "\n  Fish per rod-hour, with the interval that holds it in 8 of 10 cases:"
        );
        // Where nobody measured the surface at all, such a row says again what the one of all hours has said.
        let measured = |row: &StretchCatch| {
            row.temperature != Some(TemperatureClass::NotKnown)
                || of.stretches.iter().any(|other| {
                    (&other.zone, &other.place) == (&row.zone, &row.place)
                        && other
                            .temperature
                            .is_some_and(|class| class != TemperatureClass::NotKnown)
                })
        };
        let told = of.stretches.iter().filter(|row| measured(row));
        told.for_each(|row| stretch_text(text, row, page, reader));
    }
    text.push('\n');
}

fn coefficient_text(text: &mut String, of: &Coefficient) {
    let l = &of.learned;
    let learned = if l.not_yet {
        "not yet".to_owned()
    } else {
        format!("{:5.0} %", 100.0 * l.learned_frac)
    };
    let spread = |mean: f64, sd: f64| format!("{mean:.2} +- {sd:.2}");
    let (rules, now) = (
        spread(l.prior_mean, l.prior_sd),
        spread(l.posterior_mean, l.posterior_sd),
    );
    let _ = writeln!(text, "  {:<10}{rules:>16}{now:>18}{learned:>11}", l.id);
    said(text, "            ", &l.label);
    if !l.not_yet {
        let trips: Vec<String> = (of.influences.iter())
            .map(|i| format!("{} ({:+.1} SD)", i.date, i.moved_sd))
            .collect();
        said(
            text,
            "            ",
            &format!("most moved by the trips of {}", trips.join(", ")),
        );
    }
    if let Some(moved) = of.without_reports_sd.filter(|m| m.abs() >= 0.5) {
        let words = format!("without trips chosen by reports it would stand {moved:+.1} SD from here");
        said(text, "            ", &words);
    }
}

fn shares_text(text: &mut String, of: &SpeciesReport, page: &FitPage) {
    if of.shares.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n  Today's shares, 10 to 90 % over the coefficients:");
    let percent = |x: f64| 100.0 * x;
    for change in &of.shares {
        let (before, after) = (&change.rules, &change.learned);
        let _ = writeln!(
            text,
            "  {:<16} rules {:3.0} % ({:.0}-{:.0})   as learned {:3.0} % ({:.0}-{:.0})",
            zone_name(page, &change.zone),
            percent(before.share),
            percent(before.low),
            percent(before.high),
            percent(after.share),
            percent(after.low),
            percent(after.high)
        );
    }
}

fn choice_text(text: &mut String, of: &SpeciesReport, page: &FitPage) {
    let choice = &of.choice;
    if choice.entangled {
        let words = format!(
            "Choice of zone and belief are entangled: {:.0} % of the hours were where the rules send you, so they could hardly be \
             found wrong.",
            100.0 * choice.favoured_frac
        );
        said(text, "  ", &words);
    }
    for zone in &choice.hardly_fished {
        said(
            text,
            "  ",
            &format!(
                "Hardly fished: {}. Of it the rules are all that is known.",
                zone_name(page, zone)
            ),
        );
    }
    if let Some(zone) = &choice.scout {
        said(
            text,
            "  ",
            &format!(
                "An hour of scouting in {} would tell most.",
                zone_name(page, zone)
            ),
        );
    }
}

fn zone_name<'p>(page: &'p FitPage, zone: &'p ZoneId) -> &'p str {
    page.zone_names.get(zone).map_or(zone.as_str(), String::as_str)
}

fn stretch_text(text: &mut String, row: &StretchCatch, page: &FitPage, reader: &Reader) {
    let place = match &row.place {
        TablePlace::WholeZone => zone_name(page, &row.zone).to_owned(),
        TablePlace::Stretch { id } => format!("  {}", page.stretch_names.get(id).unwrap_or(id)),
        TablePlace::NoStretchTold => "  no stretch told".to_owned(),
    };
    // Edges of the classes, as `TemperatureClass` has them.
    let (cool, mild, warm) = (
        reader.temp_number(8.0),
        reader.temp_number(15.0),
        reader.temp_number(19.0),
    );
    let unit = reader.temp_unit();
    let when = match (row.season, row.temperature) {
        (Some(Season::Winter), _) => "winter".to_owned(),
        (Some(Season::Spring), _) => "spring".to_owned(),
        (Some(Season::Summer), _) => "summer".to_owned(),
        (Some(Season::Autumn), _) => "autumn".to_owned(),
        (None, Some(TemperatureClass::Cold)) => format!("below {cool} {unit}"),
        (None, Some(TemperatureClass::Cool)) => format!("{cool}-{mild} {unit}"),
        (None, Some(TemperatureClass::Mild)) => format!("{mild}-{warm} {unit}"),
        (None, Some(TemperatureClass::Warm)) => format!("from {warm} {unit}"),
        (None, Some(TemperatureClass::NotKnown)) => "not measured".to_owned(),
        (None, None) => "all".to_owned(),
    };
    let _ = writeln!(
        text,
        "  {place:<20} {when:<13} {:6.2} ({:.2}-{:.2})  {:3} fish {:6.1} h",
        row.catch_per_h, row.low_per_h, row.high_per_h, row.catch, row.effort_h
    );
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::faces::reader::Units;
    use crate::lake::read_lake_file;
    use crate::reports::{FitPageParts, Mornings, fit_page};
    use crate::sources::service_rules;
    use crate::species::builtin;
    use crate::trips::Reason;
    use crate::whereabouts::learn::report::ReportAsked;
    use crate::whereabouts::learn::{
        Effort, FitOptions, KeptOptions, Morning, SpeciesRows, TripRows, ZoneFeatures, fit_report,
    };

    fn trips(count: u64) -> Vec<TripRows> {
        let rainbow = builtin("rainbow-trout").unwrap();
        // Suitable water comes and goes in turn, and the catch with it: that can be learned.
        let zone = |name: &str, number: u64| ZoneFeatures {
            zone: ZoneId::new(name),
            closed: name == "wicket",
            response: (rainbow.rules.iter())
                .map(|r| match r.id.as_str() {
                    "R0" => 1.0,
                    "R1" if number.is_multiple_of(2) => -2.0,
                    "R1" => 2.0,
                    _ => 0.0,
                })
                .collect(),
        };
        let effort = |name: &str, catch| Effort {
            zone: ZoneId::new(name),
            stretch: Some("tollhouse-wall".to_owned()),
            effort_h: 4.0,
            catch,
            catch_response: vec![0.0; rainbow.catchability.len()],
            reason: Some(Reason::Report),
            surface_temp_degc: Some(12.0),
        };
        let trip = |number| TripRows {
            trip: format!("trip-{number}"),
            date: NaiveDate::from_ymd_opt(2026, 1, 1).unwrap() + chrono::Days::new(7 * number),
            morning: Morning {
                main: ZoneId::new("main"),
                zones: vec![zone("sorrel", number), zone("wicket", number)],
            },
            efforts: match number {
                3 => vec![effort("wicket", 1)],
                _ => vec![effort("main", 2), effort("sorrel", 6 * (number % 2) as u32)],
            },
            marks: Vec::new(),
        };
        (0..count).map(trip).collect()
    }

    fn text(trips: &[TripRows]) -> String {
        let rainbow = builtin("rainbow-trout").unwrap();
        let rows = [SpeciesRows {
            species: &rainbow,
            mature_frac: None,
            trips,
        }];
        let mornings: Vec<Morning> = trips.iter().take(1).map(|t| t.morning.clone()).collect();
        let asked = ReportAsked {
            caught: None,
            fishable: &["main", "sorrel", "wicket"].map(ZoneId::new),
            mornings: &mornings,
            draws: 200,
            seed: 1,
        };
        let options = FitOptions::on(NaiveDate::from_ymd_opt(2027, 1, 1).unwrap());
        let report = fit_report(&rows, &options, &asked).unwrap().1;
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
        let lake = read_lake_file(&file, &service_rules()).unwrap();
        let page = fit_page(
            &FitPageParts {
                lake: &lake,
                as_of: "2027-01-01T12:30:00Z".parse().unwrap(),
                trips: trips.len(),
                used: trips.len(),
                invented: false,
                kept: true,
                newer: None,
                options: KeptOptions::from(&options),
                mornings: Mornings {
                    called: trips.len(),
                    ..Mornings::default()
                },
                left_out: &[],
            },
            report,
        );
        let reader = Reader::new(Units::Us, lake.time_zone);
        render_fit(&page, &reader)
    }

    #[test]
    fn a_log_is_told_in_80_columns_with_what_is_not_learned_yet() {
        let text = text(&trips(80));
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        for wanted in [
            "Rainbow trout: 79 trips",
            "Left out: trip trip-3 in Wicket Arm: closed by the level of that day",
            "an arm as such, all else equal",
            "most moved by the trips of 2026-",
            "without trips chosen by reports it would stand",
            "not yet",
            "Tollhouse Wall",
            "Today's shares",
            // 8, 15 degC are 46.4, 59 degF by definition.
            "46-59 °F",
            "What the mornings of these trips offered: 80 from the calls made then.",
        ] {
            assert!(text.contains(wanted), "{wanted:?} in\n{text}");
        }
    }

    #[test]
    fn an_empty_log_says_that_the_rules_stand() {
        let text = text(&[]);
        assert!(text.contains("the shares are those of the rules"), "{text}");
        assert!(text.contains("`plungeline log add` begins it"), "{text}");
    }
}
