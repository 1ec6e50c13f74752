//! Letters that come back: reports of delivery (RFC 3464) in a mailbox, and what follows for the reader.
//!
//! A report is believed only if it returns the Message-ID of a letter of ours, which nobody can guess: otherwise anyone who knows an
//! address could have it taken off the list by a made-up report.

use chrono::{DateTime, Utc};
use mail_parser::mailbox::mbox::MessageIterator;
use mail_parser::{Message, MessageParser, MimeHeaders as _, PartType};
use rusqlite::{OptionalExtension as _, Transaction, params};

use super::error::DeliveryError;
use super::mailbox::Mailbox;
use super::reader::{Reader, ReaderKey, words};
use super::readers::find_by_key;
use super::reply::{one_line, shortened, without_address};
use super::store::{Book, time_text};

/// Reports of permanent failure after which nothing more is sent (common practice, no source); at once for 5.1.1, no such mailbox.
const BOUNCES_MOST: u32 = 3;
/// Status of an address that does not exist (RFC 3463, section 3.2).
const NO_SUCH_MAILBOX: &str = "5.1.1";

words! {
    /// What a report says of the letter (RFC 3464, section 2.3.3).
    Action {
        /// It will not be delivered.
        Failed = "failed",
        /// It has not been delivered yet.
        Delayed = "delayed",
        /// It was delivered.
        Delivered = "delivered",
        /// It went on to a place that makes no reports.
        Relayed = "relayed",
        /// It was delivered and sent on to others.
        Expanded = "expanded",
    }
}

/// What a report says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Report {
    /// Message-ID of the letter, with its angle brackets, if the report returns it.
    pub message_id: Option<String>,
    /// Address that it is about.
    pub recipient: Option<String>,
    /// What became of the letter.
    pub action: Action,
    /// Status (RFC 3463): class, subject, detail.
    pub status: String,
    /// Words of the server that refused it.
    pub diagnostic: Option<String>,
}

/// What followed from a message of a mailbox.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Followed {
    /// No report of delivery.
    NoReport,
    /// A report that returns no Message-ID of ours.
    NotOurs(Report),
    /// The letter came back; the reader is still on the list.
    Bounced(Report),
    /// The letter came back, and nothing more is sent to the reader.
    Suspended(Report),
    /// The letter is on its way still, or arrived: noted.
    Noted(Report),
    /// This report was read before.
    Known(Report),
}

/// The messages of a mailbox file (mbox) or the one message of an `eml` file.
pub fn messages_of(bytes: &[u8]) -> Vec<Vec<u8>> {
    if bytes.starts_with(b"From ") {
        // Reading from memory cannot fail.
        let messages = MessageIterator::new(bytes).filter_map(Result::ok);
        messages.map(|message| message.contents().to_vec()).collect()
    } else {
        vec![bytes.to_vec()]
    }
}

/// The reports of one message: one for each recipient; none where it is no report of delivery.
pub fn read_reports(message: &[u8]) -> Vec<Report> {
    let Some(message) = MessageParser::default().parse(message) else {
        return Vec::new();
    };
    let has_type = |part: &mail_parser::MessagePart<'_>, kind: &str, subkind: &str| {
        part.content_type().is_some_and(|t| {
            t.ctype().eq_ignore_ascii_case(kind)
                && t.subtype().is_some_and(|s| s.eq_ignore_ascii_case(subkind))
        })
    };
    let status = message
        .parts
        .iter()
        .find(|part| has_type(part, "message", "delivery-status"));
    let Some(status) = status else {
        return Vec::new();
    };
    let returned = message.parts.iter().find_map(|part| match &part.body {
        PartType::Message(inner) => identifier(inner),
        _ if has_type(part, "text", "rfc822-headers") || has_type(part, "message", "rfc822") => {
            identifier(&MessageParser::default().parse(part.contents())?)
        }
        _ => None,
    });
    let text = String::from_utf8_lossy(status.contents()).replace("\r\n", "\n");
    // The first block is about the message, each further one about a recipient (RFC 3464, section 2.1).
    text.split("\n\n")
        .filter_map(|block| {
            let fields = fields(block);
            let value = |name: &str| {
                let found = fields.iter().find(|(n, _)| n.eq_ignore_ascii_case(name));
                found.map(|(_, value)| value.as_str())
            };
            // `rfc822; ann@example.org`: what stands behind the kind.
            let typed = |text: &str| {
                text.split_once(';')
                    .map_or(text, |(_, rest)| rest)
                    .trim()
                    .to_owned()
            };
            Some(Report {
                message_id: returned.clone(),
                recipient: value("Original-Recipient")
                    .or(value("Final-Recipient"))
                    .map(typed),
                action: Action::from_word(&value("Action")?.to_ascii_lowercase())?,
                status: value("Status")?.split_whitespace().next()?.to_owned(),
                diagnostic: value("Diagnostic-Code").map(typed),
            })
        })
        .collect()
}

fn identifier(message: &Message<'_>) -> Option<String> {
    message.message_id().map(|id| format!("<{id}>"))
}

/// Header fields of a block, folded lines joined.
fn fields(block: &str) -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = Vec::new();
    for line in block.lines() {
        if line.starts_with([' ', '\t']) {
            if let Some((_, value)) = found.last_mut() {
                value.push(' ');
                value.push_str(line.trim());
            }
        } else if let Some((name, value)) = line.split_once(':') {
            found.push((name.trim().to_owned(), value.trim().to_owned()));
        }
    }
    found
}

impl Book {
    /// Reads one message of a mailbox and keeps what follows. Reading it again changes nothing.
    ///
    /// A letter that failed has bounced. Where it failed for good (`5.x.x`), nothing more is sent to its reader: at once for 5.1.1, else
    /// from the third such letter on. All else is only noted.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn take_message(
        &mut self,
        message: &[u8],
        at: DateTime<Utc>,
    ) -> Result<Vec<Followed>, DeliveryError> {
        let reports = read_reports(message);
        if reports.is_empty() {
            return Ok(vec![Followed::NoReport]);
        }
        let reports = reports.into_iter();
        reports.map(|report| self.take_report(report, at)).collect()
    }

    fn take_report(&mut self, report: Report, at: DateTime<Utc>) -> Result<Followed, DeliveryError> {
        let at = time_text(at);
        self.write("keeping a report of delivery", |t| {
            let sql = "select reader, state from deliveries where message_id = ?1";
            let row: Option<(String, String)> = match &report.message_id {
                Some(id) => t
                    .query_row(sql, [id], |row| Ok((row.get(0)?, row.get(1)?)))
                    .optional()?,
                None => None,
            };
            let Some((reader, state)) = row else {
                return Ok(Followed::NotOurs(report));
            };
            let words = kept_words(&report, find_by_key(t, &reader)?.as_ref());
            // The letter is lost whatever the class of the status: 4.4.7 is a queue that gave up (RFC 3463, section 3.5).
            let failed = report.action == Action::Failed;
            if state == "bounced" {
                return Ok(Followed::Known(report));
            }
            let state = if failed { "bounced" } else { state.as_str() };
            t.execute(
                "update deliveries set state = ?2, reply = ?3, changed_at = ?4 where message_id = ?1",
                params![report.message_id, state, words, at],
            )?;
            if !failed {
                return Ok(Followed::Noted(report));
            }
            // A failure that might have passed says nothing of the address.
            let permanent = report.status.starts_with("5.");
            Ok(if permanent && count_bounce(t, &reader, &report.status)? {
                Followed::Suspended(report)
            } else {
                Followed::Bounced(report)
            })
        })
    }
}

/// What is kept of a report: its action and status, and the words of the server without the reader's address. Of one who left the list
/// the address is not known, and so the words are left out.
fn kept_words(report: &Report, reader: Option<&Reader>) -> String {
    let kept = format!("{} {}", report.action.word(), report.status);
    let kept = match (&report.diagnostic, reader) {
        (Some(said), Some(reader)) => {
            let said = without_address(&one_line(said), &reader.mailbox);
            // The address that the report names may be another of the same reader, which the letter was sent on to.
            let said = match report.recipient.as_deref().map(Mailbox::read) {
                Some(Ok(named)) => without_address(&said, &named),
                _ => said,
            };
            format!("{kept}: {said}")
        }
        _ => kept,
    };
    shortened(&one_line(&kept))
}

/// One more letter of a reader that did not arrive for good; whether nothing more is sent to the reader from now on.
fn count_bounce(t: &Transaction<'_>, reader: &str, status: &str) -> Result<bool, rusqlite::Error> {
    t.execute(
        "update readers set bounces = bounces + 1 where key = ?1",
        [reader],
    )?;
    let suspended = t.execute(
        "update readers set state = 'suspended' where key = ?1 and state = 'confirmed' and (?2 or bounces >= ?3)",
        params![reader, status == NO_SUCH_MAILBOX, BOUNCES_MOST],
    )?;
    Ok(suspended > 0)
}

/// The status (RFC 3463) of an address that is none in the words of a refusal: `5.1.1`, or another of `5.1.x`. Others may be about the
/// sender or the letter, and say nothing of the reader.
pub(super) fn address_status(said: &str) -> Option<&str> {
    let mut words = said.split_whitespace();
    words.find(|word| {
        let detail = word.strip_prefix("5.1.");
        // 5.1.7 and 5.1.8 are about the sender's address (RFC 3463, section 3.2).
        detail.is_some_and(|d| !d.is_empty() && d.bytes().all(|b| b.is_ascii_digit()) && d != "7" && d != "8")
    })
}

impl Book {
    /// A reader whose address was refused for good while a letter was handed over, with this status: counted as a letter that came
    /// back. Whether nothing more is sent to the reader from now on.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub(super) fn refused_address(
        &mut self,
        reader: &ReaderKey,
        status: &str,
    ) -> Result<bool, DeliveryError> {
        self.write("keeping that an address was refused", |t| {
            count_bounce(t, reader.as_str(), status)
        })
    }
}
