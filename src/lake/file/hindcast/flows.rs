//! Tables of rivers, releases and the level.

use super::table::{S_PER_H, read_longest_gap_s, read_rows, read_scale, read_table_file};
use crate::lake::file::block::{Block, quote};
use crate::lake::file::known::{Known, choose};
use crate::lake::file::places::all;
use crate::lake::{InflowId, InflowTable, LevelTable, Outlet, ReleaseTable, RiverColumn, RiverWhat};

pub(super) fn read_inflow(block: &Block<'_, '_>, known: &Known<'_>) -> Option<InflowTable> {
    let inflow = block.reference("inflow", &known.ids("inflows"));
    let (table, rows, gap) = (
        read_table_file(block),
        read_rows(block),
        read_longest_gap_s(block),
    );
    let columns = all(block.blocks("columns").iter().map(read_column));
    Some(InflowTable {
        inflow: InflowId::new(inflow?.value),
        table: table?,
        rows: rows?,
        longest_gap_s: gap?,
        columns: columns?,
    })
}

fn read_column(block: &Block<'_, '_>) -> Option<RiverColumn> {
    let (what, column) = (block.word("what"), block.text("column"));
    let scale = match &what {
        // No unit of a river is an amount of a span.
        Some(what) => read_scale(block, "unit", what.value, S_PER_H),
        None => block.text("unit").and(None),
    };
    Some(RiverColumn {
        what: RiverWhat::of(what?.value)?,
        column: column?.value,
        scale: scale?,
    })
}

/// Each quantity of a river once, and discharge and temperature of each.
pub(super) fn check_rivers(blocks: &[Block<'_, '_>], tables: &[InflowTable]) {
    let mut seen: Vec<(&InflowId, RiverWhat)> = Vec::new();
    for (block, table) in blocks.iter().zip(tables) {
        for column in &table.columns {
            if seen.contains(&(&table.inflow, column.what)) {
                let found = format!(
                    "a second column of {} of {}",
                    column.what.word(),
                    quote(table.inflow.as_str())
                );
                block.fault(
                    &block.span,
                    found,
                    "each quantity of a river in one column",
                    "remove one of them",
                );
            }
            seen.push((&table.inflow, column.what));
        }
    }
    for (i, (block, table)) in blocks.iter().zip(tables).enumerate() {
        if tables[..i].iter().any(|before| before.inflow == table.inflow) {
            continue;
        }
        for what in [RiverWhat::Discharge, RiverWhat::Temp] {
            if !seen.contains(&(&table.inflow, what)) {
                let found = format!("river {} without {}", quote(table.inflow.as_str()), what.word());
                block.fault(
                    &block.span,
                    found,
                    format!("a column of {}", what.word()),
                    "add it here, or in another [[hindcast.inflow]] of the same river",
                );
            }
        }
    }
}

pub(super) fn read_release(block: &Block<'_, '_>, outlets: Option<&[Outlet]>) -> Option<ReleaseTable> {
    let outlet = read_outlet(block, outlets);
    let (table, rows, gap) = (
        read_table_file(block),
        read_rows(block),
        read_longest_gap_s(block),
    );
    let column = block.text("column");
    let scale = read_scale(block, "unit", "release", S_PER_H);
    Some(ReleaseTable {
        outlet: outlet?,
        table: table?,
        rows: rows?,
        longest_gap_s: gap?,
        column: column?.value,
        scale: scale?,
    })
}

fn read_outlet(block: &Block<'_, '_>, outlets: Option<&[Outlet]>) -> Option<String> {
    let named = block.text("outlet");
    // Faulty outlets have their faults already.
    let outlets = outlets?;
    let ids: Vec<&str> = outlets.iter().map(|outlet| outlet.id.as_str()).collect();
    match (named, &ids[..]) {
        (Some(named), _) if ids.contains(&named.value.as_str()) => Some(named.value),
        (Some(named), _) => {
            let found = format!("outlet = {}", quote(&named.value));
            let wanted = "an id of outlets of this file";
            block.fault(&named.span, found, wanted, choose(&named.value, &ids));
            None
        }
        (None, [only]) => Some((*only).to_owned()),
        (None, []) => {
            block.fault(
                &block.span,
                "a release of a lake without outlets",
                "the opening that releases it",
                "add [[outlets]] with its elevation; of an overflow, its crest",
            );
            None
        }
        (None, _) => {
            if !block.has("outlet") {
                block.missing("outlet", "since the lake has several");
            }
            None
        }
    }
}

pub(super) fn read_level(block: &Block<'_, '_>) -> Option<LevelTable> {
    let (table, rows, gap) = (
        read_table_file(block),
        read_rows(block),
        read_longest_gap_s(block),
    );
    let column = block.text("column");
    let scale = read_scale(block, "unit", "elevation", S_PER_H);
    let offset = block.measure("datum_offset");
    Some(LevelTable {
        table: table?,
        rows: rows?,
        longest_gap_s: gap?,
        column: column?.value,
        scale: scale?,
        datum_offset_m: offset?.value,
    })
}
