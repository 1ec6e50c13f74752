//! What is shown of a section, in bands of colour.

use crate::column::reservoir::{Section, SectionLayer};
use crate::faces::Units;
use crate::faces::picture::colour::{ColourScale, Palette, Rgb};
use crate::faces::picture::layout::{frame, line, text};
use crate::faces::picture::scene::{Anchor, Area, INK, Mark};
use crate::faces::picture::ticks::round_step;
use crate::faces::reader::rounded;
use crate::units;

/// Most bands of a scale: so many colours are still told apart.
const MOST_BANDS: usize = 14;
const SMALL: f32 = 11.0;

/// What a panel shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shown {
    Temperature,
    Oxygen,
    RiverShare,
}

impl Shown {
    pub const ALL: [Shown; 3] = [Shown::Temperature, Shown::Oxygen, Shown::RiverShare];

    /// Least step of its bands: what differs by less is drawn alike (project choice, below what the model can tell).
    fn least_step(self) -> f64 {
        match self {
            Shown::Temperature | Shown::RiverShare => 1.0,
            Shown::Oxygen => 0.5,
        }
    }

    /// The figure of a layer in the reader's unit.
    fn of(self, layer: &SectionLayer, units: Units) -> f64 {
        match (self, units) {
            (Shown::Temperature, Units::Us) => units::degf_from_degc(layer.temp_degc),
            (Shown::Temperature, Units::Metric) => layer.temp_degc,
            (Shown::Oxygen, _) => layer.oxygen_mg_l,
            (Shown::RiverShare, _) => 100.0 * layer.river_frac,
        }
    }

    /// What it is, with its unit of measure.
    fn label(self, units: Units) -> &'static str {
        match (self, units) {
            (Shown::Temperature, Units::Us) => "Water temperature, °F",
            (Shown::Temperature, Units::Metric) => "Water temperature, °C",
            (Shown::Oxygen, _) => "Dissolved oxygen, mg/L",
            (Shown::RiverShare, _) => "River water, % of volume",
        }
    }

    fn palette(self) -> Palette {
        match self {
            Shown::Temperature => Palette::Viridis,
            Shown::Oxygen => Palette::Cividis,
            Shown::RiverShare => Palette::Plasma,
        }
    }
}

/// A scale in bands between round numbers, so that an edge between two colours is a contour.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bands {
    pub shown: Shown,
    units: Units,
    scale: ColourScale,
    /// Edges of the bands, increasing; one more than there are bands.
    edges: Vec<f64>,
}

impl Bands {
    /// Bands over all layers of a section.
    pub fn of(shown: Shown, section: &Section, units: Units) -> Bands {
        let layers = || section.columns().flat_map(|(_, column)| &column.layers);
        let range = ColourScale::over(
            shown.palette(),
            shown.label(units),
            layers().map(|layer| shown.of(layer, units)),
        );
        let step = round_step((range.from, range.to), MOST_BANDS).max(shown.least_step());
        let first = (range.from / step).floor() as i64;
        // The greatest value lies within the last band, also where it is round.
        let last = ((range.to / step).floor() as i64 + 1).max(first + 1);
        let edges: Vec<f64> = (first..=last).map(|i| i as f64 * step).collect();
        Bands {
            shown,
            units,
            scale: ColourScale {
                from: edges[0],
                to: edges[edges.len() - 1],
                ..range
            },
            edges,
        }
    }

    /// What is shown, with its unit.
    pub fn label(&self) -> &'static str {
        self.shown.label(self.units)
    }

    fn count(&self) -> usize {
        self.edges.len() - 1
    }

    /// Band of a layer, counted from the lowest.
    pub fn band(&self, layer: &SectionLayer) -> usize {
        let figure = self.shown.of(layer, self.units);
        let above = self.edges.partition_point(|edge| *edge <= figure);
        above.saturating_sub(1).min(self.count() - 1)
    }

    /// Colour of a band: first and last have the ends of the palette.
    pub fn colour(&self, band: usize) -> Rgb {
        let share = band as f64 / (self.count() - 1).max(1) as f64;
        let value = self.scale.from + share * (self.scale.to - self.scale.from);
        self.scale.colour(value).unwrap_or(INK)
    }

    /// Words of the contours between two bands: `60`, or `58-62` where a layer skips some.
    pub fn contour(&self, a: usize, b: usize) -> String {
        let (low, high) = (a.min(b) + 1, a.max(b));
        if low == high {
            self.edge_words(low)
        } else {
            format!("{}–{}", self.edge_words(low), self.edge_words(high))
        }
    }

    fn edge_words(&self, edge: usize) -> String {
        let step = self.edges[1] - self.edges[0];
        let places = (-step.log10().floor()).max(0.0) as usize;
        rounded(self.edges[edge], places)
    }

    /// The bar that tells the colours, upright or lying.
    pub fn bar(&self, marks: &mut Vec<Mark>, area: Area, upright: bool) {
        let count = self.count();
        let at = |i: usize| i as f32 / count as f32;
        for band in 0..count {
            let (from, to) = (at(band), at(band + 1));
            let part = if upright {
                let (upper, lower) = (
                    (area.y + area.h * (1.0 - to)).round(),
                    (area.y + area.h * (1.0 - from)).round(),
                );
                Area {
                    y: upper,
                    h: lower - upper,
                    ..area
                }
            } else {
                let (left, right) = ((area.x + area.w * from).round(), (area.x + area.w * to).round());
                Area {
                    x: left,
                    w: right - left,
                    ..area
                }
            };
            marks.push(Mark::Rect(part, self.colour(band)));
        }
        frame(marks, area);
        let room = if upright { area.h / 14.0 } else { area.w / 30.0 };
        let every = (count as f32 / room).ceil().max(1.0) as usize;
        let (right, below) = (area.x + area.w, area.y + area.h);
        for edge in (0..=count).step_by(every) {
            let words = self.edge_words(edge);
            if upright {
                let y = area.y + area.h * (1.0 - at(edge));
                line(marks, vec![(right, y), (right + 4.0, y)], 1.0, INK);
                text(marks, (right + 7.0, y + 4.0), SMALL, Anchor::Start, &words);
            } else {
                let x = area.x + area.w * at(edge);
                line(marks, vec![(x, below), (x, below + 4.0)], 1.0, INK);
                text(marks, (x, below + 16.0), SMALL, Anchor::Middle, &words);
            }
        }
    }
}
