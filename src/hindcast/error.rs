//! Why there is no input of a hindcast.

use std::path::PathBuf;

use crate::column::forcing::ForcingError;
use crate::sources::{ReadError, SourceError};

/// Why there is no input of a hindcast.
#[derive(Debug, thiserror::Error)]
pub enum InputError {
    /// The lake file says nothing of a hindcast.
    #[error(
        "no hindcast of lake \"{lake}\": found no [hindcast] in its lake file, wanted one; docs/lake-file.md tells its keys"
    )]
    NotDescribed {
        /// Id of the lake.
        lake: String,
    },
    /// A table cannot be opened.
    #[error("opening a table of the hindcast: {0}, or from that of --tables")]
    File(#[from] SourceError),
    /// A table cannot be read.
    #[error("reading {} for the hindcast: {fault}", file.display())]
    Read {
        /// File as the lake file names it.
        file: PathBuf,
        /// What is wrong in it.
        #[source]
        fault: ReadError,
    },
    /// A hypsography that is none.
    #[error("reading the hypsography {}: found {found}, wanted {wanted}; mend the table, or [hypsography] in the lake file", file.display())]
    Hypsography {
        /// File as the lake file names it.
        file: PathBuf,
        /// What was found.
        found: String,
        /// What was wanted.
        wanted: String,
    },
    /// The tables do not make a forcing.
    #[error(transparent)]
    Forcing(#[from] ForcingError),
}
