//! One zone of one quantity: blocks of water, contours between them, ground.

use super::bands::Bands;
use crate::column::reservoir::{MouthSide, SectionColumn, SectionZone};
use crate::faces::picture::colour::Rgb;
use crate::faces::picture::layout::line;
use crate::faces::picture::raster::text_width;
use crate::faces::picture::scene::{Anchor, Area, INK, Mark, PAPER};
use crate::lake::ZoneKind;

/// Letters within a strip.
pub(super) const SMALL: f32 = 10.0;
/// Ground.
pub(super) const GROUND: Rgb = [0xc9, 0xbf, 0xb0];
/// The bed's line.
const BED: Rgb = [0x7c, 0x70, 0x60];
/// Least room between two words of contours, and between one and an edge of the water.
const CONTOUR_ROOM: f32 = 13.0;
/// Narrowest column that has words of contours.
const CONTOUR_WIDTH: f32 = 56.0;

/// Where a zone is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plot {
    pub area: Area,
    /// Distance from the zone's mouth at the left edge.
    pub left_m: f64,
    /// Distance at the right edge.
    pub right_m: f64,
    /// Elevation of the upper edge.
    pub top_m: f64,
    /// Elevation of the lower edge.
    pub bottom_m: f64,
}

impl Plot {
    /// The plot of a whole zone.
    pub fn of(zone: &SectionZone, area: Area, (top_m, bottom_m): (f64, f64)) -> Plot {
        let (mouth_m, head_m) = zone.reach_m();
        let (left_m, right_m) = match zone.mouth {
            MouthSide::Left => (mouth_m, head_m),
            MouthSide::Right => (head_m, mouth_m),
        };
        Plot {
            area,
            left_m,
            right_m,
            top_m,
            bottom_m,
        }
    }

    pub fn x(&self, distance_m: f64) -> f32 {
        self.area.x + self.area.w * ((distance_m - self.left_m) / (self.right_m - self.left_m)) as f32
    }

    pub fn y(&self, elevation_m: f64) -> f32 {
        self.area.y + self.area.h * ((self.top_m - elevation_m) / (self.top_m - self.bottom_m)) as f32
    }

    /// Left and right edge of a column, on whole pixels, so that blocks meet without a seam.
    pub fn ends(&self, column: &SectionColumn) -> (f32, f32) {
        let (a, b) = (self.x(column.from_m).round(), self.x(column.to_m).round());
        (a.min(b), a.max(b))
    }

    pub fn right(&self) -> f32 {
        self.area.x + self.area.w
    }

    pub fn below(&self) -> f32 {
        self.area.y + self.area.h
    }
}

/// Water, contours and ground of a zone.
pub(super) fn draw_zone(marks: &mut Vec<Mark>, zone: &SectionZone, bands: &Bands, plot: &Plot) {
    for column in &zone.columns {
        blocks(marks, column, bands, plot);
    }
    for pair in zone.columns.windows(2) {
        if let Some(surface_m) = pair.iter().filter_map(|c| c.surface_elevation_m).reduce(f64::max) {
            let x = plot.ends(&pair[0]).1;
            line(marks, vec![(x, plot.y(surface_m)), (x, plot.below())], 1.0, PAPER);
        }
    }
    ground(marks, zone, plot);
    // Aside of the middle, where rivers come to rest: toward the mouth, where an arm is deep, and away from the dam.
    let place_frac = if zone.kind == ZoneKind::MainBody {
        0.72
    } else {
        0.28
    };
    for column in &zone.columns {
        if let Some(surface_m) = column.surface_elevation_m {
            let y = plot.y(surface_m);
            for (left, right) in wet(column, surface_m, plot) {
                line(marks, vec![(left, y), (right, y)], 1.4, INK);
            }
        }
        contour_words(marks, (column, place_frac), bands, plot);
    }
}

/// A block a layer, and a line where the band changes.
fn blocks(marks: &mut Vec<Mark>, column: &SectionColumn, bands: &Bands, plot: &Plot) {
    let (left, right) = plot.ends(column);
    for layer in &column.layers {
        let (upper, lower) = (
            plot.y(layer.top_elevation_m).round(),
            plot.y(layer.bottom_elevation_m).round(),
        );
        let area = Area {
            x: left,
            y: upper,
            w: right - left,
            h: lower - upper,
        };
        marks.push(Mark::Rect(area, bands.colour(bands.band(layer))));
    }
    for pair in column.layers.windows(2) {
        if bands.band(&pair[0]) != bands.band(&pair[1]) {
            let y = plot.y(pair[0].top_elevation_m).round();
            line(marks, vec![(left, y), (right, y)], 0.6, INK);
        }
    }
}

/// What of a contour is seen is named, from the surface down, as far as there is room.
fn contour_words(
    marks: &mut Vec<Mark>,
    (column, place_frac): (&SectionColumn, f64),
    bands: &Bands,
    plot: &Plot,
) {
    let (left, right) = plot.ends(column);
    let (Some(surface_m), true) = (column.surface_elevation_m, right - left >= CONTOUR_WIDTH) else {
        return;
    };
    let distance_m = column.from_m + place_frac * (column.to_m - column.from_m);
    let (x, bed_y) = (plot.x(distance_m), plot.y(column.bed_at_m(distance_m)));
    let mut free = plot.y(surface_m) + 0.75 * CONTOUR_ROOM;
    for pair in column.layers.windows(2).rev() {
        let (below, above) = (bands.band(&pair[0]), bands.band(&pair[1]));
        let y = plot.y(pair[0].top_elevation_m).round();
        if below != above && y >= free && y + 0.5 * CONTOUR_ROOM <= bed_y {
            said(
                marks,
                (x, y + 3.5),
                Anchor::Middle,
                &bands.contour(below, above),
                plot,
            );
            free = y + CONTOUR_ROOM;
        }
    }
}

/// A text on a piece of paper, within the plot.
pub(super) fn said(marks: &mut Vec<Mark>, at: (f32, f32), anchor: Anchor, words: &str, plot: &Plot) {
    let width = text_width(words, SMALL) + 4.0;
    let from = match anchor {
        Anchor::Start => at.0,
        Anchor::Middle => at.0 - 0.5 * width,
        Anchor::End => at.0 - width,
    };
    let x = from.min(plot.right() - width).max(plot.area.x);
    let area = Area {
        x,
        y: at.1 - SMALL + 0.5,
        w: width,
        h: SMALL + 2.0,
    };
    marks.push(Mark::Rect(area, PAPER));
    marks.push(Mark::Text {
        at: (x + 2.0, at.1),
        size: SMALL,
        anchor: Anchor::Start,
        upwards: false,
        text: words.to_owned(),
    });
}

/// The ground under the thalweg, from edge to edge.
fn ground(marks: &mut Vec<Mark>, zone: &SectionZone, plot: &Plot) {
    let mut top: Vec<(f32, f32)> = Vec::new();
    for column in &zone.columns {
        let flat = [column.from_m, column.to_m].map(|m| (plot.x(m), plot.y(column.bed_elevation_m)));
        let mut points: Vec<(f32, f32)> = if column.bed.is_empty() {
            flat.to_vec()
        } else {
            let point =
                |p: &crate::column::reservoir::BedPoint| (plot.x(p.distance_m), plot.y(p.elevation_m));
            column.bed.iter().map(point).collect()
        };
        if zone.mouth == MouthSide::Right {
            points.reverse();
        }
        top.extend(points);
    }
    for point in &mut top {
        point.1 = point.1.clamp(plot.area.y, plot.below());
    }
    let (Some(first), Some(last)) = (top.first().copied(), top.last().copied()) else {
        return;
    };
    let mut around = top.clone();
    around.extend([(last.0, plot.below()), (first.0, plot.below())]);
    marks.push(Mark::Polygon(around, GROUND));
    line(marks, top, 1.2, BED);
}

/// Stretches of a column, in pixels, over which the bed lies under the surface.
pub(super) fn wet(column: &SectionColumn, surface_m: f64, plot: &Plot) -> Vec<(f32, f32)> {
    if column.bed.is_empty() {
        return vec![plot.ends(column)];
    }
    let mut found: Vec<(f32, f32)> = Vec::new();
    for pair in column.bed.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let share = |m: f64| (m - a.elevation_m) / (b.elevation_m - a.elevation_m);
        let at = |share: f64| plot.x(a.distance_m + share * (b.distance_m - a.distance_m));
        let ends = match (a.elevation_m < surface_m, b.elevation_m < surface_m) {
            (true, true) => Some((at(0.0), at(1.0))),
            (true, false) => Some((at(0.0), at(share(surface_m)))),
            (false, true) => Some((at(share(surface_m)), at(1.0))),
            (false, false) => None,
        };
        found.extend(ends.map(|(x, y)| (x.min(y), x.max(y))));
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.dedup_by(|next, before| {
        let touch = next.0 - before.1 < 0.01;
        if touch {
            before.1 = next.1;
        }
        touch
    });
    found
}
