//! What the series say this morning: level, inflows, surface, wind, light. Nothing of the vertical, nothing of fish.

mod assemble;
pub mod balance;
pub mod baseflow;
mod choice;
pub mod discharge;
mod flow;
mod inputs;
mod level;
mod light;
mod morning;
pub mod pulse;
pub mod seam;
pub mod state;
mod surface;
#[cfg(test)]
mod tests;
mod trip;
mod turbidity;
mod weather;

pub use assemble::conditions_at;
pub use choice::{JoinedSource, PassedOver, SourceChoice, SourcePurpose, daily_of_chain};
pub use inputs::allowed_age_h;
pub use level::LEVEL_READING_SD_M;
pub use state::*;
pub use trip::{TripWindow, trip_window};
pub use weather::AFTER_TRIP_H;
