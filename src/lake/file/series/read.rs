//! Where each series comes from, key by key.

use super::csv::{read_csv, read_stamp_zone};
use super::order::{StandIn, check_order};
use super::place::{check_datum, check_depth, read_place};
use super::service::{
    check_dates, check_further, check_options, check_unit, read_cadences, read_service, read_station,
};
use crate::lake::file::block::{Block, quote};
use crate::lake::file::fault::At;
use crate::lake::file::known::{Known, choose};
use crate::lake::file::places::{all, unique};
use crate::lake::{SeriesId, SeriesSource};
use crate::quantity::Quantity;

/// All series; `None` where one of them is faulty.
pub(in crate::lake::file) fn read_series(
    root: &Block<'_, '_>,
    known: &Known<'_>,
) -> Option<Vec<SeriesSource>> {
    let mut ids = Vec::new();
    let mut stand_ins = Vec::new();
    let read = |block: &Block<'_, '_>| {
        let id = block.id("id");
        ids.extend(id.clone());
        let first = block.reference("stands_in_for", &known.ids("series"));
        let found = read_one(block, id.clone(), first.as_ref(), known);
        stand_ins.extend(id.zip(first).map(|(id, first)| StandIn { id: id.value, first }));
        found
    };
    let read: Vec<Option<SeriesSource>> = root.blocks("series").iter().map(read).collect();
    check_order(root.faults, &stand_ins, read.iter().flatten());
    let list = all(read.into_iter());
    unique(root.faults, "series", ids.iter());
    list
}

fn read_one(
    block: &Block<'_, '_>,
    id: Option<At<String>>,
    first: Option<&At<String>>,
    known: &Known<'_>,
) -> Option<SeriesSource> {
    let quantity = read_quantity(block);
    let place = read_place(block, quantity.as_ref().map(|at| at.value), known);
    let rule = read_service(block, known);
    let csv = read_csv(block, rule);
    let depth = block.measure("depth");
    check_depth(block, quantity.as_ref().map(|at| at.value));
    let cadences = read_cadences(block, rule);
    let chosen = cadences.as_ref().map(|at| at.value.as_slice());
    let (station, parameter) = read_station(block, rule, quantity.as_ref().map(|at| at.value), chosen);
    let (daily_from, daily_until) = (block.date("daily_from"), block.date("daily_until"));
    let continuous_from = block.date("continuous_from");
    check_dates(block, rule, chosen, [&daily_from, &daily_until]);
    let (statistic, ensemble_model) = (block.text("statistic"), block.text("ensemble_model"));
    check_options(block, rule, chosen);
    let unit = block.text("unit");
    check_unit(block, rule);
    let (offset, datum_source) = (block.measure("datum_offset"), block.text("datum_source"));
    check_datum(block, quantity.as_ref().map(|at| at.value));
    let (file, stamp_zone) = (block.text("file"), read_stamp_zone(block));
    check_further(block, rule);
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
        file: file.map(|at| at.value.into()),
        stamp_zone: text(stamp_zone),
        csv,
        stands_in_for: first.map(|at| SeriesId::new(&at.value)),
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
