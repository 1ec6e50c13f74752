//! What can be wrong with a species file.

/// One fault of a species file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// File, as it was named.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What stands there.
    pub found: String,
    /// What was wanted.
    pub wanted: String,
    /// How to mend it.
    pub mend: String,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Fault {
            file,
            line,
            column,
            found,
            wanted,
            mend,
        } = self;
        write!(
            f,
            "{file}:{line}:{column}: found {found}, wanted {wanted}; {mend}"
        )
    }
}

/// Why there is no species.
#[derive(Debug, thiserror::Error)]
pub enum SpeciesError {
    /// No species of that name.
    #[error("cannot find species {id:?}: there are rules for {known}; name one of them")]
    Unknown {
        /// Id asked for.
        id: String,
        /// Ids that are built in.
        known: String,
    },
    /// The file has faults; all of them.
    #[error("cannot use species file {file}: {} fault(s)\n{}", faults.len(), listed(faults))]
    Faulty {
        /// File, as it was named.
        file: String,
        /// Faults, in the order of the file.
        faults: Vec<Fault>,
    },
    /// Points that are no curve.
    #[error("cannot use point {point} of a curve: wanted {wanted}")]
    Curve {
        /// Index of the first point at fault.
        point: usize,
        /// What was wanted.
        wanted: &'static str,
    },
}

fn listed(faults: &[Fault]) -> String {
    faults.iter().map(Fault::to_string).collect::<Vec<_>>().join("\n")
}
