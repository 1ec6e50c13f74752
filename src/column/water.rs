//! The water of each zone as the rules see it: an ensemble of temperature (and oxygen) profiles.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::conditions::seam::Seam;
use crate::lake::{InflowId, ZoneId};
use crate::series::Gap;

/// The water of a lake on one morning, by member.
#[derive(Debug, Clone, PartialEq)]
pub struct Water {
    /// Members; every `members`-long vector below has this length.
    pub members: usize,
    /// Zones with standing water (main body and arms), in the order of the lake file.
    pub zones: Vec<ZoneWater>,
    /// Rivers.
    pub rivers: Vec<RiverWater>,
    /// Where each river goes in the lake; empty where the columns were not run.
    pub river_ways: Vec<RiverWay>,
    /// What the columns' water rests on; `None` where they were not run and the quick model stands in.
    pub columns: Option<ColumnsBasis>,
    /// Surface outlook of the main body, day by day, today first.
    pub surface_outlook: Vec<SurfaceDay>,
    /// The same days member by member, with the thermocline where the columns were run.
    pub days_ahead: Vec<DayAhead>,
    /// How the surface model was fitted and how well it fits; `None` where no air temperature is known.
    pub surface_fit: Option<SurfaceFit>,
    /// How the sources of air temperature were joined.
    pub seams: Vec<Seam>,
    /// What is not known.
    pub gaps: Vec<Gap>,
}

/// The water of one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneWater {
    /// Zone.
    pub zone: ZoneId,
    /// Depths of the profile points, increasing from 0. Shape `[point]`.
    pub depth_m: Vec<f64>,
    /// Area of the zone at each depth at today's level; `None` where there is no hypsography or level.
    /// Shape `[point]`.
    pub area_m2: Option<Vec<f64>>,
    /// Temperature, `temp_degc[member][point]`.
    pub temp_degc: Vec<Vec<f64>>,
    /// Oxygen, `[member][point]`; `None` where it is not known.
    pub oxygen_mg_l: Option<Vec<Vec<f64>>>,
    /// What the zone consists of where its water is not the same all over: the reaches of an arm, and the river above a
    /// plunge line. Empty where the profile above says it all.
    pub parts: Vec<ZonePart>,
    /// Greatest depth at today's level, where known.
    pub max_depth_m: Option<f64>,
    /// Volume at today's level, where known.
    pub volume_m3: Option<f64>,
    /// What the profile rests on.
    pub basis: ProfileBasis,
    /// Whether the zone is closed today (shallower than 2 m or under 0.1 % of the lake; common practice, no source).
    pub closed: bool,
}

/// What a profile rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum ProfileBasis {
    /// Measured at several depths.
    Measured {
        /// Time of the profile.
        observed_at: DateTime<Utc>,
    },
    /// Surface measured, the rest a rule of thumb.
    SurfaceMeasured {
        /// Time of the surface value.
        observed_at: DateTime<Utc>,
    },
    /// Of an arm: the main body's surface, which was measured, moved by what arms differ from it; the rest
    /// as in the main body. Nothing was measured in the arm.
    SurfaceFromMainBody {
        /// Time of the main body's value.
        observed_at: DateTime<Utc>,
    },
    /// Computed by the columns of the lake from weather, rivers, releases and level.
    Columns {
        /// Time of the newest reading in this zone that corrected them; `None` without one.
        corrected_at: Option<DateTime<Utc>>,
        /// Whether that was a reading of the surface, no older than three days.
        surface_measured: bool,
    },
    /// Surface from air temperature, the rest a rule of thumb.
    SurfaceModelled,
    /// Nothing but the season is known.
    SeasonOnly,
}

/// A part of a zone with water of its own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZonePart {
    /// What it is.
    pub kind: PartKind,
    /// Area at the depths of the zone's profile. Shape `[point]`; the parts add up to the zone.
    pub area_m2: Vec<f64>,
    /// Temperature, `[member][point]`.
    pub temp_degc: Vec<Vec<f64>>,
    /// Oxygen, `[member][point]`.
    pub oxygen_mg_l: Vec<Vec<f64>>,
}

/// What a part of a zone is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum PartKind {
    /// A column of it.
    Reach {
        /// Distance of its end toward the lake from the zone's mouth, m; `None` without a thalweg.
        from_m: Option<f64>,
        /// Of its end toward the head, m.
        to_m: Option<f64>,
    },
    /// What a river fills above its plunge line.
    River {
        /// Inflow.
        inflow: InflowId,
    },
}

/// What the columns' water rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ColumnsBasis {
    /// Clock up to which they were run.
    pub run_to: DateTime<Utc>,
    /// Beginning of the run that they come from: the last winter's mixing.
    pub cold_start: DateTime<Utc>,
    /// Readings of the water that corrected them since, where that is known to be any.
    pub readings: usize,
    /// Whether dissolved oxygen was among them; if not, it rests on what is known beforehand alone.
    pub oxygen_measured: bool,
    /// What the quick model says of the main body's surface on the same morning, the median over members.
    pub quick_surface_degc: Option<f64>,
}

/// Where a river goes in the lake.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RiverWay {
    /// Inflow.
    pub inflow: InflowId,
    /// By member; empty for a river without flow.
    pub members: Vec<WayOfMember>,
}

/// Where a river goes in one member.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WayOfMember {
    /// Whether it sinks.
    pub kind: WayKind,
    /// Zone in which it leaves the surface.
    pub line_zone: ZoneId,
    /// Distance of that place, the plunge line, from the zone's mouth (of the main body: from the dam); `None` where it floats,
    /// and without a thalweg.
    pub line_m: Option<f64>,
    /// The same for the Froude numbers 0.3 and 0.7, between which it is seen in the field; `None` in another zone.
    pub band_m: [Option<f64>; 2],
    /// Zone in which it comes to rest.
    pub rests_zone: ZoneId,
    /// Depth at which it comes to rest.
    pub rests_depth_m: f64,
    /// Whether that is the bed.
    pub on_the_bed: bool,
}

/// Whether a river sinks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WayKind {
    /// It is lighter than the surface and spreads over it.
    Floats,
    /// It is about as heavy as the surface: the wind decides.
    Weak,
    /// It sinks.
    Sinks,
}

/// The water of one river.
#[derive(Debug, Clone, PartialEq)]
pub struct RiverWater {
    /// Inflow.
    pub inflow: InflowId,
    /// Temperature by member. Shape `[member]`.
    pub temp_degc: Vec<f64>,
    /// Whether it was measured.
    pub measured: bool,
}

/// One day of the surface outlook.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SurfaceDay {
    /// Standard day.
    pub date: chrono::NaiveDate,
    /// Median.
    pub median_degc: f64,
    /// 10 % quantile.
    pub low_degc: f64,
    /// 90 % quantile.
    pub high_degc: f64,
    /// What the figures come from.
    #[serde(default, skip_serializing_if = "ShownBy::is_model")]
    pub shown_by: ShownBy,
}

/// What stands behind a figure of a day ahead.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ShownBy {
    /// The members of the model as they are.
    #[default]
    Model,
    /// The members, their mean and spread corrected by what past forecasts missed: the archive shows that it helps.
    CorrectedModel,
    /// Yesterday's departure from the season, fading: the archive does not show the model to be better at this lead.
    DampedPersistence,
}

impl ShownBy {
    fn is_model(&self) -> bool {
        *self == ShownBy::Model
    }
}

/// The main body on one day ahead, member by member: what a forecast is judged by later.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DayAhead {
    /// Standard day.
    pub date: chrono::NaiveDate,
    /// Mean of the surface over the day. Shape `[member]`.
    pub surface_degc: Vec<f64>,
    /// Depth of the seasonal thermocline at eight in the morning, standard time; `None` in a member without one. Shape `[member]`; empty
    /// where the profile is not computed.
    pub thermocline_m: Vec<Option<f64>>,
}

/// The water of one coming morning.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterOfDay {
    /// Its clock.
    pub at: DateTime<Utc>,
    /// Main body and arms.
    pub zones: Vec<ZoneWater>,
    /// Rivers whose temperature is known.
    pub rivers: Vec<RiverWater>,
}

/// The water of coming mornings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WaterAhead {
    /// Mornings within the forecast, in the order of time.
    pub days: Vec<WaterOfDay>,
    /// Flows of the inflows, day by day.
    pub flows: Vec<crate::conditions::FlowAhead>,
}

/// How the air-to-water equation of the main body's surface was fitted, and how good it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SurfaceFit {
    /// What was fitted.
    pub form: FitForm,
    /// Days with an observed surface that the fit used.
    pub days: usize,
    /// First of them.
    pub first: Option<chrono::NaiveDate>,
    /// Last of them.
    pub last: Option<chrono::NaiveDate>,
    /// RMSE against those days (in sample); `None` without observations.
    pub rmse_degc: Option<f64>,
    /// RMSE of day-of-year climatology over the same days, each year judged by the other years;
    /// `None` where there is only one year.
    pub climatology_rmse_degc: Option<f64>,
    /// Correlation of the residual from one day to the next; a stated guess without observations.
    pub residual_persistence: f64,
    /// Mean depth that the first guess was taken at.
    pub mean_depth_m: f64,
    /// Whether that depth is a guess for want of a hypsography.
    pub mean_depth_assumed: bool,
}

/// What was fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FitForm {
    /// Six parameters, from two years of observations or more.
    SixParameters,
    /// The depth regression held, its constant heat gain fitted.
    OffsetAlone,
    /// The depth regression as it is.
    FirstGuess,
}
