//! Why bytes did not arrive.

use super::words::{root_cause, said_words, status_remedy, tries_words};

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
