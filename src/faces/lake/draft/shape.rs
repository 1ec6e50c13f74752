//! Hypsography, zones and ramps of a draft.

use super::write::Page;
use crate::faces::Units;
use crate::lake::CapacityKind;
use crate::reports::draft::Draft;
use crate::units::{M_PER_FT, M2_PER_ACRE, M3_PER_ACRE_FT};

pub(super) fn render_hypsography(page: &mut Page, draft: &Draft) {
    let Some(capacity) = &draft.facts.capacity else {
        page.comment(
            "Surface area by elevation. Without it there are no volumes, and the rules that need them are left out. The \
             operator's elevation-area-capacity table holds it: run `plungeline lake new` again with --hypsography FILE, or write",
        );
        page.comment("[hypsography]");
        let (elevation, area) = (
            page.unit("elevation", "ft", "m"),
            page.unit("area", "acres", "m2"),
        );
        page.comment(&format!("rows = [{{ {elevation} = 631.0, {area} = 0.0 }}, ...]"));
        page.gap();
        return;
    };
    let percent = |frac: f64| format!("{:.2} %", 100.0 * frac);
    page.comment(&format!(
        "Surface area by elevation, from {}: {} rows of {} given, which draw every row of the table to within {} of the \
         greatest {}.",
        draft.facts.capacity_origin,
        capacity.table.elevation_m.len(),
        capacity.given_rows,
        percent(capacity.drawn_frac),
        capacity.kind.word()
    ));
    if capacity.kind == CapacityKind::Storage {
        page.comment(&format!(
            "The table gives storage: areas are its slope by elevation, of a curve that never overshoots (monotone cubic, \
             Fritsch and Carlson 1980). Added up again they are nowhere more than {} of the greatest storage off.",
            percent(capacity.integral_frac)
        ));
    }
    if let Some(datum) = &draft.facts.capacity_datum {
        page.comment(&format!("Its elevations are above {datum}, as was stated."));
    }
    page.line("[hypsography]");
    page.line("rows = [");
    let table = &capacity.table;
    for ((elevation_m, area_m2), volume_m3) in
        table.elevation_m.iter().zip(&table.area_m2).zip(&table.volume_m3)
    {
        let mut row = match page.units {
            Units::Us => format!(
                "elevation_ft = {:.2}, area_acres = {:.2}",
                elevation_m / M_PER_FT,
                area_m2 / M2_PER_ACRE
            ),
            Units::Metric => format!("elevation_m = {elevation_m:.3}, area_m2 = {area_m2:.0}.0"),
        };
        if table.volume_given {
            row.push_str(&match page.units {
                Units::Us => format!(", volume_acre_ft = {:.1}", volume_m3 / M3_PER_ACRE_FT),
                Units::Metric => format!(", volume_m3 = {volume_m3:.0}.0"),
            });
        }
        page.line(&format!("  {{ {row} }},"));
    }
    page.line("]");
    page.gap();
}

pub(super) fn render_zones(page: &mut Page, draft: &Draft) {
    let shares = draft.facts.capacity.is_some();
    page.comment("Zones: one main body at the dam, and an arm for each flooded river valley.");
    page.line("[[zones]]");
    page.key("id", "\"main\"", "id, used in the rest of the file");
    page.key("name", "\"Main Body\"", "name for people");
    page.key("kind", "\"main-body\"", "");
    share(page, shares, "the lake has no arms");
    thalweg(page, "the dam");
    page.gap();
    page.comment("Copy this block for each further arm. Remove it if the lake has none.");
    page.line("[[zones]]");
    page.key("id", "\"arm-1\"", "id");
    page.question(
        "name",
        "what is the arm called? It is usually named after the river that enters it.",
    );
    page.key("kind", "\"arm\"", "");
    share(page, shares, "you remove this arm");
    thalweg(page, "its mouth");
    page.gap();
}

fn share(page: &mut Page, asked: bool, without: &str) {
    if !asked {
        return;
    }
    let elevation = page.unit("elevation", "ft", "m");
    page.question_like(
        "area_share",
        &format!(
            "this zone's share of the lake's area by elevation, all zones adding up to 1: measure the areas on a map at one or \
             two pool levels. Remove the line if {without}."
        ),
        &format!("[{{ {elevation} = 845.0, share_frac = 0.6 }}]"),
    );
}

fn thalweg(page: &mut Page, from: &str) {
    let keys = [
        page.unit("distance", "mi", "m"),
        page.unit("bed_elevation", "ft", "m"),
        page.unit("width", "ft", "m"),
    ];
    page.question_like(
        "thalweg",
        &format!(
            "the old river bed from {from} to the head, from a map with depth lines. Remove the line if you do not know it; \
             depths of the zone are then not known either."
        ),
        &format!("[{{ {} = 0.0, {} = 655.0, {} = 1100.0 }}, ...]", keys[0], keys[1], keys[2]),
    );
}

pub(super) fn render_ramps(page: &mut Page) {
    page.comment("Launch ramps. Copy the block for each; remove it if none matters to you.");
    page.line("[[ramps]]");
    page.key("id", "\"ramp-1\"", "id");
    page.question("name", "what is the ramp called?");
    page.question(
        "zone",
        "the zone that it launches into: \"main\", or the id of an arm.",
    );
    let toe = page.unit("toe_elevation", "ft", "m");
    page.question(
        &toe,
        "elevation of the lower end of the concrete, in the datum above. Parks and marinas publish it as \"ramp usable down to\"; \
         or note the pool on a day when the water just reaches the end.",
    );
    page.gap();
}
