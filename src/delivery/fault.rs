//! A fault in what was given: where, what was found, what was wanted, how to mend it.

use super::error::DeliveryError;

/// Something wrong in an address, a table of readers, or the settings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Where: a line, a key, an argument.
    pub place: String,
    /// What was found there.
    pub found: String,
    /// What was wanted.
    pub wanted: String,
    /// How to mend it.
    pub mend: String,
}

impl Fault {
    /// A fault.
    pub fn new(
        place: impl Into<String>,
        found: impl Into<String>,
        wanted: impl Into<String>,
        mend: impl Into<String>,
    ) -> Fault {
        Fault {
            place: place.into(),
            found: found.into(),
            wanted: wanted.into(),
            mend: mend.into(),
        }
    }

    /// The same fault at another place.
    pub fn at(self, place: impl Into<String>) -> Fault {
        Fault {
            place: place.into(),
            ..self
        }
    }
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Fault {
            place,
            found,
            wanted,
            mend,
        } = self;
        write!(f, "{place}: found {found}, wanted {wanted}; {mend}")
    }
}

/// The error of faults that were found in reading `origin`.
pub fn faulty(origin: impl Into<String>, faults: Vec<Fault>) -> DeliveryError {
    DeliveryError::Faulty {
        origin: origin.into(),
        faults,
    }
}
