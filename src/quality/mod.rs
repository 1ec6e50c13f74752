//! Quality flags beside values; nothing is deleted.
//!
//! One file a test of the QARTOD manuals (read here: IOOS, *Manual for Real-Time Quality Control of
//! Water Level Data* v2.1, 2021, section 3), as pure functions from times and values to flags.
//! [`flag_set`] and [`flag_series`] choose tests and thresholds by quantity and cadence and combine
//! the flags.
//!
//! What features do with the flags: 1 and 2 are used; 3 only with a wider interval; 4 and 9 never.

pub mod aggregate;
pub mod climatology;
mod error;
pub mod flat;
pub mod gap;
mod judged;
pub mod partner;
pub mod range;
pub mod rate;
pub mod record;
mod series;
pub mod spike;
mod thresholds;

pub use error::QualityError;
pub use series::{Companions, flag_series, flag_set, flags_of};
pub use thresholds::{History, Neighbours, SeriesThresholds, SpikeScale, Thresholds};
