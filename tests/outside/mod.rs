//! Formulas and statistics against published values and other implementations.

mod air_water;
mod assimilation;
mod cable;
mod column;
mod column_water;
mod every_row;
mod flows;
mod hindcast;
mod hindcast_levels;
mod learning;
mod levels;
mod light;
mod mail_and_calendar;
mod physics;
mod quality;
mod rules;
mod scores;
mod suitability;
mod trends;
mod turnover;
mod units_and_time;
mod waves;
mod wind_chill;
