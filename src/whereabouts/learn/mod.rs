//! What trips teach of the rules: counts of fish by zone and hour move the coefficients, blank hours above all.
//!
//! The rows are plain values; who makes them from a log is above. With no trip the answer is exactly the rules.

mod design;
pub mod entangled;
pub mod error;
pub mod fit;
pub mod influence;
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

pub use error::FitError;
pub use fit::{SpeciesFit, fit_species, fit_together};
pub use morning::{catch_responses_of, morning_of};
pub use options::FitOptions;
pub use report::{FitReport, fit_report};
pub use rows::*;
