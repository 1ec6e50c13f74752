//! Why observations could not be taken up.

/// Why an analysis was not made. Nothing has changed then.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum AssimilationError {
    /// Too few members for a spread.
    #[error(
        "correcting the water by observations: found {found} member, wanted an ensemble of at least 2; run more lanes or blocks"
    )]
    TooFew {
        /// How many there are.
        found: usize,
    },
    /// Places that do not hold the same blocks of members.
    #[error(
        "correcting the water by observations: found {found} blocks of members in place {place}, wanted {wanted}, one for each block of factors; give every place all blocks"
    )]
    Blocks {
        /// The place, counted from 0.
        place: usize,
        /// Blocks there.
        found: usize,
        /// Blocks of factors.
        wanted: usize,
    },
    /// A table of weights that does not fit the places.
    #[error(
        "correcting the water by observations: found weights between {found} places, wanted a square table of {wanted}, each from 0 to 1; make it anew for these places"
    )]
    Weights {
        /// Places in the table.
        found: usize,
        /// Places there are.
        wanted: usize,
    },
    /// An observation that says nothing.
    #[error(
        "correcting the water by observations: found value {value}, error {error}, depth {depth_m} m in place {place}, wanted finite numbers, an error above 0, a depth not below 0 and a place that there is; mend the observation or leave it out"
    )]
    Observation {
        /// Its place.
        place: usize,
        /// Its depth.
        depth_m: f64,
        /// Its value.
        value: f64,
        /// Its standard error.
        error: f64,
    },
}
