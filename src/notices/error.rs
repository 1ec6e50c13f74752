//! Errors of the ledger of notices.

use std::path::PathBuf;

/// Why the ledger of notices cannot be used. The ledger is then as it was before.
#[derive(Debug, thiserror::Error)]
pub enum NoticeError {
    /// The folder of the store cannot be made.
    #[error("cannot make {}: {source}; make the store writable, or name another with --store", path.display())]
    Folder {
        /// Folder.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The file is no ledger of this program, or of a later version, or damaged.
    #[error("{}: {why}; notices are not judged, move it away to begin a new one", path.display())]
    NotOurs {
        /// File.
        path: PathBuf,
        /// What was found and wanted.
        why: String,
    },
    /// The database refused.
    #[error(
        "{doing} the ledger of notices {}: {source}; notices are not judged, make room there or end the program that holds it, and run again",
        path.display()
    )]
    Database {
        /// What was done.
        doing: &'static str,
        /// File.
        path: PathBuf,
        /// Why.
        #[source]
        source: rusqlite::Error,
    },
}
