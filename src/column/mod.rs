//! The lake's water by zone and depth. For now the quick model: surface and river temperature from
//! air temperature, and a rule-of-thumb profile below the surface. The column network will stand
//! here; the quick model stays as the fallback and as the reference to beat.

pub mod assimilate;
pub mod forcing;
pub mod layered;
pub mod network;
pub mod quick;
pub mod reservoir;
pub mod stored;
pub mod water;

pub use quick::{WaterOptions, water_at};
pub use water::*;
