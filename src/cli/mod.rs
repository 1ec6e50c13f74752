//! See DEVELOPERS.md.
pub mod lake;
