//! Why a lake's columns could not be run.

use crate::column::assimilate::AssimilationError;
use crate::column::reservoir::{RunError, SetupError};
use crate::column::stored::StoredForcingError;

/// Why a lake's columns could not be run up to the clock. The quick model stands in then.
#[derive(Debug, thiserror::Error)]
pub enum AnalysisError {
    /// The lake file does not describe enough of the lake.
    #[error("running the lake's columns: {0}")]
    Setup(#[from] SetupError),
    /// There is no winter to begin with.
    #[error(
        "running the lake's columns: found no year of air temperature that ended nine months ago, wanted one to begin the run in its winter; pull more history (--history 2)"
    )]
    NoWinter,
    /// No level is known at the beginning.
    #[error(
        "running the lake's columns: found no pool elevation, wanted one to fill the lake to; add a series of pool_elevation"
    )]
    NoLevel,
    /// A level that the columns do not reach to.
    #[error(
        "running the lake's columns: found a pool at {level_m:.2} m, wanted one within the hypsography; check the gauge's datum or extend the table"
    )]
    Level {
        /// The level.
        level_m: f64,
    },
    /// Weather or flows are not known.
    #[error("running the lake's columns: {0}")]
    Forcing(#[from] StoredForcingError),
    /// A step that cannot be made.
    #[error("running the lake's columns: {0}")]
    Run(#[from] RunError),
    /// Readings that cannot be taken up.
    #[error("running the lake's columns: {0}")]
    Readings(#[from] AssimilationError),
}
