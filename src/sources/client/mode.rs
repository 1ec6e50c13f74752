//! Live, recording, replaying.

use std::path::PathBuf;

use chrono::{DateTime, Utc};

/// Where replies come from, and whether they are kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Mode {
    /// The services themselves.
    Live,
    /// The services themselves; each reply is added to a replay folder.
    Record {
        /// Folder, made if it is not there.
        dir: PathBuf,
        /// Clock of the run; a replay with an earlier clock does not see what is recorded now.
        as_of: DateTime<Utc>,
    },
    /// A replay folder, served on a loopback address.
    Replay {
        /// Folder.
        dir: PathBuf,
        /// Clock of the run.
        as_of: DateTime<Utc>,
    },
}
