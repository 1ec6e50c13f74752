//! The morning brief as a value.
//!
//! The keys `whereabouts.<species>.zones.<zone>.{share, low, high}`,
//! `whereabouts.<species>.{band_top_m, band_bottom_m}`, `reasons`, `ramps`, `cautions`, `inputs` and
//! `plan.{ramps, order, depth, ladder, hours}` are a contract with whoever reads the JSON.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::column::{ColumnsBasis, ProfileBasis, SurfaceDay, WayKind};
use crate::conditions::outlook::LevelOutlook;
use crate::conditions::seam::Seam;
use crate::conditions::{
    BalanceCondition, InflowCondition, InputAge, LightCondition, PoolCondition, RiverTempCondition,
    SkyCondition, SourceChoice, SurfaceCondition, TurbidityCondition, WindCondition,
};
use crate::lake::{InflowId, SpeciesId, ZoneId, ZoneKind};
use crate::notices::NoticeReport;
use crate::plan::{Caution, OfficialAlerts, Plan, RampReason, RampState};
use crate::series::Gap;
use crate::whereabouts::{CallBasis, Reason, SpeciesCall};

use super::Changes;

/// Name and version of the brief's JSON form.
pub const BRIEF_FORM: &str = "plungeline-brief-1";

/// The brief of one lake on one morning. SI throughout; times UTC.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Brief {
    /// Name and version of this form: `plungeline-brief-1`.
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// The lake.
    pub lake: LakeHeader,
    /// Clock of the brief: nothing later was used.
    pub as_of: DateTime<Utc>,
    /// Whether the data are enough to trust the answer, and if not, why not.
    pub trust: Trust,
    /// Dangers, most severe first; computed before any advice.
    pub cautions: Vec<Caution>,
    /// What the lake file asks to be told of, in its order: whether it holds. A brief of an earlier version has none.
    #[serde(default)]
    pub notices: Vec<NoticeReport>,
    /// Official alerts that speak of the trip, word for word, or why they are not known.
    pub alerts: OfficialAlerts,
    /// What to do, in an order: ramps, order, depth, ladder, hours.
    pub plan: Plan,
    /// Shares, band and reasons by species.
    pub whereabouts: BTreeMap<SpeciesId, SpeciesCall>,
    /// What the shares rest on: the rules, or what trips have made of them. A brief of an earlier version, which has no such word, was
    /// by the rules.
    #[serde(default = "by_rules")]
    pub basis: CallBasis,
    /// Which ramp and zone follow for each species.
    pub choices: Vec<Choice>,
    /// What moved the shares most, all species together, the largest contribution first.
    pub reasons: Vec<SpeciesReason>,
    /// Ramps, by level only.
    pub ramps: Vec<RampState>,
    /// Presentations of the lake file, in the order to try them.
    pub ladder: Vec<Rung>,
    /// What differs from the brief before; `None` where there is none in the store.
    pub changes: Option<Changes>,
    /// Level.
    pub pool: Option<PoolCondition>,
    /// Storage.
    pub storage_m3: Option<f64>,
    /// Time of the storage, or of the level that it was computed from.
    pub storage_observed_at: Option<DateTime<Utc>>,
    /// Level of the days ahead.
    pub level_outlook: Option<LevelOutlook>,
    /// What the lake's water balance says: residence, implied inflow.
    pub balance: BalanceCondition,
    /// Inflows.
    pub inflows: Vec<InflowCondition>,
    /// Surface temperature as observed.
    pub surface: Option<SurfaceCondition>,
    /// River temperatures as observed.
    pub river_temps: Vec<RiverTempCondition>,
    /// Turbidity as observed.
    pub turbidities: Vec<TurbidityCondition>,
    /// Water by zone, as the rules saw it.
    pub water: WaterSummary,
    /// Wind.
    pub wind: Option<WindCondition>,
    /// Sky.
    pub sky: Option<SkyCondition>,
    /// Light.
    pub light: Option<LightCondition>,
    /// Age and quality of every input.
    pub inputs: Vec<InputAge>,
    /// Which of several series was used, where some stand in for others.
    pub source_choices: Vec<SourceChoice>,
    /// How station, weather archive and forecast of air temperature were brought to one scale.
    pub air_seams: Vec<Seam>,
    /// What is not known, and what follows from that.
    pub gaps: Vec<Gap>,
}

fn by_rules() -> CallBasis {
    CallBasis::Rules { why: None }
}

/// The lake's name and place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LakeHeader {
    /// Id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Note of the lake file.
    pub note: Option<String>,
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Time zone, IANA name.
    pub time_zone: String,
    /// Vertical datum of all elevations.
    pub vertical_datum: String,
    /// Full pool.
    pub full_pool_elevation_m: f64,
}

/// Whether the data are enough to trust the answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Trust {
    /// Enough: exit status 0; otherwise 3.
    pub enough: bool,
    /// What is missing or too old, by topic.
    pub lacking: Vec<Lacking>,
}

/// One essential input that is missing or too old.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "topic", rename_all = "snake_case")]
pub enum Lacking {
    /// No level, or a late one: ramps and low-water hazards are judged by a lower pool, or not known.
    Level {
        /// Age of the newest value, where there is one.
        age_h: Option<f64>,
    },
    /// No elevation-area table: volumes, and the rule that counts habitat, are left out.
    Hypsography,
    /// The lake's temperature is neither measured nor computed from weather.
    WaterTemperature,
    /// No wind forecast for the trip.
    Wind {
        /// Age of the newest forecast, where there is one.
        age_h: Option<f64>,
    },
    /// Flow of an inflow.
    Inflow {
        /// Which.
        inflow: InflowId,
        /// Age of the newest value, where there is one.
        age_h: Option<f64>,
    },
    /// Official alerts, which the lake file names a service of.
    OfficialAlerts,
    /// Other series of the lake file that delivered nothing for a month, or no forecast in time, and for which no
    /// other stands in: what rests on them is less certain or left out.
    Feeds {
        /// Series, in the order of the lake file.
        series: Vec<LackingFeed>,
    },
}

/// A series that has ceased to deliver.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LackingFeed {
    /// Series id.
    pub series: String,
    /// Whether it is the forecast that is lacking, or the observed values.
    pub forecast: bool,
    /// Age of the newest value, where there is one.
    pub age_h: Option<f64>,
}

/// What follows for one species: where to go first and from which ramp.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Choice {
    /// Species.
    pub species: SpeciesId,
    /// Zone to try first, as the plan orders them; the main body of a species whose verdict is `not_known`, which has no ramp either.
    pub zone: ZoneId,
    /// Zone to fall back to: the second place of the plan, where that is another zone.
    pub fallback: Option<ZoneId>,
    /// Ramp that floats the boat by level, now and on return, with the shortest run to that zone.
    pub ramp: Option<String>,
    /// Why that ramp.
    pub ramp_reason: Option<RampReason>,
}

/// A reason with its species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpeciesReason {
    /// Species.
    pub species: SpeciesId,
    /// Reason.
    #[serde(flatten)]
    pub reason: Reason,
}

/// One rung of the presentation ladder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Rung {
    /// Species it is for.
    pub species: Vec<SpeciesId>,
    /// What to run, by kind of tackle.
    pub what: String,
    /// Slow end of the speed through the water.
    pub speed_min_m_s: f64,
    /// Fast end.
    pub speed_max_m_s: f64,
    /// Lead.
    pub lead_m: Option<f64>,
    /// When to move on.
    pub move_on: String,
    /// Source.
    pub basis: String,
}

/// Water by zone, summarised over members.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WaterSummary {
    /// Members behind the figures.
    pub members: usize,
    /// Main body and arms.
    pub zones: Vec<ZoneWaterSummary>,
    /// Rivers.
    pub rivers: Vec<RiverWaterSummary>,
    /// Surface of the main body, today and the days ahead.
    pub surface_outlook: Vec<SurfaceDay>,
    /// What the columns' water rests on; `None` where the quick model stands in for them.
    pub columns: Option<ColumnsBasis>,
}

/// The water of one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ZoneWaterSummary {
    /// Zone.
    pub zone: ZoneId,
    /// Name.
    pub name: String,
    /// Kind.
    pub kind: ZoneKind,
    /// Closed today.
    pub closed: bool,
    /// Greatest depth today.
    pub max_depth_m: Option<f64>,
    /// Volume today.
    pub volume_m3: Option<f64>,
    /// What the profile rests on.
    pub basis: ProfileBasis,
    /// Temperatures by depth.
    pub temps: Vec<DepthTemp>,
    /// Dissolved oxygen at the same depths; empty where it is not known.
    pub oxygens: Vec<DepthOxygen>,
}

/// Dissolved oxygen at one depth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DepthOxygen {
    /// Depth below today's surface.
    pub depth_m: f64,
    /// Median over members.
    pub median_mg_l: f64,
    /// 10 % quantile.
    pub low_mg_l: f64,
    /// 90 % quantile.
    pub high_mg_l: f64,
}

/// Temperature at one depth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DepthTemp {
    /// Depth below today's surface.
    pub depth_m: f64,
    /// Median over members.
    pub median_degc: f64,
    /// 10 % quantile.
    pub low_degc: f64,
    /// 90 % quantile.
    pub high_degc: f64,
}

/// The water of one river.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RiverWaterSummary {
    /// Inflow.
    pub inflow: InflowId,
    /// Name.
    pub name: String,
    /// Median over members.
    pub median_degc: f64,
    /// 10 % quantile.
    pub low_degc: f64,
    /// 90 % quantile.
    pub high_degc: f64,
    /// Measured, or computed from air temperature and flow.
    pub measured: bool,
    /// Where it goes in the lake; `None` where the columns were not run or the river has no flow.
    pub way: Option<RiverWaySummary>,
}

/// Where a river goes in the lake, summarised over members.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RiverWaySummary {
    /// Whether it sinks, in most members.
    pub kind: WayKind,
    /// Share of the members in which it does so.
    pub members_frac: f64,
    /// The plunge line; `None` where it floats, and without a thalweg.
    pub line: Option<PlungeLineSummary>,
    /// Zone in which it comes to rest, in most members.
    pub rests_zone: ZoneId,
    /// Depth there, median over members; of a river that floats 0.
    pub rests_depth_m: f64,
    /// 10 % quantile.
    pub rests_low_m: f64,
    /// 90 % quantile.
    pub rests_high_m: f64,
    /// Whether that is the bed, in most members.
    pub on_the_bed: bool,
}

/// Where a river leaves the surface.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PlungeLineSummary {
    /// Zone, in most members.
    pub zone: ZoneId,
    /// Distance from the zone's mouth (of the main body from the dam), median over members.
    pub distance_m: f64,
    /// The end of its band toward the lake: Froude number 0.3.
    pub low_m: f64,
    /// The end of its band toward the head: Froude number 0.7.
    pub high_m: f64,
}
