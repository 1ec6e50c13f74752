//! The record with its provenance, the store, and tables by day.

pub mod alert;
pub mod daily;
pub mod error;
pub mod flag;
pub mod gap;
pub(crate) mod parallel;
pub mod record;
pub mod set;
pub mod store;

pub use alert::{Alert, AlertReply};
pub use daily::Daily;
pub use error::StoreError;
pub use flag::Flag;
pub use gap::{Consequence, Gap, GapReason};
pub use record::{Approval, Batch, ForecastBatch, Member, Observation, Provenance, SeriesKey};
pub use set::SeriesSet;
pub use store::Store;
