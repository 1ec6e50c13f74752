//! Why there is no forcing from the store.

use chrono::{DateTime, Utc};

use crate::column::forcing::ForcingError;

/// Why there is no forcing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StoredForcingError {
    /// Fewer than one whole hour.
    #[error(
        "making the forcing from the store: found a span from {from} to {as_of}, wanted at least one whole hour; choose an \
         earlier beginning"
    )]
    Span {
        /// Beginning asked for.
        from: DateTime<Utc>,
        /// The clock.
        as_of: DateTime<Utc>,
    },
    /// A quantity that nothing can stand in for.
    #[error(
        "making the forcing from the store: found no {what} that can be used from {from} on, wanted values of those hours or of the \
         same days of other years; pull the history of a series of it (daily_from, continuous_from in the lake file), or name \
         one more series"
    )]
    Unknown {
        /// Quantity.
        what: &'static str,
        /// First hour without it.
        from: DateTime<Utc>,
    },
    /// Steps cannot be made of what was found.
    #[error(transparent)]
    Steps(#[from] ForcingError),
}
