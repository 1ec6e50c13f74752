//! See DEVELOPERS.md.

pub mod read;
