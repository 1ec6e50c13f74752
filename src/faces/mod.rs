//! Faces over the report values: wording and units for the reader, no other arithmetic.

pub mod calendar;
pub mod changes;
pub mod counters;
pub mod digest;
pub mod faults;
pub mod figures;
pub mod gaps;
pub mod hours_svg;
pub mod html;
pub mod json;
pub mod lake;
pub mod mail;
pub mod markdown;
pub mod notation;
pub mod number;
pub mod picture;
pub mod pulled;
pub mod reader;
pub mod readers;
pub mod saved;
pub mod text;
pub mod trips;
pub mod words;

pub use hours_svg::render_hours_svg;
pub use html::{render_html, render_turnover_html};
pub use json::render_json;
pub use markdown::render_markdown;
pub use reader::{DecimalSign, HourClock, Notation, Reader, Units};
pub use text::{Detail, Ink, render_plan_text, render_text};
