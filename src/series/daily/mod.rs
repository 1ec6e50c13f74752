//! One value a standard-time day, and how it is made from values within the day.
//!
//! The day is local **standard** time, midnight to midnight, 24 hours all year (series-and-skill 2).
//! A day has a value only when enough of its steps have one; a day that a gap rule filled says so.

mod aggregate;
mod fill;
mod frame;
mod join;
mod steps;
mod table;

pub use aggregate::{
    DayStatistic, daily_max, daily_mean, daily_min, daily_statistic, daily_sum, mean_of_last_24h,
};
pub use fill::{GapRule, fill_steps};
pub use frame::aligned_frame;
pub use join::{daily_series, daily_series_of};
pub use steps::{Step, StepQuality, clean_steps};
pub use table::Daily;

/// Share of a day's steps that a daily mean needs: 18 of 24 h (project choice, series-and-skill 2).
pub const MEAN_COVERAGE_FRAC: f64 = 0.75;
/// Share of a day's steps that a daily extreme or sum needs (project choice, series-and-skill 2; the sum by us).
pub const EXTREME_COVERAGE_FRAC: f64 = 0.90;
