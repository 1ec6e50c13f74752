//! Pure functions of water, air, sun and waves on plain numbers in SI. No lake's name, no file.

pub mod air_water;
pub mod relaxation;
pub mod river_temp;
pub mod sun;
pub mod water;
pub mod waves;
