//! Where each series comes from: place, depth, datum, and what its service needs.

use chrono::FixedOffset;
use chrono_tz::Tz;

use super::block::Block;
use super::fault::At;
use super::known::{Known, choose};
use super::places::{all, unique};
use super::value::quote;
use crate::lake::{Cadence, CsvColumns, InflowId, SeriesId, SeriesPlace, SeriesSource, ServiceRule, ZoneId};
use crate::quantity::Quantity;

/// All series; `None` where one of them is faulty.
pub(super) fn read_series(root: &Block<'_, '_>, known: &Known<'_>) -> Option<Vec<SeriesSource>> {
    let mut ids = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let id = block.id("id");
        ids.extend(id.clone());
        read_one(block, id, known)
    };
    let list = all(root.blocks("series").iter().map(read));
    unique(root.faults, "series", ids.iter());
    list
}

fn read_one(block: &Block<'_, '_>, id: Option<At<String>>, known: &Known<'_>) -> Option<SeriesSource> {
    let quantity = read_quantity(block);
    let place = read_place(block, quantity.as_ref().map(|at| at.value), known);
    let rule = read_service(block, known);
    let csv = read_csv(block, rule);
    let depth = block.measure("depth");
    check_depth(block, quantity.as_ref().map(|at| at.value));
    let (station, parameter) = read_station(block, rule, quantity.as_ref().map(|at| at.value));
    let cadences = read_cadences(block, rule);
    let chosen = cadences.as_ref().map(|at| at.value.as_slice());
    let (daily_from, daily_until) = (block.date("daily_from"), block.date("daily_until"));
    let continuous_from = block.date("continuous_from");
    check_dates(block, rule, chosen, [&daily_from, &daily_until]);
    let (statistic, ensemble_model) = (block.text("statistic"), block.text("ensemble_model"));
    check_options(block, rule, chosen);
    let unit = block.text("unit");
    check_unit(block, rule);
    let (offset, datum_source) = (block.measure("datum_offset"), block.text("datum_source"));
    check_datum(block, quantity.as_ref().map(|at| at.value));
    let late_after_h = block.number("late_after_h").map(|at| at.value);
    let text = |at: Option<At<String>>| at.map(|at| at.value);
    Some(SeriesSource {
        id: SeriesId::new(id?.value),
        quantity: quantity?.value,
        place: place?,
        depth_m: depth.map(|at| at.value),
        service: rule?.name.to_owned(),
        station: text(station).unwrap_or_default(),
        parameter: match (text(parameter), &csv) {
            (Some(parameter), _) => parameter,
            (None, Some(columns)) => columns.value.clone(),
            (None, None) => return None,
        },
        statistic: text(statistic),
        ensemble_model: text(ensemble_model),
        cadences: cadences?.value,
        daily_from: daily_from.map(|at| at.value),
        daily_until: daily_until.map(|at| at.value),
        continuous_from: continuous_from.map(|at| at.value),
        unit: text(unit),
        datum_offset_m: offset.map(|at| at.value),
        datum_source: text(datum_source),
        late_after_h,
        csv,
    })
}

fn read_quantity(block: &Block<'_, '_>) -> Option<At<Quantity>> {
    let text = block.text("quantity")?;
    let quantity = Quantity::from_word(&text.value);
    if quantity.is_none() {
        let words = Quantity::ALL.map(Quantity::word);
        let found = format!("quantity = {}", quote(&text.value));
        block.fault(
            &text.span,
            found,
            "a quantity of the glossary",
            choose(&text.value, &words),
        );
    }
    Some(At::new(quantity?, text.span))
}

/// Where a quantity is measured.
#[derive(PartialEq)]
enum Belongs {
    Lake,
    Zone,
    Inflow,
    Either,
}

fn belongs(quantity: Quantity) -> Belongs {
    match quantity {
        Quantity::WaterTemp | Quantity::DissolvedOxygen => Belongs::Zone,
        Quantity::Inflow | Quantity::RiverTemp => Belongs::Inflow,
        Quantity::Turbidity => Belongs::Either,
        Quantity::PoolElevation
        | Quantity::Storage
        | Quantity::Release
        | Quantity::Evaporation
        | Quantity::AirTemp
        | Quantity::DewPoint
        | Quantity::RelativeHumidity
        | Quantity::VapourPressure
        | Quantity::WindSpeed
        | Quantity::WindGust
        | Quantity::WindDirection
        | Quantity::CloudCover
        | Quantity::SurfacePressure
        | Quantity::Precipitation
        | Quantity::Shortwave
        | Quantity::Longwave
        | Quantity::Visibility
        | Quantity::ThunderProbability => Belongs::Lake,
    }
}

fn read_place(block: &Block<'_, '_>, quantity: Option<Quantity>, known: &Known<'_>) -> Option<SeriesPlace> {
    let (zone, inflow) = (
        block.reference("zone", &known.ids("zones")),
        block.reference("inflow", &known.ids("inflows")),
    );
    let Some(quantity) = quantity else {
        return None; // noted; what place it needs is not known
    };
    let word = quantity.word();
    match belongs(quantity) {
        Belongs::Lake => {
            for stem in ["zone", "inflow"] {
                block.refuse(stem, &format!("no place: {word} is of the whole lake"));
            }
            Some(SeriesPlace::Lake)
        }
        Belongs::Zone => {
            block.refuse("inflow", &format!("a zone: {word} is of the lake's water"));
            if !block.has("zone") {
                block.missing("zone", &format!("since the quantity is {word}"));
            }
            zone.map(|zone| SeriesPlace::Zone(ZoneId::new(zone.value)))
        }
        Belongs::Inflow => {
            block.refuse("zone", &format!("an inflow: {word} is of a river"));
            if !block.has("inflow") {
                block.missing("inflow", &format!("since the quantity is {word}"));
            }
            inflow.map(|inflow| SeriesPlace::Inflow(InflowId::new(inflow.value)))
        }
        Belongs::Either => {
            match (block.has("zone"), block.has("inflow")) {
                (true, true) => block.refuse("zone", "a zone or an inflow, not both"),
                (false, false) => block.missing("inflow", &format!("or zone, since the quantity is {word}")),
                _ => {}
            }
            let inflow = inflow.map(|inflow| SeriesPlace::Inflow(InflowId::new(inflow.value)));
            inflow.or(zone.map(|zone| SeriesPlace::Zone(ZoneId::new(zone.value))))
        }
    }
}

fn read_service<'k>(block: &Block<'_, '_>, known: &Known<'k>) -> Option<&'k ServiceRule> {
    let text = block.text("service")?;
    let rule = known.services.iter().find(|rule| rule.name == text.value);
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

fn read_station(
    block: &Block<'_, '_>,
    rule: Option<&ServiceRule>,
    quantity: Option<Quantity>,
) -> (Option<At<String>>, Option<At<String>>) {
    let (station, parameter) = (block.text("station"), block.text("parameter"));
    let Some(rule) = rule else {
        return (station, parameter);
    };
    if rule.needs_station && !block.has("station") {
        block.missing("station", &format!("since {} goes by station", rule.name));
    }
    if !rule.needs_station {
        block.refuse("station", &format!("no station: {} has none", rule.name));
    }
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

fn read_cadences(block: &Block<'_, '_>, rule: Option<&ServiceRule>) -> Option<At<Vec<Cadence>>> {
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
pub(super) fn cadence_word(cadence: Cadence) -> &'static str {
    match cadence {
        Cadence::Daily => "daily",
        Cadence::Continuous => "continuous",
        Cadence::Forecast => "forecast",
    }
}

fn check_dates(
    block: &Block<'_, '_>,
    rule: Option<&ServiceRule>,
    cadences: Option<&[Cadence]>,
    [from, until]: [&Option<At<chrono::NaiveDate>>; 2],
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

fn check_options(block: &Block<'_, '_>, rule: Option<&ServiceRule>, cadences: Option<&[Cadence]>) {
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

fn check_unit(block: &Block<'_, '_>, rule: Option<&ServiceRule>) {
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

fn check_depth(block: &Block<'_, '_>, quantity: Option<Quantity>) {
    let Some(quantity) = quantity else { return };
    if belongs(quantity) != Belongs::Zone {
        if quantity != Quantity::Turbidity {
            block.refuse("depth", &format!("no depth: {} has none", quantity.word()));
        }
        return;
    }
    let column = block.peek("csv").is_some_and(|csv| csv.contains_key("depth"));
    match (block.has("depth"), column) {
        (false, false) => block.missing("depth", &format!("since the quantity is {}", quantity.word())),
        (true, true) => block.refuse("depth", "a depth or a column of depths, not both"),
        _ => {}
    }
}

fn check_datum(block: &Block<'_, '_>, quantity: Option<Quantity>) {
    match quantity {
        Some(Quantity::PoolElevation) => {
            if !block.has("datum_offset") {
                block.missing("datum_offset", "since the quantity is pool_elevation");
            } else if !block.has("datum_source") {
                block.missing("datum_source", "since an offset is given");
            }
        }
        Some(other) => {
            for stem in ["datum_offset", "datum_source"] {
                block.refuse(stem, &format!("no datum: {} is no elevation", other.word()));
            }
        }
        None => {}
    }
}

fn read_csv(block: &Block<'_, '_>, rule: Option<&ServiceRule>) -> Option<CsvColumns> {
    let inner = block.block("csv");
    if let Some(rule) = rule {
        if rule.needs_file && !block.has("csv") {
            block.missing("csv", &format!("since {} reads a file", rule.name));
        }
        if !rule.needs_file {
            block.refuse(
                "csv",
                &format!("no file: {} is asked over the network", rule.name),
            );
        }
    }
    let inner = inner?;
    let (path, time, value, depth) = (
        inner.text("path"),
        inner.text("time"),
        inner.text("value"),
        inner.text("depth"),
    );
    let stamp_zone = inner.text("stamp_zone");
    if let Some(zone) = stamp_zone.as_ref().filter(|zone| !is_stamp_zone(&zone.value)) {
        let found = format!("stamp_zone = {}", quote(&zone.value));
        inner.fault(
            &zone.span,
            found,
            "an IANA name, \"UTC\" or an offset such as \"-08:00\"",
            "say in which zone the file's stamps are",
        );
    }
    let missing = inner.texts("missing");
    Some(CsvColumns {
        path: path?.value.into(),
        time: time?.value,
        value: value?.value,
        depth: depth.map(|at| at.value),
        stamp_zone: stamp_zone?.value,
        missing: missing?,
    })
}

fn is_stamp_zone(text: &str) -> bool {
    let offset = text.len() == 6 && text.parse::<FixedOffset>().is_ok();
    text == "UTC" || text.parse::<Tz>().is_ok() || offset
}
