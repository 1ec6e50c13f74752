//! What is marked over the water: rivers, outlets, closed reaches, the full pool.

use super::strip::{Plot, SMALL, said, wet};
use super::words::river_mark;
use crate::column::WayKind;
use crate::column::reservoir::{BedPoint, MouthSide, Section, SectionColumn, SectionRiver, SectionZone};
use crate::faces::picture::colour::Rgb;
use crate::faces::picture::layout::{line, text};
use crate::faces::picture::scene::{Anchor, Area, INK, Mark, PAPER};

const DAM: Rgb = [0x55, 0x55, 0x55];
const FAINT: Rgb = [0x90, 0x90, 0x90];
/// Width of the dam.
pub(super) const DAM_WIDTH: f32 = 7.0;
/// Pixels between two lines of the hatching.
const HATCH: f32 = 5.0;
/// Distance of words from the surface.
const ABOVE: f32 = 9.0;
/// A level so near to the full pool needs no line of its own, m.
const NEAR_FULL_M: f64 = 0.5;

/// Everything that is marked in a zone; words only where `named`.
pub(super) fn mark_zone(
    marks: &mut Vec<Mark>,
    (section, zone): (&Section, &SectionZone),
    plot: &Plot,
    named: bool,
) {
    full_pool(marks, section, plot, named && is_main(zone));
    let rivers = || section.rivers.iter();
    for river in rivers() {
        hatch(marks, (zone, river), plot);
    }
    for river in rivers() {
        way_down(marks, (zone, river), plot);
        plunge(marks, (zone, river), plot);
    }
    if is_main(zone) {
        dam(marks, (section, zone), plot, named);
    }
    if named {
        for river in rivers() {
            name_river(marks, (section, zone, river), plot);
        }
        for column in zone.columns.iter().filter(|c| c.closed) {
            // In the ground under the level of the lake: rivers are named over it.
            let middle_m = 0.5 * (column.from_m + column.to_m);
            let top_m = column.bed_at_m(middle_m).min(section.surface_elevation_m);
            let y = plot.y(top_m) + SMALL + 6.0;
            let at = (plot.x(middle_m), y.min(plot.below() - 4.0));
            said(marks, at, Anchor::Middle, "closed", plot);
        }
    }
}

fn is_main(zone: &SectionZone) -> bool {
    zone.kind == crate::lake::ZoneKind::MainBody
}

fn full_pool(marks: &mut Vec<Mark>, section: &Section, plot: &Plot, named: bool) {
    if (section.full_pool_elevation_m - section.surface_elevation_m).abs() < NEAR_FULL_M {
        return;
    }
    let y = plot.y(section.full_pool_elevation_m);
    let mut x = plot.area.x;
    while x < plot.right() {
        let end = (x + 4.0).min(plot.right());
        line(marks, vec![(x, y), (end, y)], 0.8, FAINT);
        x += 8.0;
    }
    if named {
        // Away from a dam at the left, where the outlets are named.
        let share = if plot.left_m < plot.right_m { 0.8 } else { 0.5 };
        let at = (plot.area.x + share * plot.area.w, y + 3.5);
        said(marks, at, Anchor::Middle, "full pool", plot);
    }
}

/// A line that is seen on every colour.
fn clear_line(marks: &mut Vec<Mark>, points: Vec<(f32, f32)>, width: f32) {
    line(marks, points.clone(), width + 1.6, PAPER);
    line(marks, points, width, INK);
}

fn column_of(zone: &SectionZone, column: usize) -> Option<&SectionColumn> {
    zone.columns.iter().find(|c| c.column == column)
}

/// Where a river's line is in this zone: its column and distance from the mouth, m.
fn line_in<'a>(zone: &'a SectionZone, river: &SectionRiver) -> Option<(&'a SectionColumn, f64)> {
    let spot = river.line?;
    Some((column_of(zone, spot.column)?, spot.distance_m?))
}

/// Fine upright lines where the river has not yet sunk.
fn hatch(marks: &mut Vec<Mark>, (zone, river): (&SectionZone, &SectionRiver), plot: &Plot) {
    let Some((_, line_m)) = line_in(zone, river).filter(|_| river.enters == zone.id) else {
        return;
    };
    let (a, b) = (plot.x(line_m), plot.x(zone.reach_m().1));
    let (left, right) = (a.min(b), a.max(b));
    for column in &zone.columns {
        let Some(surface_m) = column.surface_elevation_m else {
            continue;
        };
        for (from, to) in wet(column, surface_m, plot) {
            let mut x = left.max(from) + 0.5 * HATCH;
            while x < right.min(to) {
                let share = f64::from((x - plot.area.x) / plot.area.w);
                let distance_m = plot.left_m + share * (plot.right_m - plot.left_m);
                let ends = [surface_m, column.bed_at_m(distance_m)].map(|m| plot.y(m));
                line(marks, vec![(x, ends[0]), (x, ends[1])], 0.7, INK);
                line(marks, vec![(x + 1.0, ends[0]), (x + 1.0, ends[1])], 0.7, PAPER);
                x += HATCH;
            }
        }
    }
}

/// The line itself with a triangle over it, and over that how well its place is known.
fn plunge(marks: &mut Vec<Mark>, (zone, river): (&SectionZone, &SectionRiver), plot: &Plot) {
    let Some((column, distance_m)) = line_in(zone, river) else {
        return;
    };
    let Some(surface_m) = column.surface_elevation_m else {
        return;
    };
    let (x, y) = (plot.x(distance_m), plot.y(surface_m));
    let bed_y = plot.y(column.bed_at_m(distance_m)).max(y);
    clear_line(marks, vec![(x, y), (x, bed_y)], 1.4);
    let side = |dx: f32| (x + dx).clamp(plot.area.x, plot.right());
    let corners = vec![(x, y), (side(-4.0), y - 7.0), (side(4.0), y - 7.0)];
    marks.push(Mark::Polygon(corners, INK));
    let spots = river.line_band.iter().flatten();
    let band: Vec<f32> = spots
        .filter(|spot| column_of(zone, spot.column).is_some())
        .filter_map(|spot| Some(plot.x(spot.distance_m?)))
        .collect();
    if let [a, b] = band[..] {
        line(marks, vec![(a.min(b), y - 7.5), (a.max(b), y - 7.5)], 2.0, INK);
    }
}

/// The way of a river that sinks: down the bed to where it comes to rest, level from there, and a ring.
fn way_down(marks: &mut Vec<Mark>, (zone, river): (&SectionZone, &SectionRiver), plot: &Plot) {
    let Some(rest) = river.rest.filter(|_| river.way == Some(WayKind::Sinks)) else {
        return;
    };
    let rest_y = plot.y(rest.elevation_m);
    let ring = column_of(zone, rest.column).map(|column| {
        // In the middle of what of the column is that deep.
        let deep = wet(column, rest.elevation_m, plot);
        let (left, right) = deep
            .first()
            .zip(deep.last())
            .map_or_else(|| plot.ends(column), |(first, last)| (first.0, last.1));
        (0.5 * (left + right), rest_y)
    });
    if let Some((column, line_m)) = line_in(zone, river) {
        let begin = BedPoint {
            distance_m: line_m,
            elevation_m: column.bed_at_m(line_m),
        };
        let mut points = down_the_bed(zone, begin, rest.elevation_m, plot);
        let mouth_x = match zone.mouth {
            MouthSide::Left => plot.area.x,
            MouthSide::Right => plot.right(),
        };
        // A bed that stays above the river's elevation ends at the mouth.
        let last_y = points.last().map_or(rest_y, |p| p.1.min(rest_y));
        points.push(ring.unwrap_or((mouth_x, last_y)));
        clear_line(marks, points, 1.0);
    }
    if let Some(at) = ring {
        for (radius, fill) in [(4.0, PAPER), (2.0, INK)] {
            marks.push(Mark::Dot {
                at,
                radius,
                fill,
                outline: INK,
            });
        }
    }
}

/// The bed from a place toward the mouth, down to an elevation.
fn down_the_bed(zone: &SectionZone, begin: BedPoint, rest_m: f64, plot: &Plot) -> Vec<(f32, f32)> {
    let point = |distance_m: f64, elevation_m: f64| (plot.x(distance_m), plot.y(elevation_m));
    let columns = zone.columns.iter();
    let mut bed: Vec<BedPoint> = columns.flat_map(|c| c.bed.iter().copied()).collect();
    bed.retain(|p| p.distance_m < begin.distance_m);
    bed.sort_by(|a, b| b.distance_m.total_cmp(&a.distance_m));
    let mut at = begin;
    let mut points = vec![point(at.distance_m, at.elevation_m.max(rest_m))];
    for next in bed {
        if next.elevation_m <= rest_m {
            if at.elevation_m > rest_m {
                let share = (at.elevation_m - rest_m) / (at.elevation_m - next.elevation_m);
                let distance_m = at.distance_m + share * (next.distance_m - at.distance_m);
                points.push(point(distance_m, rest_m));
            }
            break;
        }
        points.push(point(next.distance_m, next.elevation_m));
        at = next;
    }
    points
}

fn name_river(
    marks: &mut Vec<Mark>,
    (section, zone, river): (&Section, &SectionZone, &SectionRiver),
    plot: &Plot,
) {
    let Some(words) = river_mark(river).filter(|_| river.enters == zone.id) else {
        return;
    };
    let at_line = line_in(zone, river).map(|(_, m)| m);
    let open = zone.columns.iter().filter(|c| !c.closed);
    let head_m = open.map(|c| c.to_m).fold(f64::NEG_INFINITY, f64::max);
    let Some(distance_m) = at_line.or(head_m.is_finite().then_some(head_m)) else {
        return;
    };
    let y = plot.y(section.surface_elevation_m) - ABOVE - 4.0;
    let at = (plot.x(distance_m), y.max(plot.area.y + SMALL + 2.0));
    said(marks, at, Anchor::Middle, &words, plot);
}

/// The dam beside the main body, with its openings.
fn dam(marks: &mut Vec<Mark>, (section, zone): (&Section, &SectionZone), plot: &Plot, named: bool) {
    let (edge, inward, anchor) = match zone.mouth {
        MouthSide::Left => (plot.area.x, 1.0, Anchor::Start),
        MouthSide::Right => (plot.right(), -1.0, Anchor::End),
    };
    let top = plot.y(section.full_pool_elevation_m.max(section.surface_elevation_m)) - 3.0;
    marks.push(Mark::Rect(
        Area {
            x: edge.min(edge - inward * DAM_WIDTH),
            y: top,
            w: DAM_WIDTH,
            h: plot.below() - top,
        },
        DAM,
    ));
    // At the left stands the zone's name.
    if named && zone.mouth == MouthSide::Right {
        let x = edge - 0.5 * inward * DAM_WIDTH;
        text(marks, (x, plot.area.y - 5.0), SMALL, Anchor::Middle, "dam");
    }
    for outlet in &section.outlets {
        let y = plot.y(outlet.elevation_m);
        if (plot.area.y..=plot.below()).contains(&y) {
            // A notch in the dam, open to the water.
            let corners = vec![
                (edge + inward * 3.0, y - 4.0),
                (edge - inward * DAM_WIDTH, y),
                (edge + inward * 3.0, y + 4.0),
            ];
            marks.push(Mark::Polygon(corners.clone(), PAPER));
            let closed = corners.iter().chain(corners.first()).copied().collect();
            line(marks, closed, 0.8, INK);
            if named {
                let at = (edge + inward * 8.0, y + 3.5);
                said(marks, at, anchor, &outlet.name, plot);
            }
        }
    }
}
