//! What to do about it: ramps and cautions. Cautions come before any advice and cannot be left out.

pub mod choice;
pub mod state;

pub use choice::{fallback_zone, ramp_for};
pub use state::*;
