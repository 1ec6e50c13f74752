//! What can go wrong with the thresholds.

use std::path::PathBuf;

/// A fault of the thresholds' file. Bad values are flagged, never an error.
#[derive(Debug, thiserror::Error)]
pub enum QualityError {
    /// The file cannot be read.
    #[error("reading thresholds: {} cannot be read; check its name and rights", path.display())]
    Read {
        /// File.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// The file is no TOML, or holds a key or a value that is not known.
    #[error(
        "reading thresholds: {name}:{line}:{column}: {message}; compare with the comments in config/quality.toml"
    )]
    Syntax {
        /// Name of the file.
        name: String,
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What was found and wanted.
        message: String,
    },
    /// A value that no test can use.
    #[error("reading thresholds: {name}: [{table}] {key}: found {found}, wanted {wanted}")]
    Unsound {
        /// Name of the file.
        name: String,
        /// Table.
        table: String,
        /// Key.
        key: &'static str,
        /// Value found.
        found: String,
        /// What was wanted.
        wanted: &'static str,
    },
}
