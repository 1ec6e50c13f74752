//! The keys of the lake file. The reader, the hints for mistyped keys and docs/lake-file.md all follow
//! the one table of keys.

mod key;
mod table;

pub(in crate::lake::file) use key::key;
pub use key::{Dimension, Key, Kind, Limits, Need, keys, keys_of};
