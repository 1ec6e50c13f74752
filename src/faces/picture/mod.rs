//! Pictures: fields as colour against depth and time, or against elevation and distance, as SVG and PNG.
//!
//! | file | what it holds |
//! |---|---|
//! | `panel` | a field with its axes, dots and lines, as a value |
//! | `lines` | lines with bands, and stacked bars |
//! | `colour` | colour scales |
//! | `ticks` | where an axis is marked, and with which words |
//! | `layout` | panels in rows, into marks |
//! | `scene` | marks on paper |
//! | `svg`, `raster` | marks as SVG, and as PNG |
//! | `hindcast` | panels of a hindcast |
//! | `section` | the lake cut open along its arms |

mod colour;
mod hindcast;
mod layout;
mod lines;
mod panel;
mod raster;
mod scene;
mod section;
mod svg;
mod ticks;

pub use colour::{ColourScale, Palette, Rgb};
pub use hindcast::{HindcastPicture, YAxis, hindcast_panel};
pub use layout::{Picture, lay_out};
pub use lines::{BarPanel, LinePanel, PlotLine, bars_scene, lines_scene};
pub use panel::{Axis, AxisKind, FieldColumn, FieldDot, FieldLine, FieldPanel};
pub use raster::{PictureError, render_png};
pub use scene::Scene;
pub use section::{SectionPicture, section_scene};
pub use svg::render_svg;
