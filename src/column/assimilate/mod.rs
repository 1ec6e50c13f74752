//! Observations correct an ensemble of columns: temperature, oxygen, river water and the members' factors, never volume.
//!
//! The members are the lanes of one or more blocks of columns. What an observation changes is booked, and what it leaves
//! that no water can be is set right without losing heat, oxygen or river water.

mod draws;
mod error;
mod localisation;
mod observation;
mod restore;
mod update;

pub use draws::{FactorSpread, draw_factors};
pub use error::AssimilationError;
pub use localisation::{Localisation, mixed_depth_m};
pub use observation::{WaterField, WaterObservation, value_at_depth};
pub use restore::{Restored, restore_water};
pub use update::{Analysis, AssimilationOptions, Increment, Place, Seen, assimilate};
