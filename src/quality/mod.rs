//! Quality flags beside values; nothing is deleted.

mod error;
mod series;
mod thresholds;

pub use error::QualityError;
pub use series::{flag_series, flag_set};
pub use thresholds::Thresholds;
