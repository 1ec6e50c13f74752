//! The letter: the digest, made once for each kind of units, or a message from a file; then given a header for each reader.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::path::Path;

use super::command::{Run, bytes_of};
use super::make::digest;
use crate::delivery::{DeliveryError, Fault, LetterUnits, MailSettings, Mailbox, Reader, faulty};
use crate::error::Error;
use crate::faces::Units;
use crate::faces::digest::{DigestMessage, DigestSender, ReaderLine};
use crate::faces::mail::{Head, message_date, personal_letter};

/// The letters of a run.
pub(super) struct Letters<'a> {
    settings: &'a MailSettings,
    date: String,
    source: Source,
}

enum Source {
    /// One message for all.
    File(Vec<u8>),
    /// The digest, and its message in each kind of units that was asked for.
    Digest {
        message: Box<DigestMessage>,
        made: BTreeMap<LetterUnits, Vec<u8>>,
    },
}

impl<'a> Letters<'a> {
    /// The letters of a run: of the message in a file, or of the digest of the run's clock.
    ///
    /// # Errors
    /// A file that cannot be read or is no message; as the digest.
    pub(super) fn new(
        run: &Run,
        settings: &'a MailSettings,
        message: Option<&Path>,
    ) -> Result<Letters<'a>, Error> {
        let session = &run.session;
        let source = match message {
            Some(path) => Source::File(bytes_of(Some(path))?),
            None => {
                let own = |mailbox: &Mailbox| mailbox.as_str().to_owned();
                let sender = DigestSender {
                    name: settings
                        .from_name
                        .clone()
                        .unwrap_or_else(|| session.lake.name.clone()),
                    address: own(&settings.from),
                    reply_to: settings.reply_to.as_ref().map(own),
                    unsubscribe_address: None,
                };
                // What a week's trips were is the owner's to tell: `digest preview --share-trips` shows it.
                let digest = digest(session, false)?;
                Source::Digest {
                    message: Box::new(DigestMessage::new(&digest, &sender, session.as_of)?),
                    made: BTreeMap::new(),
                }
            }
        };
        let date = message_date(session.as_of, &session.clock).ok_or_else(|| {
            let found = session.as_of.to_string();
            let wanted = "a year from 1900 to 9999, and whole minutes from UTC";
            faulty(
                "the clock",
                vec![Fault::new("--as-of", found, wanted, "set another")],
            )
        })?;
        Ok(Letters {
            settings,
            date,
            source,
        })
    }

    /// The letter of one reader.
    ///
    /// # Errors
    /// A message that is none.
    pub(super) fn make(&mut self, reader: &Reader, message_id: &str) -> Result<Vec<u8>, Error> {
        let settings = self.settings;
        let head = Head {
            from: (settings.from_name.as_deref(), settings.from.as_str()),
            to: (reader.name.as_deref(), reader.mailbox.as_str()),
            reply_to: settings.reply_to.as_ref().map(|m| m.as_str()),
            date: &self.date,
            message_id,
            unsubscribe: settings.reply_to.as_ref().unwrap_or(&settings.from).as_str(),
        };
        let template = self.source.template(reader, settings)?;
        personal_letter(template, &head).ok_or_else(|| {
            let why = "found no header and body with an empty line between, wanted a message (RFC 5322)";
            let address = reader.mailbox.to_string();
            DeliveryError::Letter {
                address,
                why: why.to_owned(),
            }
            .into()
        })
    }
}

impl Source {
    /// The message without a reader's own header; that it has is put in afterwards.
    fn template(&mut self, reader: &Reader, settings: &MailSettings) -> Result<&[u8], Error> {
        match self {
            Source::File(bytes) => Ok(bytes),
            Source::Digest { message, made } => {
                let letter = match made.entry(reader.units) {
                    Entry::Occupied(letter) => letter.into_mut(),
                    Entry::Vacant(room) => room.insert(message.for_reader(&ReaderLine {
                        address: settings.from.as_str().to_owned(),
                        name: String::new(),
                        units: match reader.units {
                            LetterUnits::Us => Units::Us,
                            LetterUnits::Metric => Units::Metric,
                        },
                        unsubscribe_url: None,
                    })?),
                };
                Ok(letter)
            }
        }
    }
}
