//! What an outlook consists of. SI throughout; times UTC, days those of the lake's standard time.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use crate::lake::{InflowId, SpeciesId, ZoneId, ZoneKind};
use crate::reports::LakeHeader;
use crate::series::Gap;

/// Name and version of the outlook's JSON form.
pub const TURNOVER_FORM: &str = "plungeline-turnover-1";
/// Years below which an outlook says that it has few (physics: 20 or more are wanted).
pub const WANTED_YEARS: usize = 20;
/// Years below which nothing is to be trusted (as for analogs).
pub const LEAST_YEARS: usize = 5;

/// When a lake turns over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TurnoverOutlook {
    /// Name and version of this form: `plungeline-turnover-1`.
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// The lake.
    pub lake: LakeHeader,
    /// The clock: nothing later is used.
    pub as_of: DateTime<Utc>,
    /// Whether there is an answer.
    pub state: OutlookState,
    /// Whether the data are enough to trust it.
    pub enough: bool,
    /// What is lacking.
    pub lacking: Vec<OutlookLacking>,
    /// Main body, then arms; empty without an answer.
    pub places: Vec<PlaceOutlook>,
    /// What the answer rests on; `None` without one.
    pub basis: Option<OutlookBasis>,
    /// What drives it; `None` without an answer.
    pub drivers: Option<OutlookDrivers>,
    /// Species of the lake file that the turnover means something for, in its order.
    pub species: Vec<SpeciesId>,
    /// What is not known, and what stands in.
    pub gaps: Vec<Gap>,
}

/// Whether there is an answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case", tag = "state")]
pub enum OutlookState {
    /// There is.
    Made {
        /// First day of the season.
        season_from: NaiveDate,
        /// Its last: what has not turned over by then did not.
        season_until: NaiveDate,
    },
    /// It is not the season.
    OutOfSeason {
        /// First day of the next.
        next_from: NaiveDate,
    },
    /// It could not be made.
    NotMade {
        /// Why, in words.
        why: String,
    },
}

/// What is lacking for an outlook that can be trusted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum OutlookLacking {
    /// A level in time.
    Level {
        /// Age of the newest.
        age_h: Option<f64>,
    },
    /// Observed air or wind in time: the water of today rests on them.
    Weather {
        /// Age of the newest.
        age_h: Option<f64>,
    },
    /// Enough past years.
    Years {
        /// Years found.
        found: usize,
    },
    /// The runs themselves.
    Runs,
}

/// The chances of one place. What has turned over by the last of `by_date`, `closed_prob`, `not_turned_over_prob` and `no_run_prob` add up
/// to 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PlaceOutlook {
    /// Zone.
    pub zone: ZoneId,
    /// Name.
    pub name: String,
    /// Main body or arm.
    pub kind: ZoneKind,
    /// Whether it is closed today: too little water is left, and there is nothing to turn over.
    pub closed: bool,
    /// Depth today.
    pub depth_m: Option<f64>,
    /// Chance that it is mixed already.
    pub already_mixed_prob: f64,
    /// Chance that it turns over after today and by the last day.
    pub turns_over_prob: f64,
    /// Chance that it does not turn over by the last day.
    pub not_turned_over_prob: f64,
    /// Chance that too little water is left of it before it turns over.
    pub closed_prob: f64,
    /// Chance left for what none of the past years shows: 1 in n + 1 of what is to come, n = the number of equal years.
    pub no_run_prob: f64,
    /// Chance that it has turned over by each day, the day of the clock first; mixed already counts as turned over.
    pub by_date: Vec<DateChance>,
    /// Day by which 10 % have turned over; `None` where that is past the last day, or where it is mixed already in as many.
    pub early: Option<NaiveDate>,
    /// Day by which half have.
    pub median: Option<NaiveDate>,
    /// Day by which 90 % have.
    pub late: Option<NaiveDate>,
    /// Day by which half have by the rule of 1 degC between surface and bottom.
    pub median_by_degree: Option<NaiveDate>,
    /// Surface on the day on which it turns over; `None` where too few runs do.
    pub surface_then: Option<TempRange>,
    /// Surface today, by the runs' first day.
    pub surface_now: Option<TempRange>,
    /// Chance that it is mixed past half of its depth today: a turnover under way.
    pub under_way_prob: f64,
}

/// Chance on a day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DateChance {
    /// Day.
    pub date: NaiveDate,
    /// Chance that it has turned over by its end.
    pub turned_over_prob: f64,
}

/// A temperature with the interval that holds it in 8 of 10 cases.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TempRange {
    /// 10 %.
    pub low_degc: f64,
    /// Median.
    pub median_degc: f64,
    /// 90 %.
    pub high_degc: f64,
}

/// What the answer rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct OutlookBasis {
    /// Where the runs begin.
    pub from: DateTime<Utc>,
    /// Past years.
    pub years: usize,
    /// The first of them.
    pub first_year: i32,
    /// The last.
    pub last_year: i32,
    /// Runs: a year as often as it takes to make 40.
    pub runs: usize,
    /// Number of equal years that would say as much.
    pub effective_years: f64,
    /// Whether that is below 5: few analogs.
    pub few_analogs: bool,
    /// Whether there are fewer years than the 20 that are wanted.
    pub few_years: bool,
    /// Whether years are weighted by how like they are to this one.
    pub by_likeness: bool,
    /// Years that do not count: what was not known of them, or that they had not ended at the clock.
    pub left_out: Vec<YearLeftOut>,
    /// Days that the forecast gives at the beginning.
    pub forecast_days: f64,
    /// Of these, the last over which it gives way to the past year, its weight falling straight from 1 to 0.
    pub blend_days: f64,
    /// Members of the forecast.
    pub forecast_members: usize,
    /// Days with daily values alone that took the course of a like day with hours, and days that kept a smooth one: shares of all days.
    pub shaped_frac: f64,
    /// The latter.
    pub smooth_frac: f64,
    /// Runs whose level was held at the full or the minimum pool before every place had turned over.
    pub held_runs: usize,
}

/// A year that does not count.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct YearLeftOut {
    /// Year.
    pub year: i32,
    /// What was not known of it; `None` where it had not ended.
    pub lacking: Option<String>,
}

/// What drives the outlook: the lake's state, and the weather that makes years differ.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct OutlookDrivers {
    /// Level under full pool; above it below 0.
    pub below_full_m: f64,
    /// Share of the record's levels about this date that were lower.
    pub level_percentile_frac: Option<f64>,
    /// Inflows known.
    pub inflows: Vec<InflowDriver>,
    /// Theoretical residence time.
    pub residence_days: Option<f64>,
    /// Change of the surface a day over the last fortnight.
    pub cooling_degc_per_day: Option<f64>,
    /// Main body in the warmest third of the runs against the coldest, by the air of the 60 days behind the forecast.
    pub warmth: Option<RunContrast>,
    /// In the windiest third against the calmest, by the wind of those days.
    pub wind: Option<RunContrast>,
}

/// A third of the runs against another.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RunContrast {
    /// How much later it turned over, by the means of both.
    pub later_days: f64,
    /// Standard error of that difference.
    pub standard_error_days: f64,
}

impl RunContrast {
    /// Whether the difference is more than twice its standard error: what less can be told from chance (common practice).
    pub fn is_told(&self) -> bool {
        self.later_days.abs() > 2.0 * self.standard_error_days
    }
}

/// An inflow against its mean.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct InflowDriver {
    /// Inflow.
    pub inflow: InflowId,
    /// Name.
    pub name: String,
    /// Discharge today.
    pub discharge_m3s: f64,
    /// Mean of the whole record.
    pub mean_m3s: Option<f64>,
}
