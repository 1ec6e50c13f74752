//! What can go wrong with the thresholds.

use std::path::PathBuf;

/// A fault of the thresholds' file. Bad values are flagged, never an error.
#[derive(Debug, thiserror::Error)]
pub enum QualityError {
    /// The file cannot be read.
    #[error("reading thresholds: {} cannot be read", path.display())]
    Read {
        /// File.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
}
