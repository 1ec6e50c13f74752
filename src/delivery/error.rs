//! Why letters cannot be sent, or readers not be kept.

use std::path::PathBuf;

use super::fault::Fault;

/// Why letters cannot be sent, or readers not be kept.
#[derive(Debug, thiserror::Error)]
pub enum DeliveryError {
    /// What was given has faults; all of them. Nothing was changed.
    #[error("reading {origin}: nothing was changed:\n{}", listed(faults))]
    Faulty {
        /// What was read.
        origin: String,
        /// All its faults.
        faults: Vec<Fault>,
    },
    /// A file that cannot be read.
    #[error("reading {}: {source}; name a file that is there and readable", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// No settings of the mail server.
    #[error("reading the mail settings: found no {}, wanted a file with the mail server and the sender; write one (docs/digest.md), or name one with --settings", path.display())]
    NoSettings {
        /// Where they were looked for.
        path: PathBuf,
    },
    /// A file with a password that others can read.
    #[error("reading the password from {}: found permissions {mode:04o}, wanted a file that its owner alone can read; run chmod 600 on it", path.display())]
    Exposed {
        /// The file.
        path: PathBuf,
        /// Its permissions.
        mode: u32,
    },
    /// A password that is not to be had.
    #[error(
        "getting the password from {origin}: found {found}, wanted one line of text; mend it there, or name another place in the mail settings"
    )]
    NoSecret {
        /// Where it should have come from.
        origin: String,
        /// What was found.
        found: String,
    },
    /// An address that is not on the list.
    #[error(
        "looking for the reader {address}: found none with this address, wanted one of the list; see plungeline digest readers list"
    )]
    NoReader {
        /// The address.
        address: String,
    },
    /// An address that is on the list.
    #[error(
        "adding the reader {address}: found it on the list already, wanted a new address; remove it first to begin anew"
    )]
    Known {
        /// The address.
        address: String,
    },
    /// An address that was removed.
    #[error(
        "adding the reader {address}: found that it was removed on {on}, wanted a new wish to read; give the later day on which it was asked for, with --rejoin"
    )]
    Removed {
        /// The address.
        address: String,
        /// Day of the removal.
        on: String,
    },
    /// A word of confirmation that is not that of the reader.
    #[error(
        "confirming the reader {address}: found another word than the one that was given out, wanted that one; copy it whole"
    )]
    WrongToken {
        /// The address.
        address: String,
    },
    /// A row that the ledger does not have, or not in that state.
    #[error(
        "resolving {address} in {week}: found {found}, wanted a letter whose fate is unknown; see plungeline digest ledger list"
    )]
    NotUnknown {
        /// The address.
        address: String,
        /// The week.
        week: String,
        /// What the ledger has.
        found: String,
    },
    /// A letter that is to be sent again, of a week that is over.
    #[error(
        "resolving {address} in {week}: found a letter of a week that is over, wanted one of {now} or later: no other is sent any more; \
         say --arrived where it has arrived, else leave it as it is"
    )]
    WeekOver {
        /// The address.
        address: String,
        /// The week of the letter.
        week: String,
        /// The first week whose letters are still sent.
        now: String,
    },
    /// A letter that must not be sent as it is.
    #[error(
        "checking the letter to {address}: {why}; nothing was sent to this reader; mend the letter and send again"
    )]
    Letter {
        /// The reader.
        address: String,
        /// What was found and wanted.
        why: String,
    },
    /// Another run is sending.
    #[error("sending: found another run at work on {}, wanted one at a time; wait for its end", path.display())]
    Busy {
        /// The lock.
        path: PathBuf,
    },
    /// A file made by a later program, or no list at all.
    #[error("opening the list of readers {}: {why}; use the program that made it, or restore a copy", path.display())]
    NotOurs {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// Anything else that the database says.
    #[error("{doing} in {}: {source}; make the folder writable and the disk roomy, or close what else uses it, and do it again", path.display())]
    Database {
        /// What was done.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: rusqlite::Error,
    },
    /// The mail server cannot be reached, or breaks off again and again.
    #[error(
        "reaching the mail server {server}: {why}; what was not sent stays due; see to the network and the mail settings, and send again"
    )]
    Connect {
        /// Host and port.
        server: String,
        /// What happened.
        why: String,
    },
    /// The mail server refuses to work for us at all.
    #[error(
        "{doing} at the mail server {server}: {why}; what was not sent stays due; mend the mail settings and send again"
    )]
    Refused {
        /// Host and port.
        server: String,
        /// What was asked.
        doing: &'static str,
        /// What it said.
        why: String,
    },
}

fn listed(faults: &[Fault]) -> String {
    let lines: Vec<String> = faults.iter().map(|fault| format!("  {fault}")).collect();
    lines.join("\n")
}
