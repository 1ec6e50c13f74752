//! Hypsography, clarity and oxygen.

use super::block::{Block, plain};
use super::fault::At;
use super::hindcast::read_scale;
use super::known::Known;
use crate::lake::{Clarity, Hypsography, HypsographyTable, OxygenPrior, TrophicState};
use crate::units::{M_PER_FT, M2_PER_ACRE, M3_PER_ACRE_FT};

/// Volumes that the file gives may differ from what the areas allow by this share of the interval's
/// volume: tables are rounded, and areas between rows are not known.
const VOLUME_TOLERANCE_FRAC: f64 = 0.02;
/// Extinction times Secchi depth (Poole & Atkins 1929, from memory).
const EXTINCTION_BY_SECCHI: f64 = 1.7;

/// Keys of a hypsography in a file.
const IN_FILE: [&str; 5] = [
    "elevation_column",
    "depth_column",
    "height_unit",
    "area_column",
    "area_unit",
];

struct Row {
    elevation_m: Option<At<f64>>,
    area_m2: Option<At<f64>>,
    volume_m3: Option<At<f64>>,
}

pub(super) fn read_hypsography(block: &Block<'_, '_>, known: &Known<'_>) -> Option<Hypsography> {
    for stem in IN_FILE {
        block.refuse(stem, "no such key beside rows: it belongs to a file");
    }
    if !block.has("rows") {
        block.missing("rows", "or a file");
    }
    let blocks = block.blocks("rows");
    let rows: Vec<Row> = blocks
        .iter()
        .map(|b| Row {
            elevation_m: b.measure("elevation"),
            area_m2: b.measure("area"),
            volume_m3: b.measure("volume"),
        })
        .collect();
    check_order(block, &rows);
    check_reach(block, &rows, known);
    let volume_given = blocks.iter().any(|b| b.has("volume"));
    if volume_given {
        for b in blocks.iter().filter(|b| !b.has("volume")) {
            b.missing("volume", "since other rows have one");
        }
        check_volumes(block, &rows);
    }
    if let [only] = &blocks[..] {
        only.fault(
            &only.span,
            "a hypsography of one row",
            "two rows or more",
            "add the rows above and below it",
        );
    }
    let elevation_m: Vec<f64> = rows
        .iter()
        .map(|r| value(&r.elevation_m))
        .collect::<Option<_>>()?;
    let area_m2: Vec<f64> = rows.iter().map(|r| value(&r.area_m2)).collect::<Option<_>>()?;
    let mut table = Hypsography::from_areas(elevation_m, area_m2);
    if volume_given {
        table.volume_m3 = rows.iter().map(|r| value(&r.volume_m3)).collect::<Option<_>>()?;
        table.volume_given = true;
    }
    Some(table)
}

/// The columns of a hypsography that stands in a file.
pub(super) fn read_hypsography_table(block: &Block<'_, '_>) -> Option<HypsographyTable> {
    block.refuse("rows", "no such key beside file: the rows stand in one place");
    for stem in ["height_unit", "area_column", "area_unit"] {
        if !block.has(stem) {
            block.missing(stem, "since the rows stand in a file");
        }
    }
    let (elevation, depth) = (block.text("elevation_column"), block.text("depth_column"));
    match (block.has("elevation_column"), block.has("depth_column")) {
        (true, true) => block.refuse(
            "depth_column",
            "no such key beside elevation_column: one of the two",
        ),
        (false, false) => block.missing("elevation_column", "or depth_column"),
        _ => {}
    }
    let is_depth = depth.is_some();
    let file = block.text("file");
    // A table of heights is no table of spans.
    let height_scale = read_scale(block, "height_unit", "depth", 1.0);
    let area = block.text("area_column");
    let area_scale = read_scale(block, "area_unit", "area", 1.0);
    Some(HypsographyTable {
        file: file?.value.into(),
        height: elevation.or(depth)?.value,
        is_depth,
        height_scale: height_scale?,
        area: area?.value,
        area_scale: area_scale?,
    })
}

fn value(at: &Option<At<f64>>) -> Option<f64> {
    at.as_ref().map(|at| at.value)
}

fn check_order(block: &Block<'_, '_>, rows: &[Row]) {
    for pair in rows.windows(2) {
        if let (Some(low), Some(high)) = (&pair[0].elevation_m, &pair[1].elevation_m)
            && high.value <= low.value
        {
            let wanted = format!("an elevation above that of the row before, {}", feet(low.value));
            block.fault(
                &high.span,
                format!("elevation {}", feet(high.value)),
                wanted,
                "put the rows in order, lowest first",
            );
        }
        if let (Some(low), Some(high)) = (&pair[0].area_m2, &pair[1].area_m2)
            && high.value < low.value
        {
            let found = format!("an area of {}, which shrinks with elevation", acres(high.value));
            let wanted = format!("an area of at least that of the row before, {}", acres(low.value));
            block.fault(
                &high.span,
                found,
                wanted,
                "a higher pool never has less surface: check both rows",
            );
        }
    }
}

fn check_reach(block: &Block<'_, '_>, rows: &[Row], known: &Known<'_>) {
    let first = rows.first().and_then(|r| r.elevation_m.as_ref());
    let last = rows.last().and_then(|r| r.elevation_m.as_ref());
    if let (Some(first), Some(minimum)) = (first, &known.minimum_pool_m)
        && first.value >= minimum.value
    {
        let found = format!("a hypsography that begins at {}", feet(first.value));
        let wanted = format!("a first row below the minimum pool, {}", feet(minimum.value));
        block.fault(&first.span, found, wanted, "add rows down to the deepest bed");
    }
    if let (Some(last), Some(full)) = (last, &known.full_pool_m)
        && last.value < full.value - 1e-6
    {
        let found = format!("a hypsography that ends at {}", feet(last.value));
        let wanted = format!("a last row at the full pool, {}, or above", feet(full.value));
        block.fault(&last.span, found, wanted, "add rows up to the full pool");
    }
}

/// Holds each volume against the last row whose volume was sound, so that one wrong volume is one fault.
fn check_volumes(block: &Block<'_, '_>, rows: &[Row]) {
    // Volume of the last sound row, and the least and the most that the areas allow since.
    let mut sound: Option<(f64, f64, f64)> = None;
    for (i, row) in rows.iter().enumerate() {
        let Some(volume) = &row.volume_m3 else { return };
        let Some((volume_m3, least_m3, most_m3)) = sound else {
            sound = Some((volume.value, 0.0, 0.0));
            continue;
        };
        let ends = |r: &Row| Some((value(&r.elevation_m)?, value(&r.area_m2)?));
        let (Some((e0, a0)), Some((e1, a1))) = (ends(&rows[i - 1]), ends(row)) else {
            return;
        };
        if e1 <= e0 || a1 < a0 {
            return; // noted already, and no bound follows from it
        }
        let (least_m3, most_m3) = (least_m3 + a0 * (e1 - e0), most_m3 + a1 * (e1 - e0));
        let slack_m3 = VOLUME_TOLERANCE_FRAC * most_m3;
        let (low_m3, high_m3) = ((least_m3 - slack_m3).max(0.0), most_m3 + slack_m3);
        let gain_m3 = volume.value - volume_m3;
        if (low_m3..=high_m3).contains(&gain_m3) {
            sound = Some((volume.value, 0.0, 0.0));
            continue;
        }
        sound = Some((volume_m3, least_m3, most_m3));
        let found = format!("a volume that grows by {}", acre_feet(gain_m3));
        let tolerance = plain(100.0 * VOLUME_TOLERANCE_FRAC);
        let wanted = format!(
            "growth of {} to {}: areas times the step, with {tolerance} % of tolerance",
            acre_feet(low_m3),
            acre_feet(high_m3)
        );
        let mend = "check area and volume of this row and the one before, or leave all volumes out";
        block.fault(&volume.span, found, wanted, mend);
    }
}

/// An elevation in both units: messages do not know which the reader gave.
pub(super) fn feet(elevation_m: f64) -> String {
    format!("{} ft ({} m)", plain(elevation_m / M_PER_FT), plain(elevation_m))
}

fn acres(area_m2: f64) -> String {
    format!(
        "{} acres ({} m2)",
        plain(area_m2 / M2_PER_ACRE),
        plain(area_m2.round())
    )
}

fn acre_feet(volume_m3: f64) -> String {
    format!(
        "{} acre-ft ({} m3)",
        plain(volume_m3 / M3_PER_ACRE_FT),
        plain(volume_m3)
    )
}

pub(super) fn read_clarity(block: &Block<'_, '_>) -> Option<Clarity> {
    let (secchi_m, extinction_per_m) = (block.months("secchi"), block.months("extinction"));
    match (block.has("secchi"), block.has("extinction")) {
        (true, true) => block.refuse("extinction", "Secchi depths or extinction, not both"),
        (false, false) => block.missing("secchi", "or extinction_per_m"),
        _ => {}
    }
    match (secchi_m, extinction_per_m) {
        (Some(secchi_m), _) => Some(Clarity {
            extinction_per_m: secchi_m.value.map(|s| EXTINCTION_BY_SECCHI / s),
            from_secchi: true,
        }),
        (None, Some(extinction)) => Some(Clarity {
            extinction_per_m: extinction.value,
            from_secchi: false,
        }),
        (None, None) => None,
    }
}

pub(super) fn read_oxygen(block: &Block<'_, '_>) -> Option<OxygenPrior> {
    let (state, demand) = (block.word("trophic_state"), block.number("demand_mg_l_per_day"));
    match (block.has("trophic_state"), block.has("demand_mg_l_per_day")) {
        (true, true) => block.refuse("demand_mg_l_per_day", "trophic state or demand, not both"),
        (false, false) => block.missing("trophic_state", "or demand_mg_l_per_day"),
        _ => {}
    }
    let state = state.map(|state| match state.value {
        "oligotrophic" => TrophicState::Oligotrophic,
        "mesotrophic" => TrophicState::Mesotrophic,
        _ => TrophicState::Eutrophic,
    });
    state
        .map(OxygenPrior::Trophic)
        .or(demand.map(|d| OxygenPrior::DemandMgLPerDay(d.value)))
}
