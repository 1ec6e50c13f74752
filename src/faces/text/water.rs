//! Temperatures by depth: a column a zone, with the range that the members span, and what they rest on.

use crate::column::ProfileBasis;
use crate::faces::reader::Reader;
use crate::faces::words;
use crate::lake::ZoneKind;
use crate::reports::{Brief, DepthTemp, ZoneWaterSummary};

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
}

/// What the table shows and what it rests on.
fn standing(zones: &[&ZoneWaterSummary], reader: &Reader) -> String {
    let main = zones.iter().find(|z| z.kind == ZoneKind::MainBody);
    let rests = main.map_or_else(String::new, |z| words::basis(reader, &z.basis));
    let measured = |z: &&&ZoneWaterSummary| matches!(z.basis, ProfileBasis::Measured { .. });
    let arms = match zones.iter().filter(|z| z.kind == ZoneKind::Arm).find(measured) {
        _ if zones.iter().all(|z| z.kind != ZoneKind::Arm) => "",
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
