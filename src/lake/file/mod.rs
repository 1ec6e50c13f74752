//! Reading and checking the lake file: TOML in, a [`Lake`](super::Lake) or every fault out.
//!
//! The order of the work: `keys` says which keys there are, `block` reads them with their place and
//! unit, and one file a topic puts blocks together and checks what keys say about each other.

mod block;
mod fault;
mod fish;
mod hindcast;
mod inflows;
pub mod keys;
mod known;
mod model_factors;
mod notices;
mod outline;
mod places;
mod planned_release;
mod read;
mod series;
mod shape;
mod turnover;
mod zones;

pub use block::QUESTION;
pub use fault::Fault;
pub use read::{read_known_lake_file, read_lake, read_lake_bytes, read_lake_file};
