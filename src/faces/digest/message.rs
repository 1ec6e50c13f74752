//! The digest as a message: built once for each way to write it, and made each reader's own in its last lines and its header.

use std::fmt::Write as _;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use chrono::{DateTime, Utc};
use maud::html;
use sha2::{Digest as _, Sha256};

use super::chart::{Chart, Drawer, level_chart, share_chart};
use super::dates::digest_calendar;
use super::html::render_digest_html;
use super::style::Style;
use super::text::{digest_paragraph, render_digest_text};
use super::words::digest_words;
use crate::clock::LakeClock;
use crate::delivery::message_id;
use crate::faces::mail::parts::{Attachment, InlinePicture, Parts, Piece, Slot, body};
use crate::faces::mail::{
    MessageError, checked_address, header_field, mailbox_field, mailto, message_date, name_for_header,
    quoted_printable,
};
use crate::faces::picture::PictureError;
use crate::faces::reader::{DecimalSign, HourClock, Notation, Reader, Units};
use crate::reports::Digest;

/// Stands in the HTML where a reader's own lines go.
const READER_PART: &str = "<!-- reader -->\n";
/// Ways to write a digest: units, mark in numbers, clock.
const KINDS: usize = 8;

/// Who sends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DigestSender {
    /// Name for people; may be empty.
    pub name: String,
    /// Address that the digest comes from; its domain is that of Message-ID and List-ID.
    pub address: String,
    /// Address that answers go to, where it is another.
    pub reply_to: Option<String>,
    /// Address that a letter unsubscribes at; the sender's own without one.
    pub unsubscribe_address: Option<String>,
}

/// One reader.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReaderLine {
    /// Message-ID without brackets of a letter that a ledger keeps; without it [`DigestMessage::message_id`].
    pub message_id: Option<String>,
    /// Address.
    pub address: String,
    /// Name; may be empty.
    pub name: String,
    /// Units.
    pub units: Units,
    /// Numbers and hours.
    pub notation: Notation,
    /// Where a page is served, the reader's own address on it to unsubscribe at, by one click (RFC 8058): `https://` with a token
    /// that is hard to guess.
    pub unsubscribe_url: Option<String>,
}

/// A digest as a message without a reader.
#[derive(Debug, Clone)]
pub struct DigestMessage {
    sender: DigestSender,
    domain: String,
    lake_id: String,
    lake_name: String,
    week: String,
    /// Date, the sender's own fields, and those of the body.
    head: String,
    digest: Box<Digest>,
    zone: chrono_tz::Tz,
    date: DateTime<Utc>,
    /// Subject and body for each kind of reader, made when the first of them asks.
    forms: [OnceLock<Forms>; KINDS],
    /// Their pictures, which kinds share.
    drawer: Arc<Mutex<Drawer>>,
}

#[derive(Debug, Clone)]
struct Forms {
    /// Subject and the fields of the body.
    head: String,
    pieces: Vec<Piece>,
}

/// Why there is no message.
#[derive(Debug, thiserror::Error)]
pub enum DigestMessageError {
    /// An address, a name, a page, a date.
    #[error(transparent)]
    Message(#[from] MessageError),
    /// A picture.
    #[error(transparent)]
    Picture(#[from] PictureError),
}

impl DigestMessage {
    /// The message of `digest` from `sender`, dated `date`.
    ///
    /// # Errors
    /// An address or a name of the sender that no header may hold, a date that none can say.
    pub fn new(
        digest: &Digest,
        sender: &DigestSender,
        date: DateTime<Utc>,
    ) -> Result<DigestMessage, DigestMessageError> {
        let lake = &digest.brief.lake;
        let zone: chrono_tz::Tz = lake.time_zone.parse().unwrap_or(chrono_tz::UTC);
        let own = checked_address(&sender.address)?;
        let domain = own.domain();
        let dated = message_date(date, &LakeClock::new(zone)).ok_or(MessageError::Date {
            found: date.to_string(),
        })?;
        let week = format!("{}-W{:02}", digest.week.year, digest.week.week);
        let mut head = format!(
            "Date: {dated}\r\n{}\r\n",
            mailbox_field("From", name_for_header(&sender.name)?.as_deref(), own.as_str())
        );
        if let Some(reply_to) = &sender.reply_to {
            let _ = write!(head, "Reply-To: {}\r\n", checked_address(reply_to)?);
        }
        if let Some(address) = &sender.unsubscribe_address {
            checked_address(address)?;
        }
        let list = format!("{}.digest.{domain}", lake.id);
        let _ = write!(
            head,
            "{}\r\n <{list}>\r\n",
            header_field("List-Id", "Weekly digest")
        );
        head.push_str("Auto-Submitted: auto-generated\r\nContent-Language: en\r\n");
        Ok(DigestMessage {
            domain: domain.to_owned(),
            lake_id: lake.id.clone(),
            lake_name: lake.name.clone(),
            head,
            digest: Box::new(digest.clone()),
            zone,
            date,
            forms: Default::default(),
            drawer: Arc::default(),
            sender: sender.clone(),
            week,
        })
    }

    /// Identity of the message of a reader, without brackets, where no ledger keeps one: the same for one lake, week and address,
    /// whatever else changes.
    pub fn message_id(&self, address: &str) -> String {
        let key = address.to_ascii_lowercase();
        let id = message_id(&self.lake_id, &self.week, &key, &self.domain);
        id.trim_matches(['<', '>']).to_owned()
    }

    /// Subject and body for a kind of reader, made once.
    fn forms_for(&self, units: Units, notation: Notation) -> Result<&Forms, DigestMessageError> {
        let at = 4 * usize::from(units == Units::Metric)
            + 2 * usize::from(notation.decimal == DecimalSign::Comma)
            + usize::from(notation.hours == HourClock::Hours12);
        let place = &self.forms[at];
        if let Some(made) = place.get() {
            return Ok(made);
        }
        let reader = Reader {
            notation,
            ..Reader::new(units, self.zone)
        };
        // A picture that was not finished is not kept: one who was stopped leaves nothing wrong.
        let mut drawer = self.drawer.lock().unwrap_or_else(PoisonError::into_inner);
        let charts: Vec<Chart> = [
            share_chart(&self.digest, &reader, &mut drawer)?,
            level_chart(&self.digest, &reader, &mut drawer)?,
        ]
        .into_iter()
        .flatten()
        .collect();
        drop(drawer);
        let made = forms(
            &self.digest,
            reader,
            &charts,
            (&self.domain, &self.week, self.date),
        );
        Ok(place.get_or_init(|| made))
    }

    /// The message of one reader, as RFC 5322 has it: lines end in CRLF and are no longer than 998 octets.
    ///
    /// # Errors
    /// An address or a name that no header may hold, a page that one-click cannot use: nothing of them is mended. A picture that cannot
    /// be drawn.
    pub fn for_reader(&self, reader: &ReaderLine) -> Result<Vec<u8>, DigestMessageError> {
        let address = checked_address(&reader.address)?;
        let name = name_for_header(&reader.name)?;
        let forms = self.forms_for(reader.units, reader.notation)?;
        let mut message =
            String::with_capacity(forms.pieces.iter().map(|piece| piece.bytes.len()).sum::<usize>() + 4096);
        message.push_str(&self.head);
        message.push_str(&mailbox_field("To", name.as_deref(), address.as_str()));
        let own = || self.message_id(&reader.address);
        let id = reader.message_id.clone().unwrap_or_else(own);
        let _ = write!(message, "\r\n{}\r\n", id_field(&id));
        message.push_str(&self.unsubscribe_fields(reader)?);
        message.push_str(&forms.head);
        message.push_str("\r\n\r\n");
        for piece in &forms.pieces {
            message.push_str(&piece.bytes);
            match piece.then {
                Some(Slot::Text) => message.push_str(&quoted_printable(&self.text_part(reader))),
                Some(Slot::Html) => message.push_str(&quoted_printable(&self.html_part(reader))),
                None => {}
            }
        }
        Ok(message.into_bytes())
    }

    fn unsubscribe_address(&self) -> &str {
        self.sender
            .unsubscribe_address
            .as_deref()
            .unwrap_or(&self.sender.address)
    }

    /// The letter that unsubscribes.
    fn mailto(&self) -> String {
        mailto(
            self.unsubscribe_address(),
            &format!("unsubscribe {}", self.lake_id),
        )
    }

    fn unsubscribe_fields(&self, reader: &ReaderLine) -> Result<String, MessageError> {
        let Some(url) = &reader.unsubscribe_url else {
            return Ok(format!("List-Unsubscribe:\r\n <{}>\r\n", self.mailto()));
        };
        let fits = url.len() < 900
            && url
                .bytes()
                .all(|b| (b'!'..=b'~').contains(&b) && b != b'<' && b != b'>');
        if !(fits && url.starts_with("https://")) {
            return Err(MessageError::Page { found: url.clone() });
        }
        Ok(format!(
            "List-Unsubscribe:\r\n <{url}>,\r\n <{}>\r\nList-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n",
            self.mailto()
        ))
    }

    /// The last lines of the text.
    fn text_part(&self, reader: &ReaderLine) -> String {
        let write = format!(
            "write to {} with the subject: unsubscribe {}",
            self.unsubscribe_address(),
            self.lake_id
        );
        let how = match &reader.unsubscribe_url {
            Some(url) => format!("open {url} or {write}"),
            None => write,
        };
        let said = format!(
            "You get this because {} asked for the weekly digest of {}. To get no more of it, {how}",
            reader.address, self.lake_name
        );
        format!("\n{}", digest_paragraph(&said))
    }

    /// The same in HTML.
    fn html_part(&self, reader: &ReaderLine) -> String {
        let faint = Style::new().faint;
        let part = html! {
            p class="ft" style=(faint) {
                "You get this because " (reader.address) " asked for the weekly digest of " (self.lake_name) ". To get no more of it, "
                "\n"
                @if let Some(url) = &reader.unsubscribe_url { a class="ft" href=(url) style="color:inherit" { "unsubscribe here" } ", or " }
                "\n"
                a class="ft" href=(self.mailto()) style="color:inherit" { "write to " (self.unsubscribe_address()) } "."
            }
        };
        part.into_string() + "\n"
    }
}

/// The field of a Message-ID. It is never folded: some servers do not unfold it, and no domain is so long that the line would pass 998
/// octets.
fn id_field(id: &str) -> String {
    format!("Message-ID: <{id}>")
}

/// Subject and body for one kind of reader.
fn forms(
    digest: &Digest,
    reader: Reader,
    charts: &[Chart],
    (domain, week, date): (&str, &str, DateTime<Utc>),
) -> Forms {
    let words = digest_words(digest, &reader);
    let id = &digest.brief.lake.id;
    let content_id = |chart: &Chart| format!("{}.{id}.{week}@{domain}", chart.name);
    let html = render_digest_html(&words, charts, &|c| format!("cid:{}", content_id(c)), READER_PART);
    let (before, after) = html.split_once(READER_PART).unwrap_or((&html, ""));
    let calendar = digest_calendar(digest, &reader, domain, date);
    let seed = Sha256::digest(format!("{id} {week} {domain}").as_bytes());
    let boundary: String = seed.iter().take(8).map(|byte| format!("{byte:02x}")).collect();
    let (fields, pieces) = body(&Parts {
        text: render_digest_text(&words),
        html: [format!("{before}\n"), after.to_owned()],
        pictures: charts
            .iter()
            .map(|chart| InlinePicture {
                content_id: content_id(chart),
                file: format!("{}.png", chart.name),
                png: chart.png.clone(),
            })
            .collect(),
        attachments: calendar
            .into_iter()
            .map(|text| Attachment {
                kind: "text/calendar; charset=utf-8".to_owned(),
                file: format!("{id}-{week}.ics"),
                text,
            })
            .collect(),
        boundary,
    });
    Forms {
        head: format!("{}\r\n{fields}", header_field("Subject", &words.subject)),
        pieces,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::delivery::check_letter;

    #[test]
    fn a_letter_from_a_domain_of_any_length_has_the_identifier_of_the_ledger() {
        for length in 1..=200 {
            // Labels of at most 63 octets (RFC 1035, section 2.3.4).
            let domain: String = (1..=length)
                .map(|at| if at % 64 == 0 { '.' } else { 'd' })
                .collect();
            let id = message_id("harrow-gap", "2026-W48", "0123456789abcdef", &domain);
            let field = id_field(id.trim_matches(['<', '>']));
            assert!(field.len() <= 998, "{length}");
            let letter =
                format!("From: a@{domain}\r\nTo: b@example.org\r\nDate: x\r\n{field}\r\n\r\nHello\r\n");
            assert_eq!(check_letter(letter.as_bytes(), &id), Ok(()), "{length}");
        }
    }
}
