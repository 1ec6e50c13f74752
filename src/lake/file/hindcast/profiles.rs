//! Tables of observed profiles and of winters.

use super::table::{S_PER_H, read_scale, read_table_file};
use crate::lake::file::block::Block;
use crate::lake::file::places::all;
use crate::lake::{Depths, IceTable, ProfileTable, ProfileWhat};

/// Hour of the day of a stamp that is a day, where the file says nothing (project choice: the middle).
const DAY_HOUR_H: f64 = 12.0;

pub(super) fn read_profiles(block: &Block<'_, '_>) -> Option<ProfileTable> {
    let table = read_table_file(block);
    let what = block.word("what");
    let scale = match &what {
        Some(what) => read_scale(block, "unit", what.value, S_PER_H),
        None => block.text("unit").and(None),
    };
    let depths = read_depths(block);
    let day_hour = block.number("day_hour_h");
    let (low, high) = (block.number("low"), block.number("high"));
    if let (Some(low), Some(high)) = (&low, &high)
        && high.value <= low.value
    {
        let wanted = format!("more than low, {}", low.value);
        block.fault(
            &high.span,
            format!("high = {}", high.value),
            wanted,
            "swap the two, or correct one",
        );
    }
    let scale = scale?;
    Some(ProfileTable {
        table: table?,
        what: match what?.value {
            "water_temp" => ProfileWhat::WaterTemp,
            _ => ProfileWhat::Oxygen,
        },
        depths: depths?,
        scale,
        day_hour_h: day_hour.map_or(DAY_HOUR_H, |at| at.value),
        low: low.map(|at| scale.to_si(at.value)),
        high: high.map(|at| scale.to_si(at.value)),
    })
}

fn read_depths(block: &Block<'_, '_>) -> Option<Depths> {
    if block.has("depths") {
        for stem in ["depth", "depth_unit", "value"] {
            block.refuse(stem, "no such key beside depths: a column each, or a row each");
        }
        let wide = all(block.blocks("depths").iter().map(|b| {
            let (column, depth) = (b.text("column"), b.measure("depth"));
            Some((column?.value, depth?.value))
        }))?;
        if wide.is_empty() {
            block.missing("depths", "with at least one entry");
            return None;
        }
        return Some(Depths::Wide(wide));
    }
    for stem in ["depth", "depth_unit", "value"] {
        if !block.has(stem) {
            block.missing(stem, "since depths do not stand in columns of their own (depths)");
        }
    }
    let (depth, value) = (block.text("depth"), block.text("value"));
    let depth_scale = read_scale(block, "depth_unit", "depth", S_PER_H);
    Some(Depths::Long {
        depth: depth?.value,
        depth_scale: depth_scale?,
        value: value?.value,
    })
}

pub(super) fn read_ice(block: &Block<'_, '_>) -> Option<IceTable> {
    let file = block.text("file");
    let (first, last) = (block.text("first"), block.text("last"));
    let missing = block.texts("missing");
    Some(IceTable {
        file: file?.value.into(),
        first: first?.value,
        last: last?.value,
        missing: missing?,
    })
}
