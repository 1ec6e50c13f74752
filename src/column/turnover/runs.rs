//! A season's runs under past years' weather, as what becomes of each place in each.

use chrono::{DateTime, NaiveDate, Utc};

use super::criterion::SeasonEnd;
use crate::column::stored::LeftOut;
use crate::lake::ZoneId;
use crate::series::Gap;

/// One run: the weather of a past year from the clock on, behind the forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunYear {
    /// Year in which its weather began.
    pub year: i32,
    /// Its weight; all add up to 1.
    pub weight_frac: f64,
    /// Mean air of the 60 days behind the forecast, in which runs differ, degC.
    pub air_temp_degc: f64,
    /// Mean wind of those days, m/s.
    pub wind_speed_m_s: f64,
}

/// What became of a place in a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RunEnd {
    /// It stayed an open water to the end, or turned over before it closed.
    Season {
        /// By density.
        by_density: SeasonEnd,
        /// By the rule of 1 degC.
        by_degree: SeasonEnd,
    },
    /// Too little water was left of it, before it turned over.
    Closed,
}

/// The runs of one place.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceRuns {
    /// Main body or arm.
    pub zone: ZoneId,
    /// Depth at the clock, the median over the members, m; `None` where it is closed in most.
    pub depth_m: Option<f64>,
    /// Temperature under the skin on the day of the clock, shape `[run]`; fewer where it is closed.
    pub top_degc: Vec<f64>,
    /// Share of its runs that are mixed past half of the depth on the day of the clock: a turnover is under way.
    pub half_mixed_frac: f64,
    /// What became of it, shape `[run]`.
    pub ends: Vec<RunEnd>,
}

/// How years are weighted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum YearWeights {
    /// All alike.
    Equal,
    /// The more like this year's late summer, the more (`math::analogs`).
    Analog,
}

/// All runs of a season.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonRuns {
    /// End of the last whole hour before the clock: where the runs begin.
    pub from: DateTime<Utc>,
    /// Standard day of the clock.
    pub today: NaiveDate,
    /// Last day that counts.
    pub until: NaiveDate,
    /// Runs.
    pub runs: Vec<RunYear>,
    /// Number of equal years that would say as much; 0 without any.
    pub effective_years: f64,
    /// How they are weighted.
    pub weights: YearWeights,
    /// Years that do not count.
    pub left_out: Vec<LeftOut>,
    /// Main body, then arms.
    pub places: Vec<PlaceRuns>,
    /// Level at the clock, the median over the members, m.
    pub level_m: f64,
    /// Hours of the forecast at the beginning, and those in which it gives way.
    pub forecast_and_blend_h: (usize, usize),
    /// Members of the forecast.
    pub forecast_members: usize,
    /// Days of daily values that took the course of a like day with hours, and those that kept a smooth one.
    pub shaped_days: (usize, usize),
    /// Runs whose level was held at full pool or at the minimum pool, as far as they went: to the last day, or until every place had turned over.
    pub held_runs: usize,
    /// What is not known, and what stands in.
    pub gaps: Vec<Gap>,
}
