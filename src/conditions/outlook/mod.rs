//! The level of the days ahead, member by member, from the lake's water balance.

pub mod carry;
mod climate;
pub mod inflow;
mod lake;
pub mod normal;
pub mod project;
pub mod release;
mod river;
pub mod slope;
pub mod state;
mod total;

pub(super) use lake::{KnownWater, level_projection};
pub use state::*;
