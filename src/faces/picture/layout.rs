//! Panels in rows, into marks.

use super::colour::{ColourScale, Rgb};
use super::panel::{Axis, AxisKind, FieldPanel};
use super::scene::{Anchor, Area, INK, Mark, PAPER, Scene};
use super::ticks::ticks;

/// Rows of panels. Panels of a row stand side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Title.
    pub title: String,
    /// A line below all: what dots and lines mean.
    pub caption: String,
    /// Rows from the top.
    pub rows: Vec<Vec<FieldPanel>>,
    /// Width in pixels.
    pub width: f32,
    /// Height of one row in pixels.
    pub row_height: f32,
}

const TEXT: f32 = 12.0;
const SMALL: f32 = 11.0;
/// Room for y labels, for the colour bar, between panels, above and below a plot.
pub(super) const LEFT: f32 = 62.0;
const RIGHT: f32 = 92.0;
const BETWEEN: f32 = 22.0;
const ABOVE: f32 = 26.0;
const BELOW: f32 = 48.0;
const HEAD: f32 = 30.0;
const FOOT: f32 = 24.0;
const DOT: f32 = 3.0;
const ICE: f32 = 4.0;
const ICE_COLOUR: Rgb = [0x6b, 0xb7, 0xe8];
/// A grey behind the field, where there is no water.
const LAND: Rgb = [0xee, 0xee, 0xee];

/// Draws the panels. Every row has the y axis of its first panel at the left and a colour bar at the right; panels with
/// a scale that differs from that of the last one are drawn with the colours of their own, so give a row one scale.
pub fn lay_out(picture: &Picture) -> Scene {
    let rows = picture.rows.len() as f32;
    let mut scene = Scene {
        width: picture.width,
        height: HEAD + rows * picture.row_height + FOOT,
        description: format!("{}. {}", picture.title, picture.caption),
        marks: Vec::new(),
    };
    let marks = &mut scene.marks;
    text(marks, (LEFT, 20.0), 15.0, Anchor::Start, &picture.title);
    for (i, row) in picture.rows.iter().enumerate() {
        let y = HEAD + i as f32 * picture.row_height;
        let shares: f32 = row.iter().map(|p| p.width_share).sum();
        let room = picture.width - LEFT - RIGHT - BETWEEN * (row.len().saturating_sub(1)) as f32;
        let mut x = LEFT;
        for (k, panel) in row.iter().enumerate() {
            let area = Area {
                x,
                y: y + ABOVE,
                w: (room * panel.width_share / shares).max(1.0),
                h: (picture.row_height - ABOVE - BELOW).max(1.0),
            };
            draw_panel(marks, panel, area, k == 0);
            x += area.w + BETWEEN;
            if k + 1 == row.len() {
                colour_bar(
                    marks,
                    &panel.scale,
                    Area {
                        x: picture.width - RIGHT + 14.0,
                        w: 14.0,
                        ..area
                    },
                );
            }
        }
    }
    text(
        marks,
        (LEFT, scene.height - 9.0),
        SMALL,
        Anchor::Start,
        &picture.caption,
    );
    scene
}

pub(super) fn text(marks: &mut Vec<Mark>, at: (f32, f32), size: f32, anchor: Anchor, text: &str) {
    if !text.is_empty() {
        marks.push(Mark::Text {
            at,
            size,
            anchor,
            upwards: false,
            text: text.to_owned(),
        });
    }
}

pub(super) fn line(marks: &mut Vec<Mark>, points: Vec<(f32, f32)>, width: f32, colour: Rgb) {
    marks.push(Mark::Line {
        points,
        width,
        colour,
    });
}

/// Place of `value` on an axis, 0 at its beginning and 1 at its end.
pub(super) fn share(axis: &Axis, value: f64) -> f32 {
    ((value - axis.from) / (axis.to - axis.from)) as f32
}

fn draw_panel(marks: &mut Vec<Mark>, panel: &FieldPanel, area: Area, first: bool) {
    let at = |x: f64, y: f64| {
        (
            area.x + area.w * share(&panel.x_axis, x),
            area.y + area.h * share(&panel.y_axis, y),
        )
    };
    let within = |p: &(f32, f32)| {
        let tolerance = 0.5;
        (area.x - tolerance..=area.x + area.w + tolerance).contains(&p.0)
            && (area.y - tolerance..=area.y + area.h + tolerance).contains(&p.1)
    };
    marks.push(Mark::Rect(area, LAND));
    marks.push(field(panel, area));
    for run in panel.lines.iter().flat_map(|l| &l.runs) {
        let points: Vec<(f32, f32)> = run.iter().map(|p| at(p.0, p.1)).filter(within).collect();
        // A dark line with light edges is seen on every colour.
        line(marks, points.clone(), 2.6, PAPER);
        line(marks, points, 1.2, INK);
    }
    for (from, to) in &panel.ice {
        let (x0, x1) = (at(*from, 0.0).0.max(area.x), at(*to, 0.0).0.min(area.x + area.w));
        if x1 > x0 {
            let y = area.y - ICE - 1.0;
            marks.push(Mark::Rect(
                Area {
                    x: x0,
                    y,
                    w: x1 - x0,
                    h: ICE,
                },
                ICE_COLOUR,
            ));
        }
    }
    frame(marks, area);
    for dot in &panel.dots {
        let place = at(dot.x, dot.y);
        if let Some(fill) = panel.scale.colour(dot.value).filter(|_| within(&place)) {
            marks.push(Mark::Dot {
                at: place,
                radius: DOT,
                fill,
                outline: outline(fill),
            });
        }
    }
    text(marks, (area.x, area.y - 9.0), TEXT, Anchor::Start, &panel.title);
    x_axis(marks, &panel.x_axis, area);
    y_axis(marks, &panel.y_axis, area, first);
}

/// An outline that is seen on a field of about the same colour.
fn outline([r, g, b]: Rgb) -> Rgb {
    // Luma of ITU-R BT.709, of 255.
    let luma = 0.2126 * f32::from(r) + 0.7152 * f32::from(g) + 0.0722 * f32::from(b);
    if luma < 110.0 { PAPER } else { INK }
}

pub(super) fn frame(marks: &mut Vec<Mark>, area: Area) {
    let (x0, y0, x1, y1) = (area.x, area.y, area.x + area.w, area.y + area.h);
    line(
        marks,
        vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)],
        1.0,
        INK,
    );
}

/// The field, one cell a pixel.
fn field(panel: &FieldPanel, area: Area) -> Mark {
    let (across, down) = (area.w.round().max(1.0) as usize, area.h.round().max(1.0) as usize);
    let along =
        |axis: &Axis, i: usize, of: usize| axis.from + (axis.to - axis.from) * (i as f64 + 0.5) / of as f64;
    let columns: Vec<_> = (0..across)
        .map(|i| panel.column_at(along(&panel.x_axis, i, across)))
        .collect();
    let mut cell = Vec::with_capacity(across * down);
    for row in 0..down {
        let y = along(&panel.y_axis, row, down);
        cell.extend(
            columns
                .iter()
                .map(|c| panel.scale.colour(c.as_ref()?.value_at(y)?)),
        );
    }
    Mark::Field { area, across, cell }
}

pub(super) fn x_axis(marks: &mut Vec<Mark>, axis: &Axis, area: Area) {
    let base = area.y + area.h;
    let room = if axis.kind == AxisKind::Day { 42.0 } else { 60.0 };
    for tick in ticks(axis, (area.w / room) as usize) {
        let x = area.x + area.w * share(axis, tick.at);
        line(marks, vec![(x, base), (x, base + 5.0)], 1.0, INK);
        text(marks, (x, base + 17.0), SMALL, Anchor::Middle, &tick.label);
        text(marks, (x, base + 30.0), SMALL, Anchor::Middle, &tick.beneath);
    }
    text(
        marks,
        (area.x + 0.5 * area.w, base + 36.0),
        TEXT,
        Anchor::Middle,
        &axis.label,
    );
}

pub(super) fn y_axis(marks: &mut Vec<Mark>, axis: &Axis, area: Area, labelled: bool) {
    for tick in ticks(axis, (area.h / 28.0) as usize) {
        let y = area.y + area.h * share(axis, tick.at);
        line(marks, vec![(area.x - 5.0, y), (area.x, y)], 1.0, INK);
        if labelled {
            text(marks, (area.x - 8.0, y + 4.0), SMALL, Anchor::End, &tick.label);
        }
    }
    if labelled && !axis.label.is_empty() {
        marks.push(Mark::Text {
            at: (area.x - LEFT + 15.0, area.y + 0.5 * area.h),
            size: TEXT,
            anchor: Anchor::Middle,
            upwards: true,
            text: axis.label.clone(),
        });
    }
}

fn colour_bar(marks: &mut Vec<Mark>, scale: &ColourScale, area: Area) {
    let down = area.h.round().max(1.0) as usize;
    let value = |i: usize| scale.to + (scale.from - scale.to) * (i as f64 + 0.5) / down as f64;
    marks.push(Mark::Field {
        area,
        across: 1,
        cell: (0..down).map(|i| scale.colour(value(i))).collect(),
    });
    frame(marks, area);
    let axis = Axis {
        label: String::new(),
        kind: AxisKind::Number,
        from: scale.to,
        to: scale.from,
    };
    let right = area.x + area.w;
    for tick in ticks(&axis, (area.h / 28.0) as usize) {
        let y = area.y + area.h * share(&axis, tick.at);
        line(marks, vec![(right, y), (right + 4.0, y)], 1.0, INK);
        text(marks, (right + 7.0, y + 4.0), SMALL, Anchor::Start, &tick.label);
    }
    marks.push(Mark::Text {
        at: (right + 46.0, area.y + 0.5 * area.h),
        size: TEXT,
        anchor: Anchor::Middle,
        upwards: true,
        text: scale.label.clone(),
    });
}
