//! The letter: made once for each kind of units, or read from a file, then given a header for each reader.

use std::collections::BTreeMap;
use std::path::Path;

use super::command::{Run, bytes_of};
use crate::cli::brief;
use crate::delivery::{DeliveryError, Fault, LetterUnits, MailSettings, Reader, faulty};
use crate::error::Error;
use crate::faces::mail::{Head, header_field, message_date, personal_letter, quoted_printable};
use crate::faces::{Ink, Units, render_text};
use crate::reports::Brief;

/// The letters of a run.
pub(super) struct Letters<'a> {
    settings: &'a MailSettings,
    date: String,
    source: Source,
}

enum Source {
    /// One message for all.
    File(Vec<u8>),
    /// The brief, and the letter in each kind of units that was asked for.
    Brief {
        lake: String,
        brief: Box<Brief>,
        reader: crate::faces::Reader,
        domain: String,
        id: String,
        made: BTreeMap<LetterUnits, Vec<u8>>,
    },
}

impl<'a> Letters<'a> {
    /// The letters of a run: of the message in a file, or of the brief of the run's clock.
    ///
    /// # Errors
    /// A file that cannot be read or is no message; as the brief.
    pub(super) fn new(
        run: &Run,
        settings: &'a MailSettings,
        message: Option<&Path>,
    ) -> Result<Letters<'a>, Error> {
        let session = &run.session;
        let source = match message {
            Some(path) => Source::File(bytes_of(Some(path))?),
            None => Source::Brief {
                lake: session.lake.name.clone(),
                brief: Box::new(brief::of_session(session)?.0),
                reader: crate::faces::Reader {
                    units: Units::Us,
                    zone: session.clock.zone(),
                },
                domain: settings.from.domain().to_owned(),
                id: session.lake.id.clone(),
                made: BTreeMap::new(),
            },
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
        let template = self.source.template(reader.units);
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
    fn template(&mut self, units: LetterUnits) -> &[u8] {
        match self {
            Source::File(bytes) => bytes,
            Source::Brief {
                lake,
                brief,
                reader,
                domain,
                id,
                made,
            } => made.entry(units).or_insert_with(|| {
                reader.units = match units {
                    LetterUnits::Us => Units::Us,
                    LetterUnits::Metric => Units::Metric,
                };
                let text = render_text(brief, reader, Ink { colour: false });
                let head = [
                    header_field(
                        "Subject",
                        &format!("{lake}, {}", reader.day(reader.local_day(brief.as_of))),
                    ),
                    format!("List-ID: <digest.{id}.{domain}>"),
                    "Auto-Submitted: auto-generated".to_owned(),
                    "MIME-Version: 1.0".to_owned(),
                    "Content-Type: text/plain; charset=utf-8".to_owned(),
                    "Content-Transfer-Encoding: quoted-printable".to_owned(),
                ];
                let end = "\nTo end these letters, answer with the subject \"unsubscribe\".\n";
                let body = quoted_printable(&format!("{text}{end}"));
                format!("{}\r\n\r\n{body}", head.join("\r\n")).into_bytes()
            }),
        }
    }
}
