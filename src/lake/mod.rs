//! The lake description: what does not change from day to day, in SI, and its file.

pub mod model;

pub use model::*;
