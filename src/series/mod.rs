//! The record with its provenance, the store, and tables by day.

pub mod flag;
pub mod gap;
pub mod record;

pub use flag::Flag;
pub use gap::{Consequence, Gap, GapReason};
pub use record::{Approval, Batch, ForecastBatch, Member, Observation, Provenance, SeriesKey};
