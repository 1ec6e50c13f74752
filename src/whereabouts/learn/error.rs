//! Why there is no fit.

/// A fault of the rows, or of the numbers in them.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Responses that are not as many as the species has rules or terms.
    #[error(
        "fitting {species}: trip {trip} has {found} {what}, wanted {wanted}; make its rows anew with the species file in use"
    )]
    Shape {
        /// Species.
        species: String,
        /// Trip.
        trip: String,
        /// What was counted.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many the species has.
        wanted: usize,
    },
    /// A number that cannot be.
    #[error("fitting {species}: trip {trip} has {what} {value}, wanted {wanted}; mend the trip in the log")]
    Number {
        /// Species.
        species: String,
        /// Trip.
        trip: String,
        /// What it is.
        what: &'static str,
        /// The number.
        value: f64,
        /// What was wanted.
        wanted: &'static str,
    },
    /// An option that cannot be.
    #[error("fitting: the option {what} is {value}, wanted {wanted}; change it or leave it out")]
    Choice {
        /// Which.
        what: &'static str,
        /// Its value.
        value: f64,
        /// What was wanted.
        wanted: &'static str,
    },
    /// The search found no top of the posterior.
    #[error(
        "fitting {species}: no most probable coefficients were found in {steps} steps, wanted a step below 1e-10; \
         look for a trip with a catch far beyond the others, and fit without it"
    )]
    NoTop {
        /// Species.
        species: String,
        /// Steps made.
        steps: usize,
    },
}
