//! The forecasts' part of the skill page as values.

use serde::{Deserialize, Serialize};

use crate::column::ShownBy;
use crate::skill::correction::{Correction, CorrectionTrial};
use crate::skill::lead_scores::{CountedShare, LeadScore};
use crate::skill::turnover_record::TurnoverSkill;

/// How past forecasts did.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ForecastSkill {
    /// Whether these forecasts are invented, to show the page.
    pub invented: bool,
    /// Forecasts kept, up to the clock of the page.
    pub kept: usize,
    /// Files that cannot be read, are of another version of their form, or hold no distribution.
    pub unreadable: usize,
    /// Of the kept, those of replayed mornings: rehearsals.
    pub replayed: usize,
    /// Whether they are scored as if made then.
    pub replayed_scored: bool,
    /// Made after the day of their clock: hindsight, not scored.
    pub late: usize,
    /// Not the first of their day, which alone is scored.
    pub not_first: usize,
    /// The rest, which is scored.
    pub scored: usize,
    /// Surface, thermocline, level, inflow.
    pub variables: Vec<VariableSkill>,
    /// Turnover of the main body.
    pub turnover: TurnoverSkill,
}

/// What is forecast.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ForecastOf {
    /// Mean of the main body's surface over a standard day, degC.
    SurfaceTemp,
    /// Depth of the seasonal thermocline, m.
    Thermocline,
    /// Level at the hour of the launch, m.
    Level,
    /// Flow of all gauges of the inflows together, mean of a standard day, m3/s.
    GaugedInflow,
}

/// Scores of the forecasts of one thing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct VariableSkill {
    /// What.
    pub of: ForecastOf,
    /// Unit of its figures.
    pub unit: String,
    /// Series that it is judged by; `None` where it is several, or nothing was observed.
    pub series: Option<String>,
    /// Standard error of an observation, added to every member: in the unit, or of the inflow as a share of the member.
    pub error: f64,
    /// Days forecast that are past.
    pub past: usize,
    /// Of these, days without a usable observation.
    pub unobserved: usize,
    /// By lead.
    pub leads: Vec<LeadScore>,
    /// By season and by regime, leads in groups.
    pub groups: Vec<GroupSkill>,
    /// Of the thermocline, by lead: median within 1.5 m of what was observed.
    pub near: Vec<LeadHits>,
    /// Corrections tried, by lead; surface temperature alone has them.
    pub corrections: Vec<LeadCorrection>,
    /// What briefs show at each lead because of this; surface temperature alone has it.
    pub rules: Vec<LeadRule>,
}

/// Part of the cases.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// December to February; south of the equator June to August.
    Winter,
    /// The three months after.
    Spring,
    /// The three months after.
    Summer,
    /// The three months after.
    Autumn,
    /// At least half of the members had a thermocline on the day forecast.
    Stratified,
    /// Less than half of them had.
    Mixing,
}

/// Scores of a part of the cases, over leads 1 to 3, 4 to 7, 8 to 10, and beyond.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct GroupSkill {
    /// Which.
    pub group: Group,
    /// By group of leads.
    pub leads: Vec<LeadScore>,
}

/// Hits at one lead.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LeadHits {
    /// Lead.
    pub lead_days: u32,
    /// Cases.
    pub cases: usize,
    /// Hits.
    pub hits: CountedShare,
}

/// A correction tried at one lead.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LeadCorrection {
    /// Lead.
    pub lead_days: u32,
    /// What came of it.
    #[serde(flatten)]
    pub trial: CorrectionTrial,
}

/// What briefs show at one lead.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LeadRule {
    /// Lead.
    pub lead_days: u32,
    /// Whether there are cases enough; without, the model is shown as it is.
    pub tested: bool,
    /// What is shown.
    pub shown_by: ShownBy,
    /// With what correction.
    pub correction: Option<Correction>,
}
