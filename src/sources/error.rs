//! What can go wrong between a service and a record.
//!
//! Three kinds by place: on the way ([`FetchError`]), in the bytes ([`ReadError`]), in a replay folder
//! ([`ReplayError`]). Each message says what was found, what was wanted, and how to mend it.

use std::path::PathBuf;

pub use super::replay::ReplayError;
use crate::lake::SeriesId;
use crate::quantity::Quantity;

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
    #[error("cannot open {}: {source}; check the path, in a lake file that of `csv` in the [[series]]", path.display())]
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

/// Why bytes did not arrive.
#[derive(Debug, thiserror::Error)]
pub enum FetchError {
    /// No connection, or it broke off before the reply began.
    #[error(
        "no answer ({}) after {}; check the network, then run `plungeline pull` again",
        root_cause(source), tries_words(*tries)
    )]
    Unreachable {
        /// Times it was tried.
        tries: usize,
        /// Cause.
        source: reqwest::Error,
    },
    /// The service shows a certificate that nobody here vouches for, or one out of date.
    #[error(
        "no answer: the service's certificate is not trusted ({}); check the clock of this machine, its certificates \
         (package ca-certificates), and whether the network puts its own in place of the service's",
        root_cause(source)
    )]
    Certificate {
        /// Cause.
        source: reqwest::Error,
    },
    /// Another request has found the host out of reach in this run.
    #[error(
        "not asked: {host} cannot be reached ({cause}); check the network, then run `plungeline pull` again"
    )]
    HostAway {
        /// Host.
        host: &'static str,
        /// Why it was out of reach.
        cause: String,
    },
    /// No complete reply in time.
    #[error(
        "no complete reply within {limit_s} s, {}; the service is slow, run `plungeline pull` later",
        tries_words(*tries)
    )]
    TimedOut {
        /// Times it was tried.
        tries: usize,
        /// Time allowed for one try.
        limit_s: f64,
    },
    /// A status that is no success.
    #[error("found status {status}{}, wanted 200, {}; {}", said_words(said), tries_words(*tries), status_remedy(*status))]
    Status {
        /// HTTP status.
        status: u16,
        /// Times it was tried.
        tries: usize,
        /// The service's own words.
        said: Option<String>,
    },
    /// The service asks for a longer pause than this run will make.
    #[error(
        "status {status}: the service asks to wait {wait_s} s, more than the {cap_s} s a run waits; run `plungeline pull` after that"
    )]
    AskedToWait {
        /// HTTP status.
        status: u16,
        /// Pause asked for.
        wait_s: f64,
        /// Longest pause made.
        cap_s: f64,
    },
    /// The run has asked as much as the service allows.
    #[error(
        "not asked: {} is what the service allows and this run has asked that much; what came is kept, run `plungeline pull` again in {} min",
        allowed_words(*calls, *seconds), wait_s.div_ceil(60)
    )]
    OverLimit {
        /// Calls that the service allows,
        calls: u32,
        /// in so many seconds.
        seconds: u32,
        /// Time until the next one.
        wait_s: u64,
    },
    /// A redirect or a link to a next page leads to another host.
    #[error(
        "the {what} leads away to {to}; not followed, for a service answers from its own host; the service may have moved: look for a newer plungeline"
    )]
    LeavesHost {
        /// `redirect` or `link to the next page`.
        what: &'static str,
        /// Where to.
        to: String,
    },
    /// A chain of pages or redirects without end.
    #[error(
        "{what} repeats after {count} steps; the service's fault, nothing of this request was kept; run `plungeline pull` later"
    )]
    Endless {
        /// What repeats.
        what: &'static str,
        /// Steps taken.
        count: usize,
    },
    /// More bytes than allowed.
    #[error(
        "reply is over {cap_bytes} bytes unpacked, wanted less; ask for a shorter window (daily_from, continuous_from)"
    )]
    TooLarge {
        /// Most bytes allowed.
        cap_bytes: usize,
    },
    /// The reply stopped in the middle.
    #[error(
        "reply was cut short after {received_bytes} bytes ({}), {}; run `plungeline pull` again",
        root_cause(source), tries_words(*tries)
    )]
    CutShort {
        /// Bytes received, unpacked.
        received_bytes: usize,
        /// Times it was tried.
        tries: usize,
        /// Cause.
        source: reqwest::Error,
    },
    /// Not an address.
    #[error("found address \"{found}\", wanted an http or https one")]
    Address {
        /// Text found.
        found: String,
    },
}

impl FetchError {
    /// Why the host is out of reach, where no connection came about; `None` for every other fault.
    pub fn unreachable_because(&self) -> Option<String> {
        match self {
            FetchError::Unreachable { source, .. } if source.is_connect() => Some(root_cause(source)),
            FetchError::HostAway { cause, .. } => Some(cause.clone()),
            _ => None,
        }
    }

    /// The fault without what differs from request to request, so that one outage reads the same for all of them.
    pub fn in_short(&self) -> String {
        match (self, self.unreachable_because()) {
            (_, Some(cause)) => {
                let words = cause.split(" (os error").next().unwrap_or(&cause);
                format!("cannot be reached ({words})")
            }
            (FetchError::Status { status, .. }, None) => {
                format!("answered with status {status}; {}", status_remedy(*status))
            }
            (other, None) => other.to_string(),
        }
    }
}

fn allowed_words(calls: u32, seconds: u32) -> String {
    let time = match seconds {
        60 => "a minute".to_owned(),
        3600 => "an hour".to_owned(),
        86_400 => "a day".to_owned(),
        other => format!("in {other} s"),
    };
    format!("{calls} calls {time}")
}

/// What is wrong in the bytes of a reply.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// Nothing there.
    #[error("found an empty body, wanted {wanted}; ask again later")]
    Empty {
        /// What was due.
        wanted: &'static str,
    },
    /// Something else than JSON.
    #[error(
        "found {found} (begins \"{begins}\"), wanted JSON; the service is down or has moved, ask again later"
    )]
    NotJson {
        /// Kind of what was found.
        found: &'static str,
        /// First characters.
        begins: String,
    },
    /// XML that cannot be read.
    #[error("found XML that cannot be read (begins \"{begins}\"): {reason}; save the file again, whole")]
    Markup {
        /// What is wrong, with its place.
        reason: String,
        /// First characters.
        begins: String,
    },
    /// JSON that stops in the middle.
    #[error(
        "the JSON stops in the middle of \"{path}\" (line {line}, column {column}), wanted it whole; ask again"
    )]
    CutShort {
        /// JSON path reached.
        path: String,
        /// Line of the end.
        line: usize,
        /// Column of the end.
        column: usize,
    },
    /// JSON of another shape.
    #[error("at \"{path}\": {source}; the service may have changed its format")]
    Json {
        /// JSON path.
        path: String,
        /// What was found and wanted there.
        source: serde_json::Error,
    },
    /// An error body of the service.
    #[error(
        "the service says: {reason}; mend station, parameter or position in the lake file if it names one"
    )]
    Said {
        /// Its words.
        reason: String,
    },
    /// Another kind of reply than the job asked for.
    #[error("found {found}, wanted {wanted}; name the right service and kind of reply")]
    Kind {
        /// What was found.
        found: String,
        /// What was wanted.
        wanted: String,
    },
    /// Parallel arrays of unequal length.
    #[error(
        "\"{path}\" has {found} entries, wanted {wanted} as in its time array; the reply is damaged, ask again"
    )]
    Lengths {
        /// JSON path.
        path: String,
        /// Entries found.
        found: usize,
        /// Entries of the time array.
        wanted: usize,
    },
    /// A unit that does not fit the quantity.
    #[error("{what}: found unit \"{found}\", wanted one of {wanted} for {}; mend `unit`, `quantity` or `parameter`", quantity.word())]
    Unit {
        /// Column or parameter.
        what: String,
        /// Unit found.
        found: String,
        /// Quantity of the series.
        quantity: Quantity,
        /// Units that are known for it.
        wanted: String,
    },
    /// Two sensors behind one parameter.
    #[error("parameter {parameter} has {} time series ({}), wanted one; choose with `parameter = \"{parameter}/ID\"`", ids.len(), ids.join(", "))]
    SeveralSensors {
        /// Parameter.
        parameter: String,
        /// Their ids.
        ids: Vec<String>,
    },
    /// A variable that was asked for is not in the reply, or has no values the service knows of.
    #[error(
        "found no variable \"{variable}\" in {place}, wanted it; mend `parameter` or leave the series out"
    )]
    NoVariable {
        /// Variable.
        variable: String,
        /// Block of the reply.
        place: &'static str,
    },
    /// A column that is not in the header.
    #[error(
        "line 1: found columns {found}, wanted one named \"{wanted}\"; mend the column map of the series"
    )]
    Header {
        /// Columns there are.
        found: String,
        /// Column wanted.
        wanted: String,
    },
    /// A time zone that is not known.
    #[error("found stamp zone \"{found}\", wanted an IANA name, UTC, or an offset such as -08:00")]
    Zone {
        /// Text found.
        found: String,
    },
    /// A compressed file that does not unpack.
    #[error(
        "cannot unpack after {unpacked_bytes} bytes: {source}; the file is cut short or damaged, fetch it again"
    )]
    Unpack {
        /// Bytes that came out.
        unpacked_bytes: usize,
        /// Cause.
        source: std::io::Error,
    },
    /// More bytes than allowed.
    #[error("over {cap_bytes} bytes unpacked, wanted less; split the file")]
    TooLarge {
        /// Most bytes allowed.
        cap_bytes: usize,
    },
}

/// The last cause of a chain, which is the one that tells something.
fn root_cause(error: &dyn std::error::Error) -> String {
    let mut cause: &dyn std::error::Error = error;
    while let Some(next) = cause.source() {
        cause = next;
    }
    cause.to_string()
}

/// Whether a connection failed for the certificate that was shown. Errors of input and output keep what they
/// were made of apart from the chain of causes, and wrap one another.
pub(super) fn is_certificate_fault(error: &(dyn std::error::Error + 'static)) -> bool {
    if let Some(fault) = error.downcast_ref::<rustls::Error>() {
        return matches!(fault, rustls::Error::InvalidCertificate(_));
    }
    let io = error.downcast_ref::<std::io::Error>();
    match io.and_then(std::io::Error::get_ref) {
        Some(inner) => is_certificate_fault(inner),
        None => error.source().is_some_and(is_certificate_fault),
    }
}

fn tries_words(tries: usize) -> String {
    match tries {
        1 => "1 try".to_owned(),
        many => format!("{many} tries"),
    }
}

fn said_words(said: &Option<String>) -> String {
    said.as_ref()
        .map(|words| format!(" (\"{words}\")"))
        .unwrap_or_default()
}

fn status_remedy(status: u16) -> &'static str {
    match status {
        400 | 422 => "the request is refused: mend station, parameter or position in the lake file",
        401 | 403 => {
            "access is refused: check `contact` in the lake file, PLUNGELINE_USGS_KEY, or ask for a shorter window"
        }
        404 => "nothing stands there: mend station, parameter or position in the lake file",
        410 => "the service is gone: look for a newer plungeline",
        413 | 414 => "too much is asked at once: ask for a shorter window (daily_from, continuous_from)",
        429 => "too many requests: run `plungeline pull` later",
        _ => "the service's own fault: run `plungeline pull` later",
    }
}
