//! Why there is no lake description.

use std::path::PathBuf;

use thiserror::Error;

use super::file::Fault;

/// A lake file that gave no lake.
#[derive(Debug, Error)]
pub enum LakeError {
    /// The file could not be read from disk.
    #[error("cannot read lake file {}: {source}; check the path, or begin one as docs/lake-file.md says", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// The file has faults; all of them are here, in the order of the file.
    #[error("cannot use lake file {}: {} faults; mend them all, `plungeline lake check` lists them", file.display(), faults.len())]
    Faulty {
        /// The file.
        file: PathBuf,
        /// Every fault.
        faults: Vec<Fault>,
    },
    /// The file is sound and serves hindcasts, but a brief needs more.
    #[error("no brief of lake \"{lake}\": found {found}, wanted {wanted}; {mend}")]
    NoBrief {
        /// Id of the lake.
        lake: String,
        /// What stands in the file.
        found: &'static str,
        /// What a brief needs.
        wanted: &'static str,
        /// How to mend it.
        mend: &'static str,
    },
}
