//! Encodings of a calendar file. Nothing writes one yet.

pub mod fold;

pub use fold::{fold_line, unfold};
