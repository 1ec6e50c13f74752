//! What to do about it: ramps and cautions. Cautions come before any advice and cannot be left out.

pub mod state;

pub use state::*;
