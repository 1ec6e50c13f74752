//! Why a table of elevation and storage, or area, gives no hypsography.

use thiserror::Error;

/// What is wrong with a table of elevation and storage, or of elevation and area.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CapacityError {
    /// Fewer rows than a surface needs.
    #[error("found {found} rows of the table, wanted at least {wanted}; give more rows")]
    TooFew {
        /// Rows found.
        found: usize,
        /// Rows wanted.
        wanted: usize,
    },
    /// A row that is no higher than the one before, after sorting.
    #[error(
        "found two rows at elevation {elevation_m:.3} m with different figures, wanted each elevation once; remove one of them"
    )]
    Twice {
        /// Their elevation.
        elevation_m: f64,
    },
    /// A figure below zero, or none.
    #[error(
        "found {what} {figure} at elevation {elevation_m:.3} m, wanted a number that is not below 0; correct the row"
    )]
    NotPossible {
        /// Storage or area.
        what: &'static str,
        /// The figure, in SI.
        figure: f64,
        /// Elevation of its row.
        elevation_m: f64,
    },
    /// Storage, or area, that falls with elevation.
    #[error(
        "found {what} that falls from {before:.6e} to {after:.6e} (SI) between {low_m:.3} m and {high_m:.3} m, wanted one that never falls as the pool rises; check both rows, the columns and their units"
    )]
    Falls {
        /// Storage or area.
        what: &'static str,
        /// Figure of the lower row, in SI.
        before: f64,
        /// Figure of the higher row, in SI.
        after: f64,
        /// Elevation of the lower row.
        low_m: f64,
        /// Elevation of the higher row.
        high_m: f64,
    },
    /// Areas from the storages do not integrate back to them.
    #[error(
        "found areas that add up to {found_pct:.1} % of the greatest storage away from the table at {elevation_m:.3} m, wanted at most {wanted_pct:.0} %; give more rows there, or areas instead of storages"
    )]
    DoesNotAddUp {
        /// Greatest difference, percent of the greatest storage.
        found_pct: f64,
        /// Allowed.
        wanted_pct: f64,
        /// Where.
        elevation_m: f64,
    },
}
