//! Tables of weather.

use super::table::{S_PER_H, read_scale, read_stamp_at, read_table_file};
use crate::lake::file::block::{Block, quote};
use crate::lake::file::places::all;
use crate::lake::{WeatherColumn, WeatherTable, WeatherWhat};

/// Height of the wind where the file says nothing, metres: that of weather stations (WMO-No. 8, from memory).
const WIND_HEIGHT_M: f64 = 10.0;

pub(super) fn read_weather(block: &Block<'_, '_>) -> Option<WeatherTable> {
    let table = read_table_file(block);
    let step = block.number("step_h");
    let stamp = read_stamp_at(block);
    let shift = block.number("stamp_shift_h");
    let gap = block.number("longest_gap_h");
    let wind_height = block.measure("wind_height");
    // Units of a faulty step are checked all the same.
    let step_s = step.as_ref().map_or(S_PER_H, |at| at.value * S_PER_H);
    let columns = all(block.blocks("columns").iter().map(|b| read_column(b, step_s)));
    Some(WeatherTable {
        table: table?,
        step_s: step.map(|_| step_s)?,
        stamp: stamp?,
        stamp_shift_s: shift.map_or(0.0, |at| at.value * S_PER_H),
        longest_gap_s: gap.map(|at| at.value * S_PER_H),
        wind_height_m: wind_height.map_or(WIND_HEIGHT_M, |at| at.value),
        columns: columns?,
    })
}

fn read_column(block: &Block<'_, '_>, step_s: f64) -> Option<WeatherColumn> {
    let (what, column) = (block.word("what"), block.text("column"));
    let scale = match &what {
        Some(what) => read_scale(block, "unit", what.value, step_s),
        None => block.text("unit").and(None),
    };
    Some(WeatherColumn {
        what: WeatherWhat::of(what?.value)?,
        column: column?.value,
        scale: scale?,
    })
}

/// Each quantity once, and what a run cannot do without.
pub(super) fn check_weather(root: &Block<'_, '_>, blocks: &[Block<'_, '_>], tables: &[WeatherTable]) {
    let mut seen: Vec<WeatherWhat> = Vec::new();
    for (block, table) in blocks.iter().zip(tables) {
        for column in &table.columns {
            if seen.contains(&column.what) {
                let found = format!("a second column of {}", column.what.word());
                let wanted = "each quantity in one column";
                let mend = format!("remove {} or the other one", quote(&column.column));
                block.fault(&block.span, found, wanted, mend);
            }
            seen.push(column.what);
        }
    }
    use WeatherWhat::*;
    let has = |whats: &[WeatherWhat]| whats.iter().any(|what| seen.contains(what));
    let humidity = [DewPoint, RelativeHumidity, SpecificHumidity, VapourPressure];
    let wants = [
        (has(&[AirTemp]), "air_temp"),
        (
            has(&humidity),
            "dew_point, relative_humidity, specific_humidity or vapour_pressure",
        ),
        (
            has(&[WindSpeed]) || (has(&[WindU]) && has(&[WindV])),
            "wind_speed, or wind_u and wind_v",
        ),
        (
            has(&[Shortwave, CloudCover]),
            "shortwave, or cloud_cover to derive it from",
        ),
    ];
    for (_, what) in wants.iter().filter(|(there, _)| !there) {
        root.fault(
            &root.span,
            format!("hindcast.weather without {what}"),
            format!("a column of {what}"),
            "add it to the columns of one of the tables",
        );
    }
}
