//! Temperatures by depth: a column a zone, with the range that the members span, and what they rest on.

use crate::column::ProfileBasis;
use crate::faces::reader::Reader;
use crate::faces::words;
use crate::lake::ZoneKind;
use crate::reports::{Brief, ZoneWaterSummary};

use super::conditions::line;
use super::layout::{Page, WIDTH, padded_left};

/// Columns before the table.
const INDENT: usize = 12;
/// Columns of a depth.
const DEPTH: usize = 7;
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
    let columns: Vec<Vec<String>> = zones.iter().map(|zone| cells(zone, reader)).collect();
    let widths: Vec<usize> = columns.iter().map(|c| widest(c) + 2).collect();
    let mut first = 0;
    while first < columns.len() {
        let mut last = first + 1;
        let sum = |last: usize| widths[first..last].iter().sum::<usize>();
        while last < columns.len() && INDENT + DEPTH + sum(last + 1) <= WIDTH {
            last += 1;
        }
        table(
            page,
            &zones[first..last],
            &columns[first..last],
            &widths[first..last],
            reader,
        );
        first = last;
    }
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

/// The name of the zone, then a cell a depth: `68 (67–69)`, one number where the ends round to it.
fn cells(zone: &ZoneWaterSummary, reader: &Reader) -> Vec<String> {
    let mut cells = vec![match zone.name.chars().count() {
        ..=LONGEST_NAME => zone.name.clone(),
        _ => zone.name.chars().take(LONGEST_NAME - 1).chain(['…']).collect(),
    }];
    cells.extend(zone.temps.iter().map(|t| {
        let number = |temp_degc| reader.temp_number(temp_degc);
        let (low, middle, high) = (number(t.low_degc), number(t.median_degc), number(t.high_degc));
        if low == high {
            middle
        } else {
            format!("{middle} ({low}–{high})")
        }
    }));
    cells
}

fn widest(cells: &[String]) -> usize {
    cells.iter().map(|c| c.chars().count()).max().unwrap_or(0)
}

fn table(
    page: &mut Page,
    zones: &[&ZoneWaterSummary],
    columns: &[Vec<String>],
    widths: &[usize],
    reader: &Reader,
) {
    let deepest = zones.iter().max_by_key(|z| z.temps.len());
    let depths = deepest.map_or(&[][..], |z| &z.temps[..]);
    for row in 0..=depths.len() {
        let depth = match row.checked_sub(1) {
            Some(i) => reader.depth(depths[i].depth_m),
            None => String::new(),
        };
        let mut text = format!("{}{}", " ".repeat(INDENT), padded_left(&depth, DEPTH));
        for (column, width) in columns.iter().zip(widths) {
            let cell = column.get(row).map_or("", String::as_str);
            text.push_str(&padded_left(cell, *width));
        }
        page.raw(&text);
    }
}
