//! Pure functions of water, air and waves on plain numbers in SI. No lake's name, no clock, no file.

pub mod air_water;
pub mod relaxation;
pub mod river_temp;
pub mod water;
pub mod waves;
