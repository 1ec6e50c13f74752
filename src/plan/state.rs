//! Ramps and cautions as values.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::lake::ZoneId;

/// One ramp this morning. By level only: gate, closure and surface are not known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RampState {
    /// Ramp id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Zone it launches into.
    pub zone: ZoneId,
    /// Elevation of the toe.
    pub toe_elevation_m: f64,
    /// Water over the toe at the newest level; negative when the toe is dry; `None` without a level.
    pub water_over_toe_m: Option<f64>,
    /// Of a late level only: water over the toe if the pool has fallen since as far as it may.
    pub water_at_least_m: Option<f64>,
    /// Water over the toe at the end of the trip, if the pool goes on as in the last 7 days; without that trend if it falls as fast as it
    /// may unseen. Of a late level from `water_at_least_m` on.
    pub water_on_return_m: Option<f64>,
    /// Water that the boat needs.
    pub needed_m: f64,
    /// Whether it floats the boat by level, now and on return; `None` without a level, or where a late one leaves it open.
    pub usable: Option<bool>,
    /// Lanes open by level, where the file gives them.
    pub lanes: Option<u32>,
    /// The days ahead; `None` without a level outlook.
    pub outlook: Option<super::ramp_outlook::RampOutlook>,
}

/// The ramp to launch at.
#[derive(Debug, Clone, PartialEq)]
pub struct ChosenRamp {
    /// Ramp id.
    pub id: String,
    /// Why this one.
    pub reason: RampReason,
}

/// Why a ramp was chosen among those that float the boat.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum RampReason {
    /// No other floats the boat.
    OnlyOne,
    /// The run from it is the shortest.
    ShortestRun {
        /// Way along the thalwegs.
        distance_m: f64,
    },
    /// No run is known; it is the nearest to the zone's stretches.
    Nearest {
        /// Straight way to the nearest point of them.
        distance_m: f64,
    },
    /// It lies in the zone; distances are not known.
    SameZone,
    /// None lies in the zone, and distances are not known: it has the most water over its toe.
    MostWater,
}

/// A rock, stump field or saddle of the lake file at today's level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ShoalState {
    /// Name.
    pub name: String,
    /// Zone that holds it.
    pub zone: ZoneId,
    /// Water over its top; negative when it stands out of the water. By a late level the nearest to the
    /// surface that it may be.
    pub water_over_m: f64,
}

/// How hard a caution bites.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum CautionLevel {
    /// Always printed.
    Reminder,
    /// Not known: a feed is missing, so check before launching.
    NotKnown,
    /// Caution.
    Caution,
    /// Strong caution.
    Strong,
    /// Severe: do not launch small craft, or do not run.
    Severe,
}

/// What a caution is about.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Hazard {
    /// Wind.
    Wind,
    /// Waves.
    Waves,
    /// Cold water.
    ColdWater,
    /// Ice on the water or the ramp.
    Ice,
    /// Lightning.
    Thunder,
    /// Floating debris.
    Debris,
    /// Rocks, stumps and shoals near the surface.
    LowWater,
    /// Falling or rising pool, changing releases.
    ChangingLevel,
    /// Fog.
    Fog,
    /// Darkness.
    Darkness,
    /// Heat.
    Heat,
    /// Air so cold that bare hands freeze.
    ColdAir,
    /// A ramp out of use.
    Ramp,
    /// Life jackets.
    LifeJacket,
    /// Harmful algae.
    Algae,
    /// Advisories on eating fish.
    FishAdvisory,
    /// Rules, closures and official warnings come first.
    Regulations,
}

/// A part of the trip in which lights are due, between sunset and sunrise, and how much of it is dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LightsDue {
    /// Beginning of the trip, or sunset.
    pub from: DateTime<Utc>,
    /// Sunrise, or end of the trip.
    pub to: DateTime<Utc>,
    /// Beginning of the dark: of the trip, or civil dusk; `None` where this part is half-light alone.
    pub dark_from: Option<DateTime<Utc>>,
    /// Its end: civil dawn, or end of the trip.
    pub dark_to: Option<DateTime<Utc>>,
}

/// A water that no boat comes to today, colder than the coldest that one may come to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ColderWater {
    /// River or zone.
    pub name: String,
    /// Its surface: as measured, or as low as a modelled one may be.
    pub water_temp_degc: f64,
}

/// One caution, computed before any advice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Caution {
    /// What about.
    pub hazard: Hazard,
    /// How hard.
    pub level: CautionLevel,
    /// Figures behind it, SI, by name (`wind_speed_m_s` 8.1).
    pub figures: std::collections::BTreeMap<String, f64>,
    /// Names behind it (hazards of the lake file, zones, ramps, series that are missing).
    pub names: Vec<String>,
    /// Rocks, stumps and saddles of the lake file behind it, the nearest to the surface first.
    pub shoals: Vec<ShoalState>,
    /// Of darkness: the parts of the trip in which lights are due, one at either end.
    #[serde(default)]
    pub lights_due: Vec<LightsDue>,
    /// Of cold water: a colder one off every route that is open on the day of the trip.
    #[serde(default)]
    pub colder_off_route: Option<ColderWater>,
    /// Official products behind it, by the names that the service gives them.
    pub products: Vec<String>,
    /// The threshold that was passed, in words with its number.
    pub threshold: String,
    /// Where the threshold comes from.
    pub source: String,
    /// Hours it concerns, where it is limited in time: from the first to the last of them.
    pub from: Option<DateTime<Utc>>,
    /// See above.
    pub to: Option<DateTime<Utc>>,
    /// Hour of the highest figure, where it is one hour's.
    pub peak_at: Option<DateTime<Utc>>,
}
