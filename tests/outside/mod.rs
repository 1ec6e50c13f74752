//! Formulas and statistics against published values and other implementations.

mod air_water;
mod flows;
mod hindcast_levels;
mod levels;
mod light;
mod quality;
mod rules;
mod suitability;
mod trends;
mod units_and_time;
mod waves;
