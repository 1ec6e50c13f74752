//! The brief as one HTML page that needs nothing else: no script, no network, one file for a phone on the water.

mod curve;
mod draw;
pub mod palette;
mod ranks;
mod strip;
mod style;

pub use draw::{render_html, render_skill_html, render_turnover_html};
