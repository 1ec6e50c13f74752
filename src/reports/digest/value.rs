//! What a digest consists of.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use crate::column::SurfaceDay;
use crate::conditions::outlook::LevelDay;
use crate::conditions::{Held, WeekBehind};
use crate::lake::{SpeciesId, ZoneId};
use crate::plan::{Caution, PlanHours, RampChance};
use crate::reports::{Brief, Changes, WhereaboutsSkill};
use crate::whereabouts::{Verdict, ZoneShare};

/// Name and version of the digest's JSON form.
pub const DIGEST_FORM: &str = "plungeline-digest-1";

/// The digest of one lake for one week. SI throughout; times UTC.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Digest {
    /// Name and version of this form: `plungeline-digest-1`.
    pub form: String,
    /// Week of the clock at the lake, by ISO 8601.
    pub week: IsoWeekOf,
    /// The brief of the morning: cautions, alerts, plan, shares, conditions, and what is not known.
    pub brief: Brief,
    /// The week behind.
    pub behind: WeekBehind,
    /// What changed since the brief of a week ago; `None` where there is none, and it could not be made again.
    pub since: Option<SinceWeek>,
    /// Trips of the week, where the user shares them.
    pub trips: Option<WeekTrips>,
    /// The week ahead, the day of the brief's trip first.
    pub ahead: Vec<DigestDay>,
    /// Days of the week ahead with calm hours in the place to try first, in the order of time; three at most.
    pub best_hours: Vec<BestHours>,
    /// When the lake is to turn over; `None` out of season, or where nothing is known of it.
    pub turnover: Option<TurnoverWindow>,
    /// Notices of the user's own that fired in the week.
    pub notices: Vec<FiredNotice>,
    /// How the calls of the week did against its trips; `None` where no trip of the week can be scored.
    pub record: Option<WhereaboutsSkill>,
}

/// A week by ISO 8601: Monday to Sunday, the first with four days in the year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct IsoWeekOf {
    /// Year of the week, which may differ from that of its days at a turn of the year.
    pub year: i32,
    /// Number, 1 to 53.
    pub week: u32,
}

/// What changed since a week ago.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SinceWeek {
    /// Whether the brief of a week ago was made again from what the store holds now; else it is the one issued then.
    pub made_again: bool,
    /// What differs.
    pub changes: Changes,
}

/// The trips of the week.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WeekTrips {
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub to: NaiveDate,
    /// Trips logged.
    pub trips: usize,
    /// Of these, without a fish of any species.
    pub blank_trips: usize,
    /// Catch by species of the lake file.
    pub species: Vec<WeekCatch>,
}

/// What the week's trips caught of one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WeekCatch {
    /// Species.
    pub species: SpeciesId,
    /// Fish, over legs whose rods and catch are known.
    pub fish: u32,
    /// Rod-hours of those legs.
    pub rod_h: f64,
    /// Fish for each rod-hour; `None` without a rod-hour.
    pub fish_per_rod_h: Option<f64>,
}

/// One day of the week ahead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DigestDay {
    /// Civil day of the trip.
    pub date: NaiveDate,
    /// Clock that the day is looked at: that of the brief, so many days later.
    pub at: DateTime<Utc>,
    /// Level at the hour of the launch.
    pub level: Option<LevelDay>,
    /// Surface of the main body.
    pub surface: Option<SurfaceDay>,
    /// Ramps, by level only, in the order of the lake file.
    pub ramps: Vec<DayRamp>,
    /// Cautions that hold by what is foreseen, the most severe first; reminders and what is not known stand with the brief, but
    /// for a wind that no forecast covers.
    pub cautions: Vec<Caution>,
    /// Shares and band by species, in the order of the lake file.
    pub calls: Vec<DayCall>,
    /// Light, wind and chop by hour.
    pub hours: PlanHours,
    /// Highest mean wind that nine members in ten stay below; `None` where no forecast covers the trip.
    pub wind_max_m_s: Option<f64>,
    /// The same of the gust.
    pub gust_max_m_s: Option<f64>,
    /// Direction that it blows from at the highest mean wind.
    pub wind_direction_deg: Option<f64>,
    /// Highest chop of the trip by open zone; `None` where wind or fetch are not known.
    pub chop: Vec<DayChop>,
    /// Air of the trip, lowest.
    pub air_temp_min_degc: Option<f64>,
    /// Highest.
    pub air_temp_max_degc: Option<f64>,
    /// Rain of the trip.
    pub rain_m: Option<f64>,
    /// What stands as it does today because nothing forecasts it; empty on the first day.
    pub held: Vec<Held>,
}

/// A ramp on one day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DayRamp {
    /// Id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Whether it floats the boat, in a word; `None` where the level ahead is not known.
    pub chance: Option<RampChance>,
    /// Probability that it does not.
    pub below_prob: Option<f64>,
}

/// The highest chop of a zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DayChop {
    /// Zone.
    pub zone: ZoneId,
    /// Significant height.
    pub wave_height_m: Option<f64>,
}

/// Where one species is thought to be on one day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DayCall {
    /// Species.
    pub species: SpeciesId,
    /// Name for people.
    pub name: String,
    /// Share by zone; empty where nothing is known.
    pub zones: std::collections::BTreeMap<ZoneId, ZoneShare>,
    /// Share of the rivers together, above where it can be trolled.
    pub rivers_frac: f64,
    /// What is said of the zones that can be fished.
    pub verdict: Verdict,
    /// Likeliest zone that can be fished, and that of the band.
    pub likeliest_fishable: ZoneId,
    /// Upper edge of its depth band.
    pub band_top_m: Option<f64>,
    /// Lower edge.
    pub band_bottom_m: Option<f64>,
    /// Depth of the most suitable water in it.
    pub band_best_m: Option<f64>,
    /// Whether some depth of the band lies within the species' hard limits, as of the brief's own call.
    pub band_reaches_limits: bool,
}

/// Calm hours of one day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct BestHours {
    /// Beginning: first light, or when it calms down.
    pub from: DateTime<Utc>,
    /// End.
    pub to: DateTime<Utc>,
    /// Zone that they were judged for: the likeliest of the first species.
    pub zone: ZoneId,
    /// Species.
    pub species: SpeciesId,
    /// Share of its fish there.
    pub share_frac: f64,
    /// Highest mean wind in them that nine members in ten stay below.
    pub wind_max_m_s: f64,
}

/// When a lake is to turn over.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TurnoverWindow {
    /// Day by which it has turned over in one of ten runs; `None` where it may have before the outlook's first day already.
    pub early: Option<NaiveDate>,
    /// In five of ten; `None` likewise.
    pub median: Option<NaiveDate>,
    /// In nine of ten.
    pub late: NaiveDate,
    /// Share of the runs in which it has turned over by the day of the digest.
    pub by_today_prob: f64,
    /// Share of the runs in which it turns over by `until`.
    pub within_prob: f64,
    /// Last day of the season.
    pub until: NaiveDate,
}

/// A notice of the user's own that fired.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FiredNotice {
    /// The user's name for it.
    pub name: String,
    /// When it fired.
    pub fired_at: DateTime<Utc>,
}
