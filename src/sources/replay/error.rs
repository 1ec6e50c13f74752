//! What can be wrong with a replay folder.

use std::path::PathBuf;

/// What is wrong with a replay folder.
#[derive(Debug, thiserror::Error)]
pub enum ReplayError {
    /// A file cannot be read or written.
    #[error("cannot {doing} {}: {source}; check that the folder exists and may be written", path.display())]
    Io {
        /// What was being done.
        doing: &'static str,
        /// File.
        path: PathBuf,
        /// Cause.
        source: std::io::Error,
    },
    /// The index is no JSON of the wanted shape.
    #[error("index.json at \"{path}\": {source}; record the folder again with --record")]
    Index {
        /// JSON path.
        path: String,
        /// Cause.
        source: serde_json::Error,
    },
    /// Another format.
    #[error(
        "index.json: found format \"{found}\", wanted \"{wanted}\"; record the folder again with --record"
    )]
    Format {
        /// Format found.
        found: String,
        /// Format wanted.
        wanted: &'static str,
    },
    /// An entry that cannot be understood.
    #[error("index.json entry {entry}: found {field} \"{found}\", wanted {wanted}")]
    Entry {
        /// Number of the entry, from 0.
        entry: usize,
        /// Field.
        field: &'static str,
        /// Text found.
        found: String,
        /// What was wanted.
        wanted: &'static str,
    },
}
