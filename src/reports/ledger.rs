//! What differs from the brief before, as values.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::lake::{InflowId, SpeciesId, ZoneId};
use crate::plan::{CautionLevel, Hazard};

/// What differs from the brief before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Changes {
    /// Clock of the brief before.
    pub since: DateTime<Utc>,
    /// Figures that differ, in a fixed order: level, inflows, surface, shares.
    pub figures: Vec<FigureChange>,
    /// Ramps of which something else is said, in the order of the lake file.
    pub ramps: Vec<RampChange>,
    /// Hazards whose hardest caution differs.
    pub cautions: Vec<CautionChange>,
}

/// One figure before and now; `None` where it was, or is, not known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "figure", rename_all = "snake_case")]
pub enum FigureChange {
    /// Level.
    Level {
        /// Before.
        before_m: Option<f64>,
        /// Now.
        now_m: Option<f64>,
    },
    /// Discharge of an inflow.
    Inflow {
        /// Which.
        inflow: InflowId,
        /// Before.
        before_m3s: Option<f64>,
        /// Now.
        now_m3s: Option<f64>,
    },
    /// Surface temperature.
    Surface {
        /// Before.
        before_degc: Option<f64>,
        /// Now.
        now_degc: Option<f64>,
    },
    /// Share of a species in a zone.
    Share {
        /// Species.
        species: SpeciesId,
        /// Zone.
        zone: ZoneId,
        /// Before.
        before_frac: f64,
        /// Now.
        now_frac: f64,
        /// What moved it, the most first: of a share that moved by more than 10 points, else empty.
        causes: Vec<ShareCause>,
    },
}

/// One rule that moved a share.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ShareCause {
    /// Zone whose log-odds the rule moved; a share moves with the log-odds of its own zone and against those
    /// of the others.
    pub zone: ZoneId,
    /// Rule.
    pub rule: String,
    /// What it says, in plain words.
    pub label: String,
    /// Part of the share's change that is due to it, to first order.
    pub part_frac: f64,
    /// Its inputs.
    pub inputs: Vec<InputChange>,
}

/// One input of a rule, before and now; `None` where the rule had no effect then, and its inputs were not
/// kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct InputChange {
    /// Name with unit, as in the reasons.
    pub name: String,
    /// Before.
    pub before: Option<f64>,
    /// Now.
    pub now: Option<f64>,
}

/// What is said of a ramp; `None` is not known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RampChange {
    /// Ramp.
    pub ramp: String,
    /// Whether it floated the boat before.
    pub before: Option<bool>,
    /// Whether it does now.
    pub now: Option<bool>,
}

/// The hardest caution on a hazard; `None` is no caution.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct CautionChange {
    /// Hazard.
    pub hazard: Hazard,
    /// Before.
    pub before: Option<CautionLevel>,
    /// Now.
    pub now: Option<CautionLevel>,
}
