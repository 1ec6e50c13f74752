//! The record with its provenance, the store, and tables by day.

pub mod daily;
pub mod flag;
pub mod gap;
pub mod record;
pub mod set;

pub use daily::Daily;
pub use flag::Flag;
pub use gap::{Consequence, Gap, GapReason};
pub use record::{Approval, Batch, ForecastBatch, Member, Observation, Provenance, SeriesKey};
pub use set::SeriesSet;
