//! The store of one lake: Parquet, a file a series, cadence and year; forecasts a file an issue.
//!
//! ```text
//! <root>/<lake id>/
//!     pool/daily-2025.parquet           observations of one year (UTC)
//!     pool/continuous-2025.parquet
//!     pool/continuous.snapshot          the same as one piece, a cache of the loader
//!     air_temp/forecast-2025/20251009T113000Z.parquet
//!     ledger.json                       what was pulled, HTTP validators
//!     writing.lock                      held while a process writes
//!     pulling.lock                      held while a process pulls
//! ```
//!
//! A forecast is issued every few hours and never changes, so each issue is a file of its own in a
//! folder a year: nothing is rewritten to add one, and pruning is the removal of a file.
//!
//! Every file is written beside its target, synced, and renamed over it, so that a process killed at
//! any instant leaves either the old content or the new. Every Parquet file carries a seal (SHA-256
//! of its bytes) between its columns and its footer, where other readers do not look: a file cut
//! short or altered is recognised before any byte of it is decoded.

mod alerts;
mod atomic;
mod columns;
mod directories;
mod folder;
mod forecasts;
mod history;
mod ledger;
mod load;
mod merge;
mod needs;
mod pulling;
mod rules;
mod seal;
mod sheet;
mod snapshot;
mod table;

pub use directories::{demo_root, store_root};
pub use folder::Store;
pub use ledger::{Ledger, PullRecord, Validators};
pub use load::Selection;
pub use merge::MergeReport;
pub use needs::{FORECAST_AGE_H, Need, REFETCH_DAYS};
pub use pulling::{PullLock, Puller};
pub use sheet::{Sheet, SheetColumn};
