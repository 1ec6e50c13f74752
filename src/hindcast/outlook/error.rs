//! Why there is no hindcast of the outlook.

use crate::column::assimilate::AssimilationError;
use crate::column::reservoir::RunError;
use crate::hindcast::model::ModelError;
use crate::skill::SkillError;

/// Why there is no hindcast of the turnover.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OutlookError {
    /// The lake.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// A run.
    #[error("running the members of an outlook: {0}")]
    Run(#[from] RunError),
    /// A correction by profiles.
    #[error(transparent)]
    Assimilation(#[from] AssimilationError),
    /// A score.
    #[error(transparent)]
    Skill(#[from] SkillError),
    /// Too few autumns.
    #[error(
        "issuing outlooks of {lake} in past years: found {found} autumns whose turnover is known to {widest_days} days, wanted at least {least}; add profiles of more years"
    )]
    TooFew {
        /// Lake.
        lake: String,
        /// How many there are.
        found: usize,
        /// How many are needed.
        least: usize,
        /// Widest interval.
        widest_days: i64,
    },
}
