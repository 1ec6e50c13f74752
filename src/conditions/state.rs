//! The conditions of one morning as values, SI, with their uncertainty and age.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use super::SourceChoice;
use super::outlook::LevelProjection;
use crate::lake::{InflowId, SeriesPlace, ZoneId};
use crate::quantity::Quantity;
use crate::series::{Flag, Gap};

/// Everything that the series say on one morning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Conditions {
    /// The clock of the brief.
    pub as_of: DateTime<Utc>,
    /// Level, where a level series exists and is not refused.
    pub pool: Option<PoolCondition>,
    /// Storage, observed or from the level and the hypsography.
    pub storage_m3: Option<f64>,
    /// Time of the storage, or of the level that it was computed from.
    pub storage_observed_at: Option<DateTime<Utc>>,
    /// The level of the days ahead.
    pub level_projection: Option<LevelProjection>,
    /// What the lake's water balance says.
    pub balance: BalanceCondition,
    /// One entry for each inflow of the lake file whose flow is known.
    pub inflows: Vec<InflowCondition>,
    /// Surface of the main body, observed.
    pub surface: Option<SurfaceCondition>,
    /// River temperatures observed.
    pub river_temps: Vec<RiverTempCondition>,
    /// Turbidity observed, of zones and rivers.
    pub turbidities: Vec<TurbidityCondition>,
    /// Wind through the trip.
    pub wind: Option<WindCondition>,
    /// Light of the civil day.
    pub light: Option<LightCondition>,
    /// Fog, rain and thunder through the trip.
    pub sky: Option<SkyCondition>,
    /// Bait by zone, from the marks of the trip log; a zone that nobody watched has no entry. The series know of none: who has a log
    /// puts them here.
    pub forage: Vec<super::ForageCondition>,
    /// Age and quality of every input.
    pub inputs: Vec<InputAge>,
    /// Which of several series was used, where some stand in for others.
    pub source_choices: Vec<SourceChoice>,
    /// What is not known.
    pub gaps: Vec<Gap>,
}

/// What the lake's water balance says this morning.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct BalanceCondition {
    /// Mean release of the last 30 days.
    pub release_30d_m3s: Option<f64>,
    /// Theoretical residence time: storage over that release.
    pub residence_days: Option<f64>,
    /// Inflow that storage, release and evaporation imply.
    pub implied_inflow: Option<ImpliedInflow>,
}

/// Inflow of the whole lake by its balance, ungauged streams and rain in it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ImpliedInflow {
    /// Last standard day of the mean.
    pub last_day: NaiveDate,
    /// Mean of 7 days, not clipped: below 0 it is noise, or water lost.
    pub mean_7d_m3s: f64,
    /// Its standard deviation from the reading error of the level; `None` without the lake's area.
    pub noise_sd_m3s: Option<f64>,
}

/// A change over some days, rising positive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Change {
    /// Change.
    pub change_m: f64,
    /// Its standard deviation from reading error: sqrt(2) sigma (series-and-skill 3.3).
    pub sd_m: f64,
}

/// The pool's level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PoolCondition {
    /// Newest usable level.
    pub elevation_m: f64,
    /// Its time.
    pub observed_at: DateTime<Utc>,
    /// Change over 1 day.
    pub change_1d: Option<Change>,
    /// Change over 7 days.
    pub change_7d: Option<Change>,
    /// Change over 30 days.
    pub change_30d: Option<Change>,
    /// Theil-Sen slope over the last 7 daily levels.
    pub slope_7d_m_per_day: Option<f64>,
    /// Highest daily level of the 60 days up to a week before the newest level.
    pub highest_60d_m: Option<f64>,
    /// Share of the record's levels on nearby days of the year (within 15 days, other years) that were lower.
    pub percentile_for_date_frac: Option<f64>,
}

/// An inflow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct InflowCondition {
    /// Inflow.
    pub inflow: InflowId,
    /// Zone that it enters.
    pub zone: ZoneId,
    /// Newest daily mean (or mean of the last 24 h).
    pub discharge_m3s: f64,
    /// Time of the newest value.
    pub observed_at: DateTime<Utc>,
    /// Baseflow of the same day.
    pub baseflow_m3s: Option<f64>,
    /// Discharge over baseflow; for a regulated river, over the 30-day median. 0 for a dry bed; where the
    /// base is dry and the river is not, over 1 ft3/s instead, so that it is a lower bound.
    pub ratio: Option<f64>,
    /// What the ratio is taken against.
    pub ratio_basis: RatioBasis,
    /// The running or last pulse within 30 days.
    pub pulse: Option<Pulse>,
    /// The highest ratio of the last 10 days, whichever pulse it belongs to; `None` where no flow stood
    /// above its base by more than noise and 1 ft3/s, or where the base is not known (as is `ratio`).
    pub highest_10d: Option<RatioPeak>,
    /// Mean of the whole record.
    pub mean_m3s: Option<f64>,
    /// Change of the daily mean over 7 days.
    pub change_7d_m3s: Option<f64>,
    /// Richards and Baker's index over the last 365 days: 0 for a steady river.
    pub flashiness_frac: Option<f64>,
    /// A step that has lasted, of the last 14 days.
    pub step: Option<FlowStep>,
}

/// A lasting step of a flow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FlowStep {
    /// First day after it.
    pub date: NaiveDate,
    /// Flow after over flow before (geometric means).
    pub factor: f64,
}

/// What a flow ratio is taken against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RatioBasis {
    /// Eckhardt baseflow with the project's filter (a 0.98, BFImax 0.80), to which the pulse thresholds belong.
    EckhardtBaseflow,
    /// Median of the last 30 days.
    Median30d,
}

/// An inflow pulse.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Pulse {
    /// First day: flow at least 1.5 of baseflow, rising 20 % a day or more.
    pub onset: NaiveDate,
    /// Day of the peak.
    pub peak: NaiveDate,
    /// Whether the peak is behind us (the flow has fallen since).
    pub peaked: bool,
    /// Flow over baseflow at the peak.
    pub peak_ratio: f64,
    /// Last day, where it has ended.
    pub end: Option<NaiveDate>,
    /// Days from the peak to the morning of the brief, never below 0.
    pub days_since_peak: f64,
    /// Days from onset to peak.
    pub rise_days: i64,
    /// Quickflow volume so far.
    pub quickflow_volume_m3: f64,
    /// Recession constant k (Q falls by this factor each day), from at least 5 falling days.
    pub recession_per_day: Option<f64>,
}

/// A high flow over its base.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RatioPeak {
    /// Standard day of the flow.
    pub date: NaiveDate,
    /// Flow over baseflow, as in [`InflowCondition::ratio`].
    pub ratio: f64,
}

/// The lake's surface temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SurfaceCondition {
    /// Mean of the last full standard day, or of the last 24 h.
    pub temp_degc: f64,
    /// Time of the newest value.
    pub observed_at: DateTime<Utc>,
    /// Theil-Sen slope of the last 7 daily means.
    pub trend_7d: Option<Trend>,
    /// Theil-Sen slope of the last 14 daily means.
    pub trend_14d: Option<Trend>,
    /// Cooling is declared: the 80 % interval excludes 0 and the rate is below -0.1 degC a day.
    pub cooling: bool,
    /// Warming is declared: the same upward.
    pub warming: bool,
    /// A step that has lasted, of the last 14 days.
    pub step: Option<TempStep>,
}

/// A lasting step of a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TempStep {
    /// First day after it.
    pub date: NaiveDate,
    /// Mean after less mean before.
    pub step_degc: f64,
}

/// A slope with its 80 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Trend {
    /// Slope.
    pub rate_degc_per_day: f64,
    /// Low end of the 80 % interval.
    pub low_degc_per_day: f64,
    /// High end.
    pub high_degc_per_day: f64,
    /// Standard error of the least-squares slope that allows for neighbours alike (HAC, 3 lags): the cross-check.
    pub hac_se_degc_per_day: Option<f64>,
    /// Days used.
    pub days: usize,
}

/// A river's temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RiverTempCondition {
    /// Inflow.
    pub inflow: InflowId,
    /// Mean of the last 24 h or of the last full day.
    pub temp_degc: f64,
    /// Time of the newest value.
    pub observed_at: DateTime<Utc>,
}

/// Turbidity of a zone or of an inflow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TurbidityCondition {
    /// Zone, where it is measured in one.
    pub zone: Option<ZoneId>,
    /// Inflow, where it is measured there.
    pub inflow: Option<InflowId>,
    /// Newest value; formazin units count as NTU.
    pub turbidity_ntu: f64,
    /// Its time.
    pub observed_at: DateTime<Utc>,
}

/// Wind through the trip and two hours after it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WindCondition {
    /// From.
    pub from: DateTime<Utc>,
    /// To.
    pub to: DateTime<Utc>,
    /// 90th percentile over members of the highest mean wind in the window.
    pub speed_max_m_s: f64,
    /// The same of the gust; `None` where no gust is forecast.
    pub gust_max_m_s: Option<f64>,
    /// Direction the wind comes from at the hour of the highest mean wind (control run).
    pub direction_deg: Option<f64>,
    /// Hours: time, control-run mean, gust, direction.
    pub hours: Vec<WindHour>,
    /// Members behind the percentile.
    pub members: usize,
    /// When the forecast was issued.
    pub issued_at: DateTime<Utc>,
}

/// One hour of wind.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WindHour {
    /// Hour.
    pub time: DateTime<Utc>,
    /// Mean.
    pub speed_m_s: f64,
    /// Gust.
    pub gust_m_s: Option<f64>,
    /// Direction it blows from.
    pub direction_deg: Option<f64>,
    /// 90th percentile over members of the mean in this hour.
    pub speed_high_m_s: Option<f64>,
    /// The same of the gust.
    pub gust_high_m_s: Option<f64>,
}

/// Light of the civil day of the brief.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LightCondition {
    /// Civil dawn: the sun 6 degrees below the horizon; `None` where it does not occur.
    pub civil_dawn: Option<DateTime<Utc>>,
    /// Sunrise.
    pub sunrise: Option<DateTime<Utc>>,
    /// Sunset.
    pub sunset: Option<DateTime<Utc>>,
    /// Civil dusk.
    pub civil_dusk: Option<DateTime<Utc>>,
}

/// Fog, rain, thunder and air through the trip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SkyCondition {
    /// Lowest forecast visibility; `None` where not forecast.
    pub visibility_min_m: Option<f64>,
    /// Highest forecast chance of thunder; `None` where not forecast.
    pub thunder_max_prob: Option<f64>,
    /// Rain over the trip.
    pub precipitation_m: Option<f64>,
    /// Lowest air temperature.
    pub air_temp_min_degc: Option<f64>,
    /// Highest air temperature.
    pub air_temp_max_degc: Option<f64>,
    /// Air temperature of each step of the forecast (control run); empty where it is not forecast.
    pub air_hours: Vec<AirHour>,
    /// Whether fog can be judged from dew point and wind (spread below 1 degC, wind below 2 m/s).
    pub fog_likely: Option<bool>,
}

/// Air temperature of one hour.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct AirHour {
    /// Hour.
    pub time: DateTime<Utc>,
    /// Air temperature.
    pub air_temp_degc: f64,
}

/// How old one input is, and what its quality was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct InputAge {
    /// Series id.
    pub series: String,
    /// What it measures.
    pub quantity: Quantity,
    /// Where.
    pub place: SeriesPlace,
    /// Cadence word: `daily`, `continuous`, `forecast`.
    pub cadence: String,
    /// Service.
    pub service: String,
    /// Station.
    pub station: String,
    /// Newest value's time, or the forecast's issue time; `None` when there is nothing.
    pub newest: Option<DateTime<Utc>>,
    /// Age at the clock of the brief.
    pub age_h: Option<f64>,
    /// Age that counts as late.
    pub late_after_h: Option<f64>,
    /// Whether it is late or missing.
    pub late: bool,
    /// Worst flag of the last 24 h before the newest value.
    pub worst_flag_24h: Option<Flag>,
    /// Values refused (flag 4) and suspect (flag 3) in the last 60 days.
    pub refused_60d: usize,
    /// See above.
    pub suspect_60d: usize,
    /// Share of provisional values in the last 60 days.
    pub provisional_60d_frac: Option<f64>,
}
