//! The lake's water by zone and depth: the network of columns (`reservoir`), main body and reaches of arms, which briefs and
//! hindcasts run; and the quick model, its reference and fallback, a surface and rivers from air temperature with a
//! rule-of-thumb profile below.

pub mod assimilate;
pub mod forcing;
pub mod layered;
pub mod network;
pub mod quick;
pub mod reservoir;
pub mod stored;
pub mod turnover;
pub mod water;

pub use quick::{WaterOptions, water_at};
pub use water::*;
