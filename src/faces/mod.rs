//! Faces over the report values: wording and units for the reader, no other arithmetic.

pub mod changes;
pub mod faults;
pub mod figures;
pub mod gaps;
pub mod json;
pub mod lake;
pub mod reader;
pub mod saved;
pub mod text;
pub mod words;

pub use json::render_json;
pub use reader::{Reader, Units};
pub use text::{Ink, render_text};
