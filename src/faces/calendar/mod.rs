//! Calendar files (RFC 5545).

pub mod event;
pub mod fold;

pub use event::{Event, When, calendar};
pub use fold::{fold_line, unfold};
