//! A failed job.

use std::path::PathBuf;

use super::words::root_cause;
use super::{FetchError, ReadError, ReplayError};
use crate::lake::SeriesId;

/// A failed job.
#[derive(Debug, thiserror::Error)]
pub enum SourceError {
    /// The bytes did not arrive.
    #[error("asking {service} for {url}: {fault}")]
    Fetch {
        /// Service.
        service: &'static str,
        /// What was asked, secrets left out.
        url: String,
        /// What went wrong.
        #[source]
        fault: FetchError,
    },
    /// The network client itself could not be set up.
    #[error(
        "setting up the network client: {}; check the certificates of the system (package ca-certificates)",
        root_cause(source)
    )]
    Setup {
        /// Cause.
        source: reqwest::Error,
    },
    /// The bytes arrived and cannot be read.
    #[error("reading what {service} sent for {origin}: {fault}")]
    Read {
        /// Service.
        service: &'static str,
        /// Address or file the bytes came from.
        origin: String,
        /// What is wrong in them.
        #[source]
        fault: ReadError,
    },
    /// A local file cannot be opened.
    #[error("cannot open {}: {source}; check the path; that of a table in a lake file is taken from the folder of the lake file", path.display())]
    File {
        /// File.
        path: PathBuf,
        /// Cause.
        source: std::io::Error,
    },
    /// A local file without end, or longer than anything that is read.
    #[error(
        "cannot read {}: found more than {cap_bytes} bytes, wanted at most that; name a regular file, or split it", path.display()
    )]
    FileTooLarge {
        /// File.
        path: PathBuf,
        /// Most bytes allowed.
        cap_bytes: usize,
    },
    /// The lake file does not say enough about a series to read it.
    #[error(
        "series \"{series}\" of {service}: found no {wanted}; add it to that [[series]] of the lake file"
    )]
    NotDescribed {
        /// Series.
        series: SeriesId,
        /// Service.
        service: &'static str,
        /// Key that is wanted.
        wanted: &'static str,
    },
    /// The service does not have what the lake file asks of it.
    #[error(
        "series \"{series}\" of {service}: found {found}, wanted {wanted}; mend that [[series]] of the lake file"
    )]
    NotOffered {
        /// Series.
        series: SeriesId,
        /// Service.
        service: &'static str,
        /// What the lake file asks for.
        found: String,
        /// What the service has.
        wanted: String,
    },
    /// No such service.
    #[error("found service \"{found}\", wanted one of: {known}; mend the key `service` or the argument")]
    UnknownService {
        /// Name found.
        found: String,
        /// Names there are.
        known: String,
    },
    /// A replay folder cannot be read or written.
    #[error("replay folder {}: {fault}", folder.display())]
    Replay {
        /// Folder.
        folder: PathBuf,
        /// What went wrong.
        #[source]
        fault: ReplayError,
    },
}
