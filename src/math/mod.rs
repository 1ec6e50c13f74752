//! See DEVELOPERS.md.

pub mod slopes;
