//! How good a forecast was: scores against what happened, their comparison, and simple corrections.
//!
//! Every score here is negatively oriented: smaller is better, 0 is perfect. Skill (see [`skill_score`]) is
//! the other way round: 1 is perfect, 0 no better than the reference.

pub mod brier;
pub(crate) mod checks;
pub mod correction;
pub mod crps;
pub mod daily_reference;
pub mod dates;
pub mod differences;
pub mod emos;
pub mod error;
pub mod intervals;
pub mod lead_scores;
pub mod log_score;
pub mod normal_date;
pub mod ranks;
pub mod reference;
pub mod rps;
pub mod seasons;
pub mod share_record;
pub mod shares;
pub mod telemetry;
pub mod turnover_record;

pub use error::SkillError;
pub use reference::skill_score;
