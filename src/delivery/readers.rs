//! The list of readers: who joins, confirms, and leaves.
//!
//! Of one who leaves nothing is kept but the key, a salted hash of the address, and the day. That is enough to refuse the address when a
//! table is imported that still has it, and less than an address that should be forgotten.

use chrono::{DateTime, NaiveDate, Utc};
use rusqlite::types::Type;
use rusqlite::{Connection, OptionalExtension as _, Row, params};

use super::error::DeliveryError;
use super::mailbox::Mailbox;
use super::reader::{DecimalMark, HourStyle, LetterUnits, NewReader, Reader, ReaderKey, ReaderState};
use super::store::{Book, digest_of, random_word, time_text};
use crate::clock::LakeClock;

/// What became of one who was added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Joined {
    /// Letters will be sent.
    Confirmed,
    /// The word by which the reader confirms. Only its hash is kept.
    Pending {
        /// The word.
        token: String,
    },
}

/// What became of a table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Imported {
    /// Added and confirmed.
    pub confirmed: usize,
    /// Added, still to confirm: address and word.
    pub pending: Vec<(Mailbox, String)>,
    /// On the list already, and left as they were.
    pub known: Vec<Mailbox>,
    /// Removed once, and still so.
    pub removed: Vec<Mailbox>,
}

const COLUMNS: &str = "key, address, name, units, decimal, hours, state, consent_on, consent_source, bounces";

impl Book {
    /// Adds a reader. With a consent of a later day than the removal, `rejoin` takes one back who was removed; both are days by
    /// `clock`, the lake's own.
    ///
    /// # Errors
    /// [`DeliveryError::Known`], [`DeliveryError::Removed`], [`DeliveryError::Database`].
    pub fn add(
        &mut self,
        new: &NewReader,
        (rejoin, clock): (bool, &LakeClock),
        at: DateTime<Utc>,
    ) -> Result<Joined, DeliveryError> {
        let key = self.key(&new.mailbox);
        let address = new.mailbox.to_string();
        self.write("adding a reader", |t| {
            if is_known(t, &key)? {
                return Ok(Err(DeliveryError::Known { address }));
            }
            if let Some(removed_at) = removed_at(t, &key)? {
                let on = clock.civil_day(removed_at);
                let later = new.consent.as_ref().is_some_and(|(day, _)| *day > on);
                if !(rejoin && later) {
                    let on = on.to_string();
                    return Ok(Err(DeliveryError::Removed { address, on }));
                }
                t.execute("delete from removed where key = ?1", [key.as_str()])?;
            }
            insert(t, &key, new, at).map(Ok)
        })?
    }

    /// Adds the readers of a table, in one transaction. Those on the list stay as they are, those who were removed stay removed.
    ///
    /// # Errors
    /// [`DeliveryError::Database`]; nobody was added then.
    pub fn import(&mut self, all: &[NewReader], at: DateTime<Utc>) -> Result<Imported, DeliveryError> {
        let keyed: Vec<(ReaderKey, &NewReader)> = all.iter().map(|n| (self.key(&n.mailbox), n)).collect();
        self.write("importing readers", |t| {
            let mut done = Imported::default();
            for (key, new) in &keyed {
                let mailbox = new.mailbox.clone();
                if is_known(t, key)? {
                    done.known.push(mailbox);
                } else if removed_at(t, key)?.is_some() {
                    done.removed.push(mailbox);
                } else {
                    match insert(t, key, new, at)? {
                        Joined::Confirmed => done.confirmed += 1,
                        Joined::Pending { token } => done.pending.push((mailbox, token)),
                    }
                }
            }
            Ok(done)
        })
    }

    /// Confirms a reader by the word that was given out.
    ///
    /// # Errors
    /// [`DeliveryError::NoReader`], [`DeliveryError::WrongToken`], [`DeliveryError::Database`].
    pub fn confirm_by_token(
        &mut self,
        mailbox: &Mailbox,
        token: &str,
        on: NaiveDate,
        at: DateTime<Utc>,
    ) -> Result<(), DeliveryError> {
        let address = mailbox.to_string();
        let key = self.key(mailbox);
        if self.find(mailbox)?.is_none() {
            return Err(DeliveryError::NoReader { address });
        }
        let sql = "update readers set state = 'confirmed', consent_on = ?3, consent_source = 'confirmed by the word sent to the \
                   address', token = null, confirmed_at = ?4, bounces = 0 where key = ?1 and token = ?2";
        let changed = self.write("confirming a reader", |t| {
            t.execute(
                sql,
                params![key.as_str(), digest_of(token), on.to_string(), time_text(at)],
            )
        })?;
        match changed {
            0 => Err(DeliveryError::WrongToken { address }),
            _ => Ok(()),
        }
    }

    /// Confirms a reader by a consent that the owner of the list has.
    ///
    /// # Errors
    /// [`DeliveryError::NoReader`], [`DeliveryError::Database`].
    pub fn confirm_by_owner(
        &mut self,
        mailbox: &Mailbox,
        (on, source): (NaiveDate, &str),
        at: DateTime<Utc>,
    ) -> Result<(), DeliveryError> {
        let key = self.key(mailbox);
        let sql = "update readers set state = 'confirmed', consent_on = ?2, consent_source = ?3, token = null, \
                   confirmed_at = ?4, bounces = 0 where key = ?1";
        let changed = self.write("confirming a reader", |t| {
            t.execute(sql, params![key.as_str(), on.to_string(), source, time_text(at)])
        })?;
        self.there(changed, mailbox)
    }

    /// Removes a reader for good: name, address, consent and the words of servers go, letters not sent yet are withdrawn.
    ///
    /// One who is not on the list is noted as removed all the same, so that no table brings the address in later.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn remove(&mut self, mailbox: &Mailbox, at: DateTime<Utc>) -> Result<bool, DeliveryError> {
        let key = self.key(mailbox);
        let at = time_text(at);
        let was_there = self.write("removing a reader", |t| {
            let gone = t.execute("delete from readers where key = ?1", [key.as_str()])?;
            t.execute(
                "insert or ignore into removed (key, removed_at) values (?1, ?2)",
                params![key.as_str(), at],
            )?;
            t.execute(
                "update deliveries set state = 'withdrawn', run = null, changed_at = ?2 \
                 where reader = ?1 and state in ('due', 'claimed')",
                params![key.as_str(), at],
            )?;
            // Words of servers name the reader in ways that nobody can list, and old rows hold them as they came.
            t.execute(
                "update deliveries set reply = null where reader = ?1",
                [key.as_str()],
            )?;
            Ok(gone > 0)
        })?;
        // The journal still has the pages as they were; where another program reads them now, they go when it ends.
        self.connection
            .query_row("pragma wal_checkpoint(truncate)", [], |_| Ok(()))
            .map_err(|source| self.told("clearing the journal", source))?;
        Ok(was_there)
    }

    /// All readers, by address.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn readers(&self) -> Result<Vec<Reader>, DeliveryError> {
        let sql = format!("select {COLUMNS} from readers order by address");
        let read = || {
            let mut statement = self.connection.prepare(&sql)?;
            let rows = statement.query_map([], reader_of)?;
            rows.collect::<Result<Vec<_>, _>>()
        };
        read().map_err(|source| self.told("listing the readers", source))
    }

    /// The reader with an address.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn find(&self, mailbox: &Mailbox) -> Result<Option<Reader>, DeliveryError> {
        let key = self.key(mailbox);
        find_by_key(&self.connection, key.as_str())
            .map_err(|source| self.told("looking for a reader", source))
    }

    fn there(&self, changed: usize, mailbox: &Mailbox) -> Result<(), DeliveryError> {
        match changed {
            0 => Err(DeliveryError::NoReader {
                address: mailbox.to_string(),
            }),
            _ => Ok(()),
        }
    }
}

/// The reader of a key.
pub(super) fn find_by_key(connection: &Connection, key: &str) -> rusqlite::Result<Option<Reader>> {
    let sql = format!("select {COLUMNS} from readers where key = ?1");
    connection.query_row(&sql, [key], reader_of).optional()
}

fn is_known(connection: &Connection, key: &ReaderKey) -> rusqlite::Result<bool> {
    let sql = "select count(*) from readers where key = ?1";
    let count: u32 = connection.query_row(sql, [key.as_str()], |row| row.get(0))?;
    Ok(count > 0)
}

/// When the reader of a key was removed.
fn removed_at(connection: &Connection, key: &ReaderKey) -> rusqlite::Result<Option<DateTime<Utc>>> {
    let sql = "select removed_at from removed where key = ?1";
    let read = |row: &Row<'_>| word(row, 0, |text| text.parse().ok());
    connection.query_row(sql, [key.as_str()], read).optional()
}

fn insert(
    connection: &Connection,
    key: &ReaderKey,
    new: &NewReader,
    at: DateTime<Utc>,
) -> rusqlite::Result<Joined> {
    let joined = match &new.consent {
        Some(_) => Joined::Confirmed,
        None => Joined::Pending { token: random_word() },
    };
    let (state, token, confirmed_at) = match &joined {
        Joined::Confirmed => (ReaderState::Confirmed, None, Some(time_text(at))),
        Joined::Pending { token } => (ReaderState::Pending, Some(digest_of(token)), None),
    };
    let consent = new.consent.as_ref();
    let mut statement = connection.prepare(
        "insert into readers (key, address, name, units, decimal, hours, state, consent_on, consent_source, token, added_at, \
         confirmed_at) values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
    )?;
    statement.execute(params![
        key.as_str(),
        new.mailbox.as_str(),
        new.name,
        new.units.word(),
        new.decimal.word(),
        new.hours.word(),
        state.word(),
        consent.map(|(on, _)| on.to_string()),
        consent.map(|(_, source)| source),
        token,
        time_text(at),
        confirmed_at,
    ])?;
    Ok(joined)
}

/// A word of the store, read back.
fn word<T>(row: &Row<'_>, column: usize, read: impl FnOnce(&str) -> Option<T>) -> rusqlite::Result<T> {
    let text: String = row.get(column)?;
    read(&text).ok_or_else(|| {
        let why = format!("found {text:?}, which this program does not know").into();
        rusqlite::Error::FromSqlConversionFailure(column, Type::Text, why)
    })
}

pub(super) fn reader_of(row: &Row<'_>) -> rusqlite::Result<Reader> {
    let consent_on: Option<String> = row.get(7)?;
    Ok(Reader {
        key: ReaderKey(row.get(0)?),
        mailbox: word(row, 1, |text| Mailbox::read(text).ok())?,
        name: row.get(2)?,
        units: word(row, 3, LetterUnits::from_word)?,
        decimal: word(row, 4, DecimalMark::from_word)?,
        hours: word(row, 5, HourStyle::from_word)?,
        state: word(row, 6, ReaderState::from_word)?,
        consent_on: match consent_on {
            Some(_) => Some(word(row, 7, |text| text.parse().ok())?),
            None => None,
        },
        consent_source: row.get(8)?,
        bounces: row.get(9)?,
    })
}
