//! A field with its axes, dots and lines, as a value.

use super::colour::ColourScale;

/// What an axis counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AxisKind {
    /// Numbers.
    Number,
    /// Numbers, written with a decimal comma.
    NumberWithComma,
    /// Days, numbered as `chrono` numbers them from the Common Era (`num_days_from_ce`); marked with months and years.
    Day,
}

/// An axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it shows, with its unit; empty for none.
    pub label: String,
    /// What it counts.
    pub kind: AxisKind,
    /// Value at its left, or at its upper end.
    pub from: f64,
    /// Value at its right, or at its lower end; of a depth more than `from`, of an elevation less.
    pub to: f64,
}

/// The field over a stretch of the x axis: a day, or a segment of a reach.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldColumn {
    /// Where it begins on the x axis.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// The surface on the y axis.
    pub top: f64,
    /// The bed on the y axis.
    pub bed: f64,
    /// Places of the values on the y axis, increasing. Shape `[point]`.
    pub y: Vec<f64>,
    /// Values; straight between their places, and as the next beyond them to surface and bed. Shape `[point]`.
    pub value: Vec<f64>,
}

/// An observation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldDot {
    /// Place on the x axis.
    pub x: f64,
    /// Place on the y axis.
    pub y: f64,
    /// Value, shown on the colour scale of the field.
    pub value: f64,
}

/// A line over the field, such as the thermocline: runs of points, a gap between two runs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FieldLine {
    /// Runs of `(x, y)`.
    pub runs: Vec<Vec<(f64, f64)>>,
}

/// A picture of one field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldPanel {
    /// Title.
    pub title: String,
    /// The field, in the order of x.
    pub columns: Vec<FieldColumn>,
    /// Observations.
    pub dots: Vec<FieldDot>,
    /// Lines.
    pub lines: Vec<FieldLine>,
    /// Stretches of the x axis with ice.
    pub ice: Vec<(f64, f64)>,
    /// Colours.
    pub scale: ColourScale,
    /// Axis to the right.
    pub x_axis: Axis,
    /// Axis down.
    pub y_axis: Axis,
    /// Width beside the other panels of its row: 2 is twice that of 1.
    pub width_share: f32,
}

impl FieldPanel {
    /// The column over `x`; `None` where there is none. Columns are in the order of x and do not overlap; a millionth of
    /// a column between two of them is rounding and no gap.
    pub(super) fn column_at(&self, x: f64) -> Option<&FieldColumn> {
        let at = self.columns.partition_point(|c| c.from <= x).checked_sub(1)?;
        Some(&self.columns[at]).filter(|c| x < c.to + 1e-6 * (c.to - c.from))
    }
}

impl FieldColumn {
    /// Value at `y`; `None` above the surface and below the bed.
    pub(super) fn value_at(&self, y: f64) -> Option<f64> {
        let (least, most) = (self.top.min(self.bed), self.top.max(self.bed));
        if !(least..=most).contains(&y) {
            return None;
        }
        crate::math::interpolate::linear(&self.y, &self.value, y)
    }
}
