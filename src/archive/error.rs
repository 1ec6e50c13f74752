//! Errors of the archive.

use std::path::PathBuf;

/// What can go wrong when what was issued is kept or looked up.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveError {
    /// The folder or a file could not be written.
    #[error("cannot keep {path}: {source}; make the store writable, or name another with --store")]
    Write {
        /// Where.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The folder could not be listed, or a file read.
    #[error(
        "cannot read {path}, which was issued earlier: {source}; check its owner and rights, or move it away"
    )]
    Read {
        /// Where.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
}
