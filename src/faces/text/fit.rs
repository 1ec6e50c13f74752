//! What trips have taught, as text, 80 columns.

use std::fmt::Write;

use textwrap::{Options, fill};

use crate::whereabouts::learn::FitReport;
use crate::whereabouts::learn::report::{Coefficient, SpeciesReport};
use crate::whereabouts::learn::rows::LeftOutReason;
use crate::whereabouts::learn::stretch_table::{Season, StretchCatch, TemperatureClass};

const WIDTH: usize = 80;

/// The report as text, at most 80 columns.
pub fn render_fit(report: &FitReport) -> String {
    let mut text = String::new();
    for species in report.species.values() {
        species_text(&mut text, species);
    }
    text
}

fn said(text: &mut String, indent: &str, words: &str) {
    let options = Options::new(WIDTH)
        .initial_indent(indent)
        .subsequent_indent(indent);
    let _ = writeln!(text, "{}", fill(words, options));
}

fn species_text(text: &mut String, of: &SpeciesReport) {
    let _ = writeln!(text, "{}: {} trips", of.name, of.trips);
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
            &format!("Left out: trip {} in {}: {why}.", left.trip, left.zone),
        );
    }
    let _ = writeln!(
        text,
        "\n  {:<10}{:>16}{:>18}{:>11}",
        "", "rules", "as learned", "learned"
    );
    for coefficient in &of.coefficients {
        coefficient_text(text, coefficient);
    }
    shares_text(text, of);
    choice_text(text, of);
    if !of.stretches.is_empty() {
        let _ = writeln!(
            text,
            "\n  Fish per rod-hour, with the interval that holds it in 8 of 10 cases:"
        );
        of.stretches.iter().for_each(|row| stretch_text(text, row));
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

fn shares_text(text: &mut String, of: &SpeciesReport) {
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
            change.zone.as_str(),
            percent(before.share),
            percent(before.low),
            percent(before.high),
            percent(after.share),
            percent(after.low),
            percent(after.high)
        );
    }
}

fn choice_text(text: &mut String, of: &SpeciesReport) {
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
            &format!("Hardly fished: {zone}. Of it the rules are all that is known."),
        );
    }
    if let Some(zone) = &choice.scout {
        said(
            text,
            "  ",
            &format!("An hour of scouting in {zone} would tell most."),
        );
    }
}

fn stretch_text(text: &mut String, row: &StretchCatch) {
    let place = row
        .stretch
        .as_ref()
        .map_or_else(|| row.zone.to_string(), |s| format!("{}, {s}", row.zone));
    let when = match (row.season, row.temperature) {
        (Some(Season::Winter), _) => "winter",
        (Some(Season::Spring), _) => "spring",
        (Some(Season::Summer), _) => "summer",
        (Some(Season::Autumn), _) => "autumn",
        (None, Some(TemperatureClass::Cold)) => "below 8 degC",
        (None, Some(TemperatureClass::Cool)) => "8-15 degC",
        (None, Some(TemperatureClass::Mild)) => "15-19 degC",
        (None, Some(TemperatureClass::Warm)) => "from 19 degC",
        (None, Some(TemperatureClass::NotKnown)) => "not measured",
        (None, None) => "all",
    };
    let _ = writeln!(
        text,
        "  {place:<26} {when:<13} {:6.2} ({:.2}-{:.2})  {:3} fish {:6.1} h",
        row.catch_per_h, row.low_per_h, row.high_per_h, row.catch, row.effort_h
    );
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::lake::ZoneId;
    use crate::species::builtin;
    use crate::trips::Reason;
    use crate::whereabouts::learn::report::ReportAsked;
    use crate::whereabouts::learn::{
        Effort, FitOptions, Morning, SpeciesRows, TripRows, ZoneFeatures, fit_report,
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
            fishable: &["main", "sorrel", "wicket"].map(ZoneId::new),
            mornings: &mornings,
            draws: 200,
            seed: 1,
        };
        let options = FitOptions::on(NaiveDate::from_ymd_opt(2027, 1, 1).unwrap());
        render_fit(&fit_report(&rows, &options, &asked).unwrap().1)
    }

    #[test]
    fn a_log_is_told_in_80_columns_with_what_is_not_learned_yet() {
        let text = text(&trips(80));
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        for wanted in [
            "rainbow trout: 79 trips",
            "Left out: trip trip-3 in wicket: closed by the level of that day",
            "an arm as such, all else equal",
            "most moved by the trips of 2026-",
            "without trips chosen by reports it would stand",
            "not yet",
            "sorrel, tollhouse-wall",
            "Today's shares",
        ] {
            assert!(text.contains(wanted), "{wanted:?} in\n{text}");
        }
    }

    #[test]
    fn an_empty_log_says_that_the_rules_stand() {
        assert!(text(&[]).contains("the shares are those of the rules"));
    }
}
