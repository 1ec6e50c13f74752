//! The brief as text, 80 columns, plain or coloured.

mod ahead;
pub(in crate::faces) mod alerts;
mod answer;
pub mod block;
pub(in crate::faces) mod cautions;
mod conditions;
pub mod fit;
mod fit_head;
pub mod hindcast;
pub mod hindcast_notes;
mod layout;
pub mod notices;
mod numbers;
pub mod plan;
pub mod plan_hours;
mod plan_tackle;
pub mod skill;
mod skill_forecasts;
mod skill_turnover;
mod sources;
mod tables;
pub mod turnover;
mod turnover_drivers;
pub mod turnover_hindcast;
mod turnover_words;
mod water;
mod why;

pub use block::Detail;
pub use layout::{Ink, render_plan_text, render_text};
