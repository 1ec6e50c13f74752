//! Why there is no score.

/// A fault of what was to be scored. A case that is merely missing is left out by the caller, who counts it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SkillError {
    /// Too few values.
    #[error("scoring {what}: found {found}, wanted at least {least}; wait for more cases")]
    TooFew {
        /// What was counted.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many are needed.
        least: usize,
    },
    /// Two lists that belong together differ in length.
    #[error("scoring {what}: found {found}, wanted {wanted}; give one for each")]
    Lengths {
        /// What was counted.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many the other list has.
        wanted: usize,
    },
    /// A value that cannot be scored.
    #[error(
        "scoring {what}: found {value} at place {place}, wanted {wanted}; leave the case out and count it"
    )]
    Value {
        /// What the value is.
        what: &'static str,
        /// Its index.
        place: usize,
        /// The value.
        value: f64,
        /// What was wanted.
        wanted: &'static str,
    },
    /// The values are sound, but the figure asked for does not exist for them.
    #[error("scoring {what}: it is not defined here, wanted {wanted}; print the scores themselves instead")]
    Undefined {
        /// The figure.
        what: &'static str,
        /// What it needs.
        wanted: &'static str,
    },
}
