//! Main body, arms or rivers: shares by zone with an interval, a depth band, and signed reasons.

pub mod call;
pub mod engine;

pub use call::*;
pub use engine::{CallOptions, call_species};
