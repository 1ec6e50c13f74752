//! Pure functions of water, air, sun and waves on plain numbers in SI. No lake's name, no file.

pub mod air_water;
pub mod atmosphere;
pub mod cable;
pub mod constants;
pub mod inflow;
pub mod longwave;
pub mod mixing;
pub mod oxygen;
pub mod radiation;
pub mod relaxation;
pub mod river_temp;
pub mod stratification;
pub mod sun;
pub mod sun_course;
pub mod surface_balance;
pub mod turbulent_flux;
pub mod water;
pub mod waves;
pub mod wind_chill;
