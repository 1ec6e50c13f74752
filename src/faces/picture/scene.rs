//! Marks on paper. Lengths in pixels of an undivided screen, x to the right, y down.

use super::colour::Rgb;

/// Where a text stands by its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// A rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x: f32,
    /// Upper edge.
    pub y: f32,
    /// Width.
    pub w: f32,
    /// Height.
    pub h: f32,
}

/// A mark.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A filled rectangle.
    Rect(Area, Rgb),
    /// A field of square cells, row by row from the top; `None` shows the paper.
    Field {
        /// Where it lies.
        area: Area,
        /// Cells in a row.
        across: usize,
        /// The cells.
        cell: Vec<Option<Rgb>>,
    },
    /// A filled polygon.
    Polygon(Vec<(f32, f32)>, Rgb),
    /// A line through points.
    Line {
        /// The points.
        points: Vec<(f32, f32)>,
        /// Width.
        width: f32,
        /// Colour.
        colour: Rgb,
    },
    /// A filled circle with a thin outline.
    Dot {
        /// Centre.
        at: (f32, f32),
        /// Radius.
        radius: f32,
        /// Colour of the inside.
        fill: Rgb,
        /// Colour of the outline.
        outline: Rgb,
    },
    /// A text on its base line.
    Text {
        /// Point.
        at: (f32, f32),
        /// Size of the letters (em).
        size: f32,
        /// Where it stands by the point.
        anchor: Anchor,
        /// Whether it runs upwards.
        upwards: bool,
        /// The text.
        text: String,
    },
}

/// A sheet with marks, each over those before it. The paper is white.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
    /// What the picture shows, for those who cannot see it.
    pub description: String,
    /// Marks.
    pub marks: Vec<Mark>,
}

/// Colour of text and lines.
pub const INK: Rgb = [0x22, 0x22, 0x22];
/// Colour of the paper.
pub const PAPER: Rgb = [0xff, 0xff, 0xff];
