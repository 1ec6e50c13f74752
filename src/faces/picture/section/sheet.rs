//! Where everything of a section stands.

use super::bands::{Bands, Shown};
use super::marks::mark_zone;
use super::strip::{Plot, draw_zone};
use super::words::{
    caption, common_distance_label, description, distance, distance_label, elevation, elevation_label, title,
    wrapped,
};
use crate::column::reservoir::{Section, SectionRows, SectionZone};
use crate::faces::Reader;
use crate::faces::picture::layout::{LEFT, frame, line, share, text, x_axis, y_axis};
use crate::faces::picture::panel::{Axis, AxisKind};
use crate::faces::picture::scene::{Anchor, Area, INK, Mark, Scene};
use crate::faces::picture::ticks::ticks;

const WIDTH: f32 = 1000.0;
const TITLE: f32 = 15.0;
const TEXT: f32 = 12.0;
const SMALL: f32 = 11.0;
/// Room for the title, over a panel, for an axis of distance, a line of the caption.
const HEAD: f32 = 30.0;
const ABOVE: f32 = 25.0;
const AXIS: f32 = 48.0;
const CAPTION_LINE: f32 = 15.0;
/// Height of a panel of zones side by side.
const PANEL: f32 = 210.0;
/// Room at the right for the bar of colours.
const RIGHT: f32 = 62.0;
/// Room between zones: the dam stands in it.
const BETWEEN: f32 = 26.0;
/// Least width of a zone.
const LEAST_WIDTH: f32 = 60.0;
/// Height of all rows together where each zone has its own, for one row, and the least of one.
const ROW: f32 = 90.0;
const LEAST_ROW: f32 = 40.0;
/// Room between the three columns of rows.
const APART: f32 = 26.0;
/// Width of a bar of colours.
const BAR: f32 = 13.0;
/// Air over the highest and ground under the lowest, share of the whole.
const AIR_FRAC: f64 = 0.12;
const UNDER_FRAC: f64 = 0.05;

/// What is to be drawn.
#[derive(Debug, Clone, Copy)]
pub struct SectionPicture<'a> {
    /// The section.
    pub section: &'a Section,
    /// Name of the lake for people.
    pub lake: &'a str,
    /// A line that belongs to the name, such as that the lake is invented.
    pub note: Option<&'a str>,
    /// Who reads.
    pub reader: &'a Reader,
}

/// Draws a section: three panels one above the other with the zones side by side, or, of more than two arms, a row a zone and
/// the three quantities beside each other.
pub fn section_scene(picture: &SectionPicture<'_>) -> Scene {
    let section = picture.section;
    let title = title(picture.lake, section, picture.reader);
    let mut marks = Vec::new();
    text(&mut marks, (LEFT, 20.0), TITLE, Anchor::Start, &title);
    let bands = Shown::ALL.map(|shown| Bands::of(shown, section, picture.reader.units));
    let mut y = match section.rows {
        SectionRows::Together => together(&mut marks, picture, &bands),
        SectionRows::EachZone => each_zone(&mut marks, picture, &bands),
    };
    for words in wrapped(
        &caption(section, picture.note, picture.reader),
        SMALL,
        WIDTH - LEFT - 16.0,
    ) {
        y += CAPTION_LINE;
        text(&mut marks, (LEFT, y), SMALL, Anchor::Start, &words);
    }
    Scene {
        width: WIDTH,
        height: (y + 10.0).ceil(),
        description: description(&title, section),
        marks,
    }
}

/// Elevations between which zones are drawn: air over surface and full pool, ground under the lowest bed.
fn ends_m<'a>(section: &Section, zones: impl Iterator<Item = &'a SectionZone>) -> (f64, f64) {
    let top_m = section.full_pool_elevation_m.max(section.surface_elevation_m);
    let low_m = zones.map(SectionZone::lowest_bed_m).fold(f64::INFINITY, f64::min);
    let whole_m = (top_m - low_m).max(1.0);
    (top_m + AIR_FRAC * whole_m, low_m - UNDER_FRAC * whole_m)
}

fn length_m(zone: &SectionZone) -> f64 {
    let (mouth_m, head_m) = zone.reach_m();
    (head_m - mouth_m).max(1.0)
}

/// All zones side by side, a panel a quantity. Gives where the panels end.
fn together(marks: &mut Vec<Mark>, picture: &SectionPicture<'_>, bands: &[Bands; 3]) -> f32 {
    let section = picture.section;
    let widths = widths(&section.zones);
    let ends_m = ends_m(section, section.zones.iter());
    let mut y = HEAD + 16.0;
    for (i, bands) in bands.iter().enumerate() {
        let (first, last) = (i == 0, i == 2);
        y += ABOVE;
        text(marks, (LEFT, y - 6.0), TEXT, Anchor::Start, bands.label());
        let mut area = Area {
            x: LEFT,
            y,
            w: 0.0,
            h: PANEL,
        };
        for (zone, width) in section.zones.iter().zip(&widths) {
            area.w = *width;
            let plot = Plot::of(zone, area, ends_m);
            draw_zone(marks, zone, bands, &plot);
            mark_zone(marks, (section, zone), &plot, first);
            frame(marks, area);
            axes(marks, (zone, picture), &plot, (area.x == LEFT, last));
            if first {
                let at = (area.x + 0.5 * area.w, HEAD + 12.0);
                text(marks, at, TEXT, Anchor::Middle, &zone.name);
            }
            area.x += width + BETWEEN;
        }
        let bar = Area {
            x: WIDTH - RIGHT + 12.0,
            w: BAR,
            ..area
        };
        bands.bar(marks, bar, true);
        y += PANEL;
    }
    y + AXIS
}

/// Widths by length, none less than the least.
fn widths(zones: &[SectionZone]) -> Vec<f32> {
    let room = WIDTH - LEFT - RIGHT - BETWEEN * (zones.len().saturating_sub(1)) as f32;
    let whole_m: f64 = zones.iter().map(length_m).sum();
    let by_length = |zone: &SectionZone| room * (length_m(zone) / whole_m) as f32;
    let narrow = |zone: &&SectionZone| by_length(zone) < LEAST_WIDTH;
    let taken = LEAST_WIDTH * zones.iter().filter(narrow).count() as f32;
    let rest_m: f64 = zones.iter().filter(|z| !narrow(z)).map(length_m).sum();
    let width = |zone: &SectionZone| match narrow(&zone) {
        true => LEAST_WIDTH,
        false => ((room - taken) * (length_m(zone) / rest_m) as f32).round(),
    };
    zones.iter().map(width).collect()
}

/// A row a zone, the quantities beside each other, one scale of distance and of elevation for all.
fn each_zone(marks: &mut Vec<Mark>, picture: &SectionPicture<'_>, bands: &[Bands; 3]) -> f32 {
    let (section, units) = (picture.section, picture.reader.units);
    let longest_m = section.zones.iter().map(length_m).fold(1.0, f64::max);
    let width = ((WIDTH - LEFT - 20.0 - 2.0 * APART) / 3.0).floor();
    let spans: Vec<(f64, f64)> = section
        .zones
        .iter()
        .map(|zone| ends_m(section, std::iter::once(zone)))
        .collect();
    let whole_m: f64 = spans.iter().map(|(top_m, low_m)| top_m - low_m).sum();
    let room = ROW * section.zones.len() as f32;
    let mut y = HEAD + 12.0;
    for (k, bands) in bands.iter().enumerate() {
        let x = LEFT + k as f32 * (width + APART);
        text(marks, (x, y), TEXT, Anchor::Start, bands.label());
    }
    for (zone, ends_m) in section.zones.iter().zip(&spans) {
        y += ABOVE;
        let share = ((ends_m.0 - ends_m.1) / whole_m) as f32;
        let height = (room * share).max(LEAST_ROW).round();
        for (k, bands) in bands.iter().enumerate() {
            let area = Area {
                x: LEFT + k as f32 * (width + APART),
                y,
                w: (width * (length_m(zone) / longest_m) as f32).round(),
                h: height,
            };
            let plot = Plot::of(zone, area, *ends_m);
            draw_zone(marks, zone, bands, &plot);
            mark_zone(marks, (section, zone), &plot, k == 0);
            frame(marks, area);
            axes(marks, (zone, picture), &plot, (k == 0, false));
            text(marks, (area.x, y - 5.0), SMALL, Anchor::Start, &zone.name);
        }
        y += height;
    }
    for (k, bands) in bands.iter().enumerate() {
        let below = Area {
            x: LEFT + k as f32 * (width + APART),
            y: y + 4.0,
            w: width,
            h: 0.0,
        };
        let axis = Axis {
            label: common_distance_label(units).to_owned(),
            kind: AxisKind::Number,
            from: 0.0,
            to: distance(units, longest_m),
        };
        line(
            marks,
            vec![(below.x, below.y), (below.x + width, below.y)],
            1.0,
            INK,
        );
        x_axis(marks, &axis, below);
        let bar = Area {
            y: y + AXIS + 6.0,
            h: BAR,
            ..below
        };
        bands.bar(marks, bar, false);
    }
    y + AXIS + 6.0 + BAR + 24.0
}

/// The axes of a plot: elevation, with numbers where it is the first of its row; distance, with numbers where it is the last.
fn axes(
    marks: &mut Vec<Mark>,
    (zone, picture): (&SectionZone, &SectionPicture<'_>),
    plot: &Plot,
    (numbers_up, numbers_along): (bool, bool),
) {
    let units = picture.reader.units;
    let up = Axis {
        label: elevation_label(units).to_owned(),
        kind: AxisKind::Number,
        from: elevation(units, plot.top_m),
        to: elevation(units, plot.bottom_m),
    };
    if numbers_up {
        y_axis(marks, &up, plot.area, true);
    }
    let along = Axis {
        label: distance_label(units, zone),
        kind: AxisKind::Number,
        from: distance(units, plot.left_m),
        to: distance(units, plot.right_m),
    };
    if numbers_along {
        x_axis(marks, &along, plot.area);
    } else if picture.section.rows == SectionRows::Together {
        for tick in ticks(&along, (plot.area.w / 60.0) as usize) {
            let x = plot.area.x + plot.area.w * share(&along, tick.at);
            line(marks, vec![(x, plot.below()), (x, plot.below() + 4.0)], 1.0, INK);
        }
    }
}
