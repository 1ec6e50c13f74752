//! Temperatures by depth: a column a zone, with the range that the members span, and what they rest on.

use crate::column::ProfileBasis;
use crate::faces::reader::{Reader, rounded};
use crate::faces::words;
use crate::lake::ZoneKind;
use crate::reports::{Brief, DepthOxygen, DepthTemp, ZoneWaterSummary};

use super::block::{Block, Page};
use super::conditions::line;

/// Longest head of a column.
const LONGEST_NAME: usize = 40;

/// Writes the water of every open zone that has temperatures.
pub fn water(page: &mut Page, brief: &Brief, reader: &Reader) {
    let zones: Vec<&ZoneWaterSummary> = brief
        .water
        .zones
        .iter()
        .filter(|z| !z.closed && !z.temps.is_empty())
        .collect();
    if zones.is_empty() {
        line(page, "Water", "temperatures by depth are not known");
        return;
    }
    line(page, "Water", &standing(&zones, reader));
    let heads = zones.iter().map(|z| shortened(&z.name)).collect();
    let deepest = zones.iter().max_by_key(|z| z.temps.len());
    let depths = deepest.map_or(&[][..], |z| &z.temps[..]);
    let row = |(i, depth): (usize, &DepthTemp)| {
        let cells = zones
            .iter()
            .map(|z| z.temps.get(i).map_or(String::new(), |t| cell(t, reader)));
        (reader.depth(depth.depth_m), cells.collect())
    };
    page.blocks.push(Block::Table {
        heads,
        rows: depths.iter().enumerate().map(row).collect(),
    });
    oxygen(page, brief, &zones, reader);
    reference(page, brief, reader);
}

/// Oxygen at the surface and where there is least of it, zone by zone.
fn oxygen(page: &mut Page, brief: &Brief, zones: &[&ZoneWaterSummary], reader: &Reader) {
    let of_zone = |zone: &&ZoneWaterSummary| {
        let surface = zone.oxygens.first()?;
        let less = |a: &&DepthOxygen, b: &&DepthOxygen| a.median_mg_l.total_cmp(&b.median_mg_l);
        let least = zone.oxygens.iter().min_by(less)?;
        let number = |mg_l: f64| rounded(mg_l, 1);
        let mut text = format!(
            "{} {} mg/L at the surface",
            zone.name,
            number(surface.median_mg_l)
        );
        if least.depth_m > 0.0 {
            text.push_str(&format!(
                ", least {} ({} to {}) at {}",
                number(least.median_mg_l),
                number(least.low_mg_l),
                number(least.high_mg_l),
                reader.depth(least.depth_m)
            ));
        }
        Some(text)
    };
    let said: Vec<String> = zones.iter().filter_map(of_zone).collect();
    let (false, Some(columns)) = (said.is_empty(), &brief.water.columns) else {
        return;
    };
    let rests = if columns.oxygen_measured {
        "computed, corrected by readings"
    } else {
        "computed from what is known of such lakes beforehand alone; never measured here"
    };
    line(page, "Oxygen", &format!("{}; {rests}", said.join("; ")));
}

/// What the columns rest on, and what the quick model says beside them; without columns, that it stands in for them.
fn reference(page: &mut Page, brief: &Brief, reader: &Reader) {
    let Some(columns) = &brief.water.columns else {
        return line(
            page,
            "Model",
            "the quick one (a surface from the air, a rule of thumb below it) stands in for the lake's columns",
        );
    };
    let quick = columns.quick_surface_degc.map_or(String::new(), |degc| {
        format!(
            "; the quick model, for reference, has {} at the surface",
            reader.temp(degc)
        )
    });
    let readings = match columns.readings {
        0 => "no reading of the water has corrected them".to_owned(),
        1 => "corrected by 1 reading of the water".to_owned(),
        n => format!("corrected by {n} readings of the water"),
    };
    let text = format!(
        "columns of water, main body and arms, run hour by hour since {}; {readings}{quick}",
        reader.stamp(columns.cold_start)
    );
    line(page, "Model", &text);
}

/// What the table shows and what it rests on.
fn standing(zones: &[&ZoneWaterSummary], reader: &Reader) -> String {
    let main = zones.iter().find(|z| z.kind == ZoneKind::MainBody);
    let rests = main.map_or_else(String::new, |z| words::basis(reader, &z.basis));
    let measured = |z: &&&ZoneWaterSummary| matches!(z.basis, ProfileBasis::Measured { .. });
    let arms = match zones.iter().filter(|z| z.kind == ZoneKind::Arm).find(measured) {
        _ if zones.iter().all(|z| z.kind != ZoneKind::Arm) => "",
        // The columns have arms of their own.
        _ if main.is_some_and(|z| matches!(z.basis, ProfileBasis::Columns { .. })) => "",
        Some(_) => "; the arms are reckoned from it",
        None => "; no arm is measured by depth",
    };
    format!(
        "{}, about: {rests}{arms}; in brackets what 8 of 10 members span",
        reader.temp_unit()
    )
}

/// A name that fits over a column.
fn shortened(name: &str) -> String {
    match name.chars().count() {
        ..=LONGEST_NAME => name.to_owned(),
        _ => name.chars().take(LONGEST_NAME - 1).chain(['…']).collect(),
    }
}

/// `68 (67–69)`, one number where the ends round to it.
fn cell(temp: &DepthTemp, reader: &Reader) -> String {
    let number = |temp_degc| reader.temp_number(temp_degc);
    let (low, middle, high) = (
        number(temp.low_degc),
        number(temp.median_degc),
        number(temp.high_degc),
    );
    if low == high {
        middle
    } else {
        format!("{middle} ({low}–{high})")
    }
}
