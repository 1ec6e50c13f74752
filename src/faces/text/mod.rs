//! The brief as text, 80 columns, plain or coloured.

mod ahead;
mod alerts;
mod answer;
pub mod block;
mod cautions;
mod conditions;
pub mod fit;
mod fit_head;
pub mod hindcast;
pub mod hindcast_notes;
mod layout;
pub mod plan;
mod plan_hours;
pub mod skill;
mod skill_forecasts;
mod sources;
mod tables;
mod water;
mod why;

pub use layout::{Ink, render_plan_text, render_text};
