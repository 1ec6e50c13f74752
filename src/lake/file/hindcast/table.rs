//! What all tables of a hindcast have: file, time, zone, gaps, spans, units.

use crate::lake::file::block::{Block, quote};
use crate::lake::file::fault::At;
use crate::lake::file::known::choose;
use crate::lake::file::series::read_stamp_zone;
use crate::lake::{Rows, Scale, StampAt, TableFile, units_of};

/// Longest time without a row of a river, a release or a level that is bridged, where the file says nothing, hours
/// (project choice).
const LONGEST_GAP_H: f64 = 30.0 * 24.0;
/// Seconds in an hour; exact.
pub(super) const S_PER_H: f64 = 3600.0;

pub(super) fn read_table_file(block: &Block<'_, '_>) -> Option<TableFile> {
    let (file, time) = (block.text("file"), block.text("time"));
    let zone = read_stamp_zone(block);
    let missing = block.texts("missing");
    Some(TableFile {
        file: file?.value.into(),
        time: time?.value,
        stamp_zone: zone?.value,
        missing: missing?,
    })
}

pub(super) fn read_stamp_at(block: &Block<'_, '_>) -> Option<StampAt> {
    Some(match block.word("stamp")?.value {
        "start" => StampAt::Start,
        "middle" => StampAt::Middle,
        _ => StampAt::End,
    })
}

/// Means of a span where `step_h` says so, else instants.
pub(super) fn read_rows(block: &Block<'_, '_>) -> Option<Rows> {
    if !block.has("step_h") {
        block.refuse("stamp", "no such key without step_h: a row is then an instant");
        return Some(Rows::Instants);
    }
    if !block.has("stamp") {
        block.missing("stamp", "since step_h is given");
    }
    let (step, stamp) = (block.number("step_h"), read_stamp_at(block));
    Some(Rows::Means {
        step_s: step?.value * S_PER_H,
        stamp: stamp?,
    })
}

pub(super) fn read_longest_gap_s(block: &Block<'_, '_>) -> Option<f64> {
    if !block.has("longest_gap_h") {
        return Some(LONGEST_GAP_H * S_PER_H);
    }
    Some(block.number("longest_gap_h")?.value * S_PER_H)
}

/// The unit under `stem`, as the way to the SI unit of `what`.
pub(in crate::lake::file) fn read_scale(
    block: &Block<'_, '_>,
    stem: &str,
    what: &str,
    step_s: f64,
) -> Option<Scale> {
    let unit: At<String> = block.text(stem)?;
    let scale = Scale::of(what, &unit.value, step_s);
    if scale.is_none() {
        let units = units_of(what);
        let wanted = format!("a unit of {what}: {}", units.join(", "));
        let found = format!("{stem} = {}", quote(&unit.value));
        block.fault(&unit.span, found, wanted, choose(&unit.value, &units));
    }
    scale
}
