//! The brief as text, 80 columns, plain or coloured.

mod ahead;
mod answer;
mod cautions;
mod conditions;
mod layout;
mod tables;
mod water;
mod why;

pub use layout::{Ink, render_text};
