//! What the series say this morning: level, inflows, surface, wind, light. Nothing of the vertical, nothing of fish.

pub mod state;

pub use state::*;
