//! The command: which lake, which readers, and what to do.

use std::io::Read as _;
use std::path::Path;

use super::args::{DigestAction, DigestArgs, LedgerAction};
use super::{preview, readers, send};
use crate::cli::args::SessionArgs;
use crate::cli::{output, session};
use crate::delivery::bounce::{Followed, messages_of};
use crate::delivery::{Book, DeliveryError, Mailbox, Resolution, faulty};
use crate::error::{Error, Status};
use crate::faces::readers::{render_deliveries, render_followed};

/// Largest mailbox or message that is read.
const FILE_MOST_BYTES: u64 = 256 * 1024 * 1024;

/// A run of `digest`.
pub(super) struct Run {
    /// Lake, store, clock.
    pub session: session::Session,
}

impl Run {
    /// Readers and ledger of the lake, made where they are not there.
    pub fn book(&self) -> Result<Book, Error> {
        Ok(Book::open(self.session.store.folder())?)
    }

    /// When something is written: the wall clock, or the clock of the run where it was set.
    pub fn now(&self) -> chrono::DateTime<chrono::Utc> {
        self.session.as_of
    }

    /// The civil day at the lake.
    pub fn today(&self) -> chrono::NaiveDate {
        self.session.clock.civil_day(self.session.as_of)
    }
}

/// The command.
///
/// # Errors
/// No lake, faulty arguments or settings, a list that cannot be read or written, a mail server that does not work.
pub fn run(args: &DigestArgs) -> Result<Status, Error> {
    let opened = || -> Result<Run, Error> {
        let session = SessionArgs::offline(args.demo, args.as_of.as_deref(), args.store.as_deref());
        let session = session::open(&session, args.lake.as_deref())?;
        Ok(Run { session })
    };
    match &args.action {
        DigestAction::Readers { action } => readers::run(&opened()?, action),
        DigestAction::Send(args) => send::run(&opened()?, args),
        DigestAction::Ledger { action } => ledger(&opened()?, action),
        // It may fetch, which the others do not.
        DigestAction::Preview(preview_args) => preview::run(args, preview_args),
        DigestAction::Bounces { file } => bounces(&opened()?, file.as_deref()),
    }
}

/// An address as typed.
pub(super) fn mailbox(text: &str) -> Result<Mailbox, DeliveryError> {
    Mailbox::read(text).map_err(|fault| faulty("the arguments", vec![fault]))
}

fn ledger(run: &Run, action: &LedgerAction) -> Result<Status, Error> {
    match action {
        LedgerAction::List { week } => output::print(&render_deliveries(&run.book()?.deliveries(*week)?))?,
        LedgerAction::Resolve {
            address,
            week,
            arrived,
            again: _,
            settings,
        } => {
            let as_said = if *arrived {
                Resolution::Arrived
            } else {
                Resolution::Again {
                    first_open: send::first_open_week(run, settings.as_deref())?,
                }
            };
            run.book()?
                .resolve(*week, &mailbox(address)?, as_said, run.now())?;
        }
    }
    Ok(Status::Good)
}

fn bounces(run: &Run, file: Option<&Path>) -> Result<Status, Error> {
    let bytes = bytes_of(file)?;
    let mut book = run.book()?;
    let mut followed: Vec<Followed> = Vec::new();
    for message in messages_of(&bytes) {
        followed.extend(book.take_message(&message, run.now())?);
    }
    output::print(&render_followed(&followed))?;
    Ok(Status::Good)
}

/// The bytes of a file or of standard input, up to the largest that is read.
pub(super) fn bytes_of(file: Option<&Path>) -> Result<Vec<u8>, DeliveryError> {
    let mut bytes = Vec::new();
    let read = match file {
        Some(path) => {
            std::fs::File::open(path).and_then(|file| file.take(FILE_MOST_BYTES + 1).read_to_end(&mut bytes))
        }
        None => std::io::stdin()
            .lock()
            .take(FILE_MOST_BYTES + 1)
            .read_to_end(&mut bytes),
    };
    let unreadable = |source| DeliveryError::Unreadable {
        path: file.unwrap_or(Path::new("standard input")).to_owned(),
        source,
    };
    read.map_err(unreadable)?;
    if bytes.len() as u64 > FILE_MOST_BYTES {
        let most = format!("found more than {FILE_MOST_BYTES} bytes, wanted a smaller one");
        return Err(unreadable(std::io::Error::other(most)));
    }
    Ok(bytes)
}
