//! A draft of a lake file as text: keys with their meaning, questions, and what else was found.

mod found;
mod page;
mod series;
mod shape;
mod write;

pub use found::render_found;
pub use page::render_draft;
