//! What trips teach of the rules: counts of fish by zone and hour move the coefficients, blank hours above all.
//!
//! The rows are plain values; `from_log` makes them from the trip log and from what each morning offered. With no trip the answer is exactly the rules.

mod beliefs;
mod design;
pub mod entangled;
pub mod error;
pub mod features;
pub mod fit;
mod from_log;
pub mod influence;
mod kept;
pub mod layout;
pub mod learned;
pub mod morning;
pub mod options;
pub mod posterior;
pub mod predict;
pub mod report;
pub mod rows;
pub mod share;
pub mod stretch_table;

pub use beliefs::{Beliefs, trip_sha256};
pub use error::FitError;
pub use features::{Features, SpeciesFeatures, features_of};
pub use fit::{SpeciesFit, fit_species, fit_together};
pub use from_log::{BESIDE_BAND_M, LogRows, NotInRows, log_rows};
pub use kept::{FIT_FORM, KeptFit, KeptOptions, KeptSpecies, NoBelief};
pub use morning::{catch_responses_of, morning_of};
pub use options::FitOptions;
pub use report::{FitReport, fit_report};
pub use rows::*;
