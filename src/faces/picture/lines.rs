//! Lines with their bands against days, and shares as stacked bars: pictures small enough for a message.

use super::colour::Rgb;
use super::layout::{line, share, text};
use super::panel::Axis;
use super::raster::text_width;
use super::scene::{Anchor, Area, INK, Mark, Scene};
use super::ticks::ticks;

/// Size of letters: a picture this narrow is shown no smaller than three quarters of its size on a phone.
const LETTERS: f32 = 13.0;
const TITLE: f32 = 14.0;
/// Width of the picture, and room about a panel.
const WIDTH: f32 = 440.0;
const LEFT: f32 = 52.0;
const RIGHT: f32 = 14.0;
const ABOVE: f32 = 30.0;
const BELOW: f32 = 40.0;
const GRID: Rgb = [0xdd, 0xdd, 0xdd];
const FAINT: Rgb = [0x77, 0x77, 0x77];

/// A line with what it lies between.
#[derive(Debug, Clone, PartialEq)]
pub struct PlotLine {
    /// Points `(x, y)` in the order of x.
    pub points: Vec<(f64, f64)>,
    /// Points `(x, low, high)` of the band about it; empty for none.
    pub band: Vec<(f64, f64, f64)>,
    /// Colour of the line.
    pub colour: Rgb,
    /// Colour of the band.
    pub band_colour: Rgb,
}

/// A panel of lines.
#[derive(Debug, Clone, PartialEq)]
pub struct LinePanel {
    /// Title, with the unit.
    pub title: String,
    /// Lines.
    pub lines: Vec<PlotLine>,
    /// Heights marked across with their names.
    pub marked: Vec<(f64, String)>,
    /// A day marked from top to bottom, numbered as the axis: the clock.
    pub today_days: f64,
    /// Axis of days.
    pub x_axis: Axis,
    /// Axis upwards: `from` is its lower end.
    pub y_axis: Axis,
}

/// A panel of bars: of each its label, and its parts from the left.
#[derive(Debug, Clone, PartialEq)]
pub struct BarPanel {
    /// Title.
    pub title: String,
    /// Bars: label, then parts as `(share, colour)`.
    pub bars: Vec<(String, Vec<(f32, Rgb)>)>,
    /// What the colours are.
    pub legend: Vec<(String, Rgb)>,
}

/// Panels of lines below each other.
pub fn lines_scene(panels: &[LinePanel], panel_height: f32, description: &str) -> Scene {
    let mut marks = Vec::new();
    for (i, panel) in panels.iter().enumerate() {
        let area = Area {
            x: LEFT,
            y: i as f32 * panel_height + ABOVE,
            w: WIDTH - LEFT - RIGHT,
            h: panel_height - ABOVE - BELOW,
        };
        line_panel(&mut marks, panel, area);
    }
    Scene {
        width: WIDTH,
        height: panels.len() as f32 * panel_height,
        description: description.to_owned(),
        marks,
    }
}

fn line_panel(marks: &mut Vec<Mark>, panel: &LinePanel, area: Area) {
    let x = |value: f64| area.x + area.w * share(&panel.x_axis, value);
    let y = |value: f64| area.y + area.h * (1.0 - share(&panel.y_axis, value));
    text(marks, (8.0, area.y - 12.0), TITLE, Anchor::Start, &panel.title);
    for tick in ticks(&panel.y_axis, 4) {
        let at = y(tick.at);
        line(marks, vec![(area.x, at), (area.x + area.w, at)], 1.0, GRID);
        text(marks, (area.x - 6.0, at + 4.5), LETTERS, Anchor::End, &tick.label);
    }
    for tick in ticks(&panel.x_axis, 4) {
        let at = x(tick.at);
        line(
            marks,
            vec![(at, area.y + area.h), (at, area.y + area.h + 5.0)],
            1.0,
            INK,
        );
        let base = area.y + area.h + 19.0;
        text(marks, (at, base), LETTERS, Anchor::Middle, &tick.label);
    }
    for (height, name) in &panel.marked {
        let at = y(*height);
        line(marks, vec![(area.x, at), (area.x + area.w, at)], 1.0, FAINT);
        text(marks, (area.x + 4.0, at - 4.0), LETTERS, Anchor::Start, name);
    }
    for own in &panel.lines {
        let upper = own.band.iter().map(|(at, _, high)| (x(*at), y(*high)));
        let lower = own.band.iter().rev().map(|(at, low, _)| (x(*at), y(*low)));
        let outline: Vec<(f32, f32)> = upper.chain(lower).collect();
        if outline.len() > 2 {
            marks.push(Mark::Polygon(outline, own.band_colour));
        }
    }
    let clock = x(panel.today_days);
    line(marks, vec![(clock, area.y), (clock, area.y + area.h)], 1.0, FAINT);
    for own in &panel.lines {
        let points = own.points.iter().map(|(at, value)| (x(*at), y(*value)));
        line(marks, points.collect(), 2.0, own.colour);
    }
    let base = area.y + area.h;
    line(marks, vec![(area.x, base), (area.x + area.w, base)], 1.0, INK);
}

/// Height of a bar with the gap below it, and the room of the title and of a line of the legend.
const BAR: f32 = 22.0;
const GAP: f32 = 6.0;
const LABEL: f32 = 92.0;
const LINE: f32 = 22.0;

/// Panels of bars below each other.
pub fn bars_scene(panels: &[BarPanel], description: &str) -> Scene {
    let mut marks = Vec::new();
    let mut top = 0.0;
    for panel in panels {
        text(&mut marks, (8.0, top + 18.0), TITLE, Anchor::Start, &panel.title);
        top = legend(&mut marks, &panel.legend, top + 2.0 * LINE - 4.0);
        for (label, parts) in &panel.bars {
            text(&mut marks, (8.0, top + BAR - 6.0), LETTERS, Anchor::Start, label);
            bar(&mut marks, parts, top);
            top += BAR + GAP;
        }
        top += GAP;
    }
    Scene {
        width: WIDTH,
        height: top.max(1.0),
        description: description.to_owned(),
        marks,
    }
}

/// The legend in as many lines as it needs; gives back where the bars begin.
fn legend(marks: &mut Vec<Mark>, entries: &[(String, Rgb)], mut base: f32) -> f32 {
    let mut x = 8.0;
    for (name, colour) in entries {
        let width = 14.0 + 5.0 + text_width(name, LETTERS) + 14.0;
        if x + width > WIDTH && x > 8.0 {
            (x, base) = (8.0, base + LINE);
        }
        let square = Area {
            x,
            y: base - 11.0,
            w: 12.0,
            h: 12.0,
        };
        marks.push(Mark::Rect(square, *colour));
        text(marks, (x + 17.0, base), LETTERS, Anchor::Start, name);
        x += width;
    }
    base + 10.0
}

/// The parts beside each other, with their share in percent where there is room for it.
fn bar(marks: &mut Vec<Mark>, parts: &[(f32, Rgb)], top: f32) {
    let room = WIDTH - LABEL - RIGHT;
    let mut x = LABEL;
    for (part, colour) in parts {
        let area = Area {
            x,
            y: top,
            w: room * part,
            h: BAR,
        };
        marks.push(Mark::Rect(area, *colour));
        let said = format!("{:.0}", part * 100.0);
        if area.w > text_width(&said, LETTERS) + 6.0 {
            let middle = (x + 0.5 * area.w, top + BAR - 6.0);
            text(marks, middle, LETTERS, Anchor::Middle, &said);
        }
        x += area.w;
    }
}
