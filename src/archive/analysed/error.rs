//! Why a saved state was not kept or not taken up.

use std::path::PathBuf;

/// What is wrong with a saved state, or with where it lies.
#[derive(Debug, thiserror::Error)]
pub enum StateError {
    /// No state of this program.
    #[error(
        "reading a saved state of the water: found other bytes, wanted a file of this program; move it out of the folder of states"
    )]
    Foreign,
    /// Another form of the file.
    #[error(
        "reading a saved state of the water: found form {found}, wanted form {wanted}; delete it, the run begins before it"
    )]
    Form {
        /// Form of the file.
        found: u32,
        /// Form of this program.
        wanted: u32,
    },
    /// Cut short or altered.
    #[error(
        "reading a saved state of the water: found bytes that its seal does not stand for, wanted the file as it was written; delete it, the run begins before it"
    )]
    Damaged,
    /// Numbers that make no water, under a right seal.
    #[error(
        "reading a saved state of the water: found {found}, wanted {wanted}; delete it, the run begins before it"
    )]
    Content {
        /// What was found.
        found: String,
        /// What was wanted.
        wanted: String,
    },
    /// It rests on something that has changed since.
    #[error(
        "taking up the state of {day}: found that {what} changed since; the run begins with an earlier one"
    )]
    Stale {
        /// Its day.
        day: chrono::NaiveDate,
        /// What changed.
        what: &'static str,
    },
    /// The folder or a file could not be written.
    #[error(
        "cannot keep the state of the water in {path}: {source}; make the store writable, or name another with --store"
    )]
    Write {
        /// Where.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The folder or a file could not be read.
    #[error(
        "cannot read the states of the water in {path}: {source}; check its owner and rights, or move it away"
    )]
    Read {
        /// Where.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
}
