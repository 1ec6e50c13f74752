//! Why the trip log cannot do what it was asked to, and the faults of what it was given.

use std::path::PathBuf;

/// Something wrong in a trip as it was told: where, what was found, what was wanted, how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripFault {
    /// Where: a word, a line, a leg.
    pub place: String,
    /// What was found there.
    pub found: String,
    /// What was wanted.
    pub wanted: String,
    /// How to mend it.
    pub mend: String,
}

impl TripFault {
    /// A fault.
    pub fn new(
        place: impl Into<String>,
        found: impl Into<String>,
        wanted: impl Into<String>,
        mend: impl Into<String>,
    ) -> TripFault {
        TripFault {
            place: place.into(),
            found: found.into(),
            wanted: wanted.into(),
            mend: mend.into(),
        }
    }
}

impl std::fmt::Display for TripFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let TripFault {
            place,
            found,
            wanted,
            mend,
        } = self;
        write!(f, "{place}: found {found}, wanted {wanted}; {mend}")
    }
}

/// Why the trip log cannot do what it was asked to. The log is then as it was before.
#[derive(Debug, thiserror::Error)]
pub enum TripError {
    /// What was told has faults; all of them.
    #[error("reading {origin}: nothing was changed in the log:\n{}", listed(faults))]
    Faulty {
        /// What was read.
        origin: String,
        /// All its faults.
        faults: Vec<TripFault>,
    },
    /// A file that cannot be read.
    #[error("cannot open {}: {source}; nothing was changed in the log", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// A file longer than any log or track.
    #[error("reading {}: found more than {cap_bytes} bytes, wanted no more; nothing was changed in the log; cut the file into parts, a track by days", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// The most that is read.
        cap_bytes: u64,
    },
    /// An ending that says nothing of the form.
    #[error("reading {}: found no ending of a form that is known, wanted .csv, .json, .parquet, .gpx or .kml; rename it, or name the form with --format", path.display())]
    UnknownForm {
        /// The file.
        path: PathBuf,
    },
    /// A track of a lake whose zones have no outlines.
    #[error(
        "cutting a track by zones: found no zone with an outline in the lake file, wanted one for each zone that you fish; add outline = [[latitude, longitude], ...] to [[zones]] (docs/lake-file.md), or name the zone of the whole track with --zone"
    )]
    NoOutlines,
    /// The same trip again.
    #[error(
        "adding the trip of {date}: found the same water at the same time in trip {number}, wanted a new trip; nothing was changed in the log; see `plungeline log show {number}`, or add it all the same with --again"
    )]
    Twin {
        /// Its day.
        date: chrono::NaiveDate,
        /// The trip that is there.
        number: u32,
    },
    /// A number that no trip has.
    #[error("looking for trip {number}: found {there}, wanted one of them; `plungeline log list` shows them")]
    NoTrip {
        /// The number.
        number: u32,
        /// What there is, in words.
        there: String,
    },
    /// A version that a trip never had.
    #[error(
        "looking for version {version} of trip {number}: found versions 1 to {newest}, wanted one of them; `plungeline log show {number} --history` shows them"
    )]
    NoVersion {
        /// The trip.
        number: u32,
        /// The version.
        version: u32,
        /// The newest there is.
        newest: u32,
    },
    /// A log made by a later program, or no log at all.
    #[error("opening the trip log {}: {why}; use the program that made it, or restore a backup", path.display())]
    NotOurs {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// No room on the disk.
    #[error("writing the trip log {}: the disk is full; nothing was changed in the log; make room and do it again", path.display())]
    Full {
        /// The file.
        path: PathBuf,
    },
    /// Anything else that the database says.
    #[error("{doing} the trip log {}: {source}; nothing was changed in it; make the folder writable, or close what else uses it, and do it again", path.display())]
    Database {
        /// What was done.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: rusqlite::Error,
    },
    /// A backup onto a file that is there.
    #[error("backing up the trip log: found {} there already, wanted a new file; name another", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// A backup that cannot be put in its place.
    #[error("backing up the trip log to {}: {source}; name a file in a folder that is there and writable", path.display())]
    NotBackedUp {
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
}

fn listed(faults: &[TripFault]) -> String {
    let lines: Vec<String> = faults.iter().map(|fault| format!("  {fault}")).collect();
    lines.join("\n")
}
