//! The lake's water by zone and depth. Briefs take it from the quick model: surface and river temperature from
//! air temperature, and a rule-of-thumb profile below the surface. The network of columns (`reservoir`) stands beside
//! it: `hindcast` runs one column of it, and no brief does yet.

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
