//! The brief, end to end: the real program on the demonstration data, and on recorded data.

mod ahead;
mod alerts;
mod changes;
pub mod demo;
mod faces;
mod feeds;
mod four_mornings;
mod late_level;
mod mornings;
mod not_known;
mod notices;
mod pages;
mod plan;
mod real;
mod river_forecast;
mod scene_numbers;
mod scenes;
mod sources;
mod turnover;
mod wording;
mod year;
