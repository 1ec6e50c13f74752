//! What the service of a series needs, and what it has no use for.

use chrono::NaiveDate;

use crate::lake::file::block::{Block, quote};
use crate::lake::file::fault::At;
use crate::lake::file::known::{Known, choose};
use crate::lake::{Cadence, ServiceRule};
use crate::quantity::Quantity;

pub(super) fn read_service<'k>(block: &Block<'_, '_>, known: &Known<'k>) -> Option<&'k ServiceRule> {
    let text = block.text("service")?;
    let rule = rule_named(known, &text.value);
    if rule.is_none() {
        let names: Vec<&str> = known.services.iter().map(|rule| rule.name).collect();
        let found = format!("service = {}", quote(&text.value));
        block.fault(
            &text.span,
            found,
            "a service that plungeline knows",
            choose(&text.value, &names),
        );
    }
    rule
}

/// The rule of a service.
pub(super) fn rule_named<'k>(known: &Known<'k>, name: &str) -> Option<&'k ServiceRule> {
    known.services.iter().find(|rule| rule.name == name)
}

pub(super) fn read_station(
    block: &Block<'_, '_>,
    rule: Option<&ServiceRule>,
    quantity: Option<Quantity>,
    cadences: Option<&[Cadence]>,
) -> (Option<At<String>>, Option<At<String>>) {
    let (station, parameter) = (block.text("station"), block.text("parameter"));
    let Some(rule) = rule else {
        return (station, parameter);
    };
    check_station(block, rule, station.as_ref(), cadences);
    check_parameter(block, rule, parameter.as_ref(), cadences);
    if rule.needs_file {
        block.refuse(
            "parameter",
            "no parameter: the file's columns are named under csv",
        );
    } else if !block.has("parameter") {
        block.missing("parameter", &format!("since {} goes by parameter", rule.name));
    }
    if let (Some(quantities_of), Some(parameter), Some(quantity)) =
        (rule.parameter_quantities, &parameter, quantity)
    {
        let quantities = quantities_of(&parameter.value);
        let found = format!("parameter = {} for {}", quote(&parameter.value), quantity.word());
        if quantities.is_empty() {
            let wanted = format!("a parameter of {} that plungeline knows", rule.name);
            block.fault(
                &parameter.span,
                found,
                wanted,
                "see docs/lake-file.md for the parameters of each service",
            );
        } else if !quantities.contains(&quantity) {
            let words: Vec<&str> = quantities.iter().map(|q| q.word()).collect();
            let wanted = format!("a parameter of {} that measures {}", rule.name, quantity.word());
            block.fault(
                &parameter.span,
                found,
                wanted,
                format!("this one measures {}", words.join(" or ")),
            );
        }
    }
    (station, parameter)
}

/// Whether a station must, may or must not stand here, and whether it can be one.
fn check_station(
    block: &Block<'_, '_>,
    rule: &ServiceRule,
    station: Option<&At<String>>,
    cadences: Option<&[Cadence]>,
) {
    let always = rule.station_for.len() == rule.cadences.len();
    // Faulty cadences leave open what a service needs that goes by station at some of them.
    let needed = match cadences {
        Some(cadences) => Some(cadences.iter().any(|c| rule.station_for.contains(c))),
        None => (always || rule.station_for.is_empty()).then_some(always),
    };
    match needed {
        _ if always && !block.has("station") => {
            block.missing("station", &format!("since {} goes by station", rule.name));
        }
        Some(true) if !block.has("station") => {
            let at: Vec<&str> = rule.station_for.iter().map(|c| cadence_word(*c)).collect();
            let why = format!(
                "since {} goes by station for {} values",
                rule.name,
                at.join(" and ")
            );
            block.missing("station", &why);
        }
        Some(false) if rule.station_for.is_empty() => {
            block.refuse("station", &format!("no station: {} has none", rule.name));
        }
        Some(false) if !always => {
            let chosen: Vec<&str> = cadences.unwrap_or(&[]).iter().map(|c| cadence_word(*c)).collect();
            let wanted = format!(
                "no station: {} goes by the lake's position for {}",
                rule.name,
                chosen.join(" and ")
            );
            block.refuse("station", &wanted);
        }
        _ => {}
    }
    if let (Some(refuses), Some(station)) = (rule.refuses_station, station)
        && let Some(form) = refuses(&station.value)
    {
        let found = format!("station = {}", quote(&station.value));
        block.fault(
            &station.span,
            found,
            format!("a station of {}", rule.name),
            format!("write it as {form}"),
        );
    }
}

/// Whether the service has the parameter at each of the cadences.
fn check_parameter(
    block: &Block<'_, '_>,
    rule: &ServiceRule,
    parameter: Option<&At<String>>,
    cadences: Option<&[Cadence]>,
) {
    let (Some(refuses), Some(parameter)) = (rule.refuses_parameter, parameter) else {
        return;
    };
    for cadence in cadences.unwrap_or(&[]) {
        if let Some(has) = refuses(&parameter.value, *cadence) {
            let word = cadence_word(*cadence);
            block.fault(
                &parameter.span,
                format!("parameter = {} at cadence {word}", quote(&parameter.value)),
                format!("a parameter that {} has at that cadence", rule.name),
                format!("take another cadence, or one of {has}"),
            );
        }
    }
}

pub(super) fn read_cadences(block: &Block<'_, '_>, rule: Option<&ServiceRule>) -> Option<At<Vec<Cadence>>> {
    let words = block.words("cadences")?;
    let list: Vec<Cadence> = words.value.iter().map(|word| cadence(word)).collect();
    if let Some(rule) = rule {
        for (word, cadence) in words.value.iter().zip(&list) {
            if !rule.cadences.contains(cadence) {
                let has: Vec<&str> = rule.cadences.iter().map(|c| cadence_word(*c)).collect();
                let wanted = format!("a cadence of {}", rule.name);
                block.fault(
                    &words.span,
                    format!("cadence {}", quote(word)),
                    wanted,
                    format!("it has {}", has.join(", ")),
                );
            }
        }
    }
    Some(At::new(list, words.span))
}

fn cadence(word: &str) -> Cadence {
    match word {
        "daily" => Cadence::Daily,
        "continuous" => Cadence::Continuous,
        _ => Cadence::Forecast,
    }
}

/// The word of a cadence in lake files.
fn cadence_word(cadence: Cadence) -> &'static str {
    match cadence {
        Cadence::Daily => "daily",
        Cadence::Continuous => "continuous",
        Cadence::Forecast => "forecast",
    }
}

pub(super) fn check_dates(
    block: &Block<'_, '_>,
    rule: Option<&ServiceRule>,
    cadences: Option<&[Cadence]>,
    [from, until]: [&Option<At<NaiveDate>>; 2],
) {
    if let (Some(from), Some(until)) = (from, until)
        && until.value < from.value
    {
        let found = format!("daily_until = {}", until.value);
        block.fault(
            &until.span,
            found,
            format!("a day not before daily_from, {}", from.value),
            "swap the two",
        );
    }
    let Some(cadences) = cadences else { return };
    if !cadences.contains(&Cadence::Daily) {
        for stem in ["daily_from", "daily_until"] {
            block.refuse(stem, "no such key without \"daily\" among the cadences");
        }
    } else if rule.is_some_and(|rule| !rule.needs_file) && !block.has("daily_from") {
        block.missing("daily_from", "since daily values are fetched");
    }
    if !cadences.contains(&Cadence::Continuous) {
        block.refuse(
            "continuous_from",
            "no such key without \"continuous\" among the cadences",
        );
    }
}

pub(super) fn check_options(block: &Block<'_, '_>, rule: Option<&ServiceRule>, cadences: Option<&[Cadence]>) {
    let (Some(rule), Some(cadences)) = (rule, cadences) else {
        return;
    };
    let daily = cadences.contains(&Cadence::Daily);
    if rule.takes_statistic && daily && !block.has("statistic") {
        block.missing(
            "statistic",
            &format!("since {} has several daily statistics", rule.name),
        );
    }
    if !(rule.takes_statistic && daily) {
        block.refuse("statistic", "no such key where no daily statistic is chosen");
    }
    if !(rule.takes_ensemble_model && cadences.contains(&Cadence::Forecast)) {
        block.refuse("ensemble_model", "no such key where no ensemble is chosen");
    }
}

pub(super) fn check_unit(block: &Block<'_, '_>, rule: Option<&ServiceRule>) {
    let Some(rule) = rule else { return };
    if rule.needs_file && !block.has("unit") {
        block.missing(
            "unit",
            &format!("since a file of {} does not state it", rule.name),
        );
    }
    if !rule.needs_file {
        block.refuse("unit", &format!("no unit: {} states it", rule.name));
    }
}

/// Keys that one service needs and the others have no use for.
pub(super) fn check_further(block: &Block<'_, '_>, rule: Option<&ServiceRule>) {
    let Some(rule) = rule else { return };
    for (key, why) in [
        ("file", "reads a file"),
        ("stamp_zone", "does not say in which zone its times are"),
    ] {
        if !rule.needs_keys.contains(&key) {
            block.refuse(key, &format!("no {key}: {} has no use for it", rule.name));
        } else if !block.has(key) {
            block.missing(key, &format!("since {} {why}", rule.name));
        }
    }
}
