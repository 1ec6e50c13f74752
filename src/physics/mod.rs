//! See DEVELOPERS.md.

pub mod sun;
