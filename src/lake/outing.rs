//! What the user goes out with: presentations, boat, ball and cable; and the pages to look at before.

use serde::{Deserialize, Serialize};

use super::model::SpeciesId;

/// One rung of the presentation ladder: kinds of tackle, never makes.
#[derive(Debug, Clone, PartialEq)]
pub struct Presentation {
    /// Species it is for.
    pub species: Vec<SpeciesId>,
    /// What to run.
    pub what: String,
    /// Speed through the water, slow end.
    pub speed_min_m_s: f64,
    /// Speed through the water, fast end.
    pub speed_max_m_s: f64,
    /// Distance from attractor or release to the lure, where it matters.
    pub lead_m: Option<f64>,
    /// Length of the blade ahead of the lure, where there is one.
    pub blade_m: Option<f64>,
    /// What else there is to it, such as bait on the hook.
    pub note: Option<String>,
    /// When to move on to the next rung.
    pub move_on: String,
    /// Source, or "common practice, no source".
    pub basis: String,
}

/// The user's boat, and what is towed behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boat {
    /// Water needed over a ramp's toe to launch.
    pub launch_depth_m: f64,
    /// Water needed under the boat to run.
    pub running_depth_m: f64,
    /// Speed of the run from the ramp.
    pub run_speed_m_s: f64,
    /// Speed of a run in the dark or among floating wood; `None` where the file does not say.
    pub slow_speed_m_s: Option<f64>,
    /// Planned hours on the water.
    pub trip_h: f64,
    /// Mass of the downrigger's ball; `None` where the file does not say.
    pub ball_kg: Option<f64>,
    /// Diameter of its cable.
    pub cable_diameter_m: Option<f64>,
    /// Make-up of its cable.
    pub cable_kind: Option<CableKind>,
}

/// Make-up of a downrigger's cable: how much the water drags on it goes by that.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CableKind {
    /// One smooth round wire.
    Smooth,
    /// Strands of wire laid together.
    Stranded,
    /// A braided line.
    Braid,
}

/// Addresses of pages, as the lake file has them. What they say is never read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Links {
    /// Posted status of harmful algae.
    pub algae: Option<String>,
    /// Advisories on eating fish of this water.
    pub fish_advisory: Option<String>,
    /// Rules, limits and closures.
    pub rules: Option<String>,
    /// Operator of the dam, or of the one upstream.
    pub operator: Option<String>,
}
