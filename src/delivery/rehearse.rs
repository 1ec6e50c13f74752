//! A run that sends nothing: every letter is made and checked.

use chrono::{DateTime, Utc};

use super::error::DeliveryError;
use super::ledger::DeliveryState;
use super::letter::{check_letter, message_id};
use super::send::{Event, Maker, Pace};
use super::settings::MailSettings;
use super::store::Book;

/// What a run would send.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Prepared {
    /// Letters.
    pub letters: usize,
    /// Their octets.
    pub octets: usize,
    /// Octets of the largest.
    pub largest: usize,
}

/// Makes and checks every letter that a run would send, and sends none; the ledger stays as it is.
///
/// # Errors
/// An error of `make`; [`DeliveryError::Letter`]; the store.
pub fn dry_run<E: From<DeliveryError>>(
    book: &Book,
    settings: &MailSettings,
    pace: Pace<'_>,
    now: DateTime<Utc>,
    make: &mut Maker<'_, E>,
    watch: &mut dyn FnMut(Event<'_>),
) -> Result<Prepared, E> {
    let due = book.would_send(pace.week, pace.until, now)?;
    watch(Event::Due(due.len()));
    let mut prepared = Prepared::default();
    for reader in &due {
        let id = message_id(
            pace.lake,
            &pace.week.to_string(),
            reader.key.as_str(),
            settings.from.domain(),
        );
        let letter = make(reader, &id)?;
        let address = reader.mailbox.to_string();
        check_letter(&letter, &id).map_err(|why| DeliveryError::Letter { address, why })?;
        prepared.letters += 1;
        prepared.octets += letter.len();
        prepared.largest = prepared.largest.max(letter.len());
        watch(Event::Sent(reader, DeliveryState::Due, ""));
    }
    Ok(prepared)
}
