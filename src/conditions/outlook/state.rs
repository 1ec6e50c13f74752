//! The level outlook as a value.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use crate::lake::InflowId;

/// The level of the days ahead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LevelOutlook {
    /// What it rests on.
    pub basis: OutlookBasis,
    /// River forecasts that the inflow follows on the days that they cover, in the order of the lake file's inflows.
    pub river_forecasts: Vec<RiverForecast>,
    /// Members behind the figures.
    pub members: usize,
    /// One entry a day at the hour of the launch, the day of the trip first.
    pub days: Vec<LevelDay>,
}

/// What a level outlook rests on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum OutlookBasis {
    /// Inflow less release and evaporation, through the table of the lake file.
    WaterBalance {
        /// Inflow that it starts from.
        inflow_m3s: f64,
        /// Where that inflow is taken from.
        inflow_from: InflowOrigin,
        /// Release that it starts from, held but for its spread.
        release_m3s: f64,
        /// Days of the horizon on which the lake file's plan is released instead.
        planned_days: usize,
        /// Evaporation, held; `None` where no series gives it, so that the inflow is net of it.
        evaporation_m3s: Option<f64>,
        /// Correlation of the inflow's departure from its base with that of the day before.
        inflow_persistence: f64,
        /// Elevation at which members are held from above: water beyond it is spilled.
        crest_m: f64,
        /// Elevation at which members are held from below: release beyond it does not happen.
        dead_pool_m: f64,
    },
    /// The slope of the last 7 daily levels, goes on; spread from how such guesses missed in the record.
    SlopePersistence {
        /// Slope.
        slope_m_per_day: f64,
    },
}

/// Where the inflow of the whole lake is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum InflowOrigin {
    /// The gauges together, times what the balance of the last 90 days has of their flow.
    Gauges {
        /// That factor; above 1 where streams have no gauge.
        factor: f64,
    },
    /// The gauges together as they stand: there is no balance to hold them against.
    GaugesAlone,
    /// The lake's balance, 3-day mean: the gauges are missing, or do not describe it.
    Balance,
}

/// A river forecast that the inflow ahead follows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RiverForecast {
    /// River.
    pub inflow: InflowId,
    /// Series of the lake file.
    pub series: String,
    /// Service.
    pub service: String,
    /// Gauge.
    pub station: String,
    /// When it was issued.
    pub issued_at: DateTime<Utc>,
    /// First day that it covers after the newest observed one.
    pub from: NaiveDate,
    /// Last day that it covers within the horizon; beyond it the flow fades to its base.
    pub until: NaiveDate,
    /// Share of the newest day's inflow that this river has; the rest follows no forecast.
    pub share_frac: f64,
}

/// The level at the hour of the launch of one day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LevelDay {
    /// Civil day.
    pub date: NaiveDate,
    /// Instant.
    pub at: DateTime<Utc>,
    /// Median over members.
    pub median_m: f64,
    /// 10 % quantile.
    pub low_m: f64,
    /// 90 % quantile.
    pub high_m: f64,
    /// Share of members that have been held at the crest up to this day.
    pub at_crest_frac: f64,
    /// Share of members that have been held at dead pool up to this day.
    pub at_dead_pool_frac: f64,
}

/// The outlook with its members.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LevelProjection {
    /// Its figures.
    pub outlook: LevelOutlook,
    /// Levels, ascending on each day. Shape `[day, member]`, days as in the outlook.
    pub sorted_m: Vec<Vec<f64>>,
    /// The levels of the first members, in their own order: as good a sample as all. Shape `[day, member]`.
    pub first_members_m: Vec<Vec<f64>>,
    /// What the gauges of the inflows together will read; `None` where the inflow is not taken from gauges.
    pub gauged: Option<GaugedAhead>,
}

/// Flow of all gauges of the inflows together on the days ahead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct GaugedAhead {
    /// Day of the newest flow.
    pub newest_day: NaiveDate,
    /// Flow of that day.
    pub newest_m3s: f64,
    /// Standard days after it with the mean flow of the first members.
    pub days: Vec<(NaiveDate, Vec<f64>)>,
}

impl LevelProjection {
    /// Share of members below `elevation_m` on entry `day`; `None` beyond the horizon.
    pub fn below_prob(&self, day: usize, elevation_m: f64) -> Option<f64> {
        let members_m = self.sorted_m.get(day).filter(|m| !m.is_empty())?;
        let below = members_m.partition_point(|level_m| *level_m < elevation_m);
        Some(below as f64 / members_m.len() as f64)
    }
}
