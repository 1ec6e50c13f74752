//! What can go wrong with the store.

use std::path::PathBuf;

use super::SeriesKey;

/// A fault of the series store. A damaged file is none when the store is read as a whole: it is set
/// aside and named as a [`super::Gap`].
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Neither a home folder nor `XDG_DATA_HOME` says where the store is.
    #[error("choosing a folder for the store: no home folder found; name one with --store DIR")]
    NoHome(#[source] etcetera::HomeDirError),
    /// A file or folder could not be read.
    #[error("reading the store: {} cannot be read; check its owner and rights", path.display())]
    Read {
        /// File or folder.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// A file or folder could not be written; what stood there before still stands.
    #[error(
        "writing the store: {} cannot be written, its former content is untouched; check free space and rights, or name another place with --store DIR",
        path.display()
    )]
    Write {
        /// File or folder.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// Another process writes at the moment.
    #[error(
        "writing the store: another process has held {} for {waited_s} s; wait until it has finished and try again",
        path.display()
    )]
    Locked {
        /// The lock file.
        path: PathBuf,
        /// How long this process waited.
        waited_s: u64,
    },
    /// Another process pulls into the store of the lake.
    #[error(
        "pulling: {} pulls into {}; wait until it has finished, or end it, and run `plungeline pull` again; nothing was changed",
        puller_words(holder.as_ref()), folder.display()
    )]
    PullRunning {
        /// Folder of the lake's store.
        folder: PathBuf,
        /// Who pulls; `None` where the lock file does not say.
        holder: Option<super::store::Puller>,
    },
    /// A file is cut short, altered, or was not written by this program.
    #[error("reading the store: {} is damaged ({fault}); fetch its values again with `plungeline pull`", path.display())]
    Damaged {
        /// File.
        path: PathBuf,
        /// What is wrong with it.
        #[source]
        fault: Damage,
    },
    /// Values that the table library refused to encode.
    #[error("writing the store: {rows} rows of {} cannot be encoded; this is a fault of the program", path.display())]
    Encode {
        /// File they were meant for.
        path: PathBuf,
        /// Rows.
        rows: usize,
        /// What the library said.
        #[source]
        source: polars::error::PolarsError,
    },
    /// A batch of the wrong kind for the call.
    #[error("writing the store: batch of series {:?} has cadence {:?}, wanted {wanted}", key.id.as_str(), key.cadence)]
    WrongCadence {
        /// Series and cadence of the batch.
        key: SeriesKey,
        /// What the call takes.
        wanted: &'static str,
    },
    /// An id that cannot be the name of a folder.
    #[error(
        "opening the store: id {id:?} cannot name a folder; wanted lower-case letters, digits, hyphens and underscores"
    )]
    BadId {
        /// The id.
        id: String,
    },
}

fn puller_words(holder: Option<&super::store::Puller>) -> String {
    match holder {
        Some(holder) => format!("process {}, since {},", holder.process, holder.since),
        None => "another process".to_owned(),
    }
}

/// What is wrong with a file of the store.
#[derive(Debug, thiserror::Error)]
pub enum Damage {
    /// Fewer bytes than any file of the store has.
    #[error("{found} bytes, too short to be a table")]
    TooShort {
        /// Bytes found.
        found: usize,
    },
    /// The end of a Parquet file is missing.
    #[error("the end mark of a Parquet file is missing")]
    NoEndMark,
    /// The seal that this program writes before the Parquet footer is missing.
    #[error("the seal before the footer is missing")]
    NoSeal,
    /// The bytes do not match the seal.
    #[error("the bytes do not match their seal")]
    BrokenSeal,
    /// A column or note is missing or of another type.
    #[error("no usable {what:?}")]
    Lacks {
        /// Column or note.
        what: &'static str,
    },
    /// A row refers to something the file does not hold, or holds an impossible code.
    #[error("row {row} has an impossible {what}")]
    Row {
        /// Row, from 0.
        row: usize,
        /// What is impossible.
        what: &'static str,
    },
    /// The table library refused the bytes.
    #[error("not readable as Parquet: {message}")]
    Parquet {
        /// What the library said.
        message: String,
    },
    /// The notes of the file are not what this program writes.
    #[error("unreadable notes")]
    Notes(#[source] serde_json::Error),
}
