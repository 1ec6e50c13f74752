//! Main body, arms or rivers: shares by zone with an interval, a depth band, and signed reasons.

pub mod call;

pub use call::*;
