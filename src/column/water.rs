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
    /// Surface outlook of the main body, day by day, today first.
    pub surface_outlook: Vec<SurfaceDay>,
    /// How the surface model was fitted and how well it fits; `None` where no air temperature is known.
    pub surface_fit: Option<SurfaceFit>,
    /// How the sources of air temperature were joined.
    pub seams: Vec<Seam>,
    /// What is not known.
    pub gaps: Vec<Gap>,
}

/// The water of one zone.
#[derive(Debug, Clone, PartialEq)]
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
    /// Surface from air temperature, the rest a rule of thumb.
    SurfaceModelled,
    /// Nothing but the season is known.
    SeasonOnly,
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
