//! The ledger: one row a reader and week, and what became of the letter.
//!
//! ```text
//! due -> claimed -> sending -> handed -> bounced
//!  ^        |          |-----> failed      refused for good
//!  |        |          |-----> unknown     no answer after the final dot; a person decides
//!  '--------'----------'                   refused for a time, or the run ended before the dot
//! due -> lapsed      the week is over        due, claimed -> withdrawn      the reader has left
//! ```

use chrono::{DateTime, Utc};
use rusqlite::{OptionalExtension as _, params};

use super::error::DeliveryError;
use super::letter::message_id;
use super::reader::{Reader, words};
use super::readers::reader_of;
use super::reply::without_address;
use super::store::{Book, time_text};
use super::week::Week;

words! {
    /// What became of a letter.
    DeliveryState {
        /// To be sent.
        Due = "due",
        /// Taken by a run; nothing that a server would deliver has left.
        Claimed = "claimed",
        /// The final dot may have left; the answer is awaited.
        Sending = "sending",
        /// The mail server has taken it over.
        Handed = "handed",
        /// Refused for good.
        Failed = "failed",
        /// Taken over, and come back later.
        Bounced = "bounced",
        /// The final dot may have left, and no answer came.
        Unknown = "unknown",
        /// Not sent before its week was over.
        Lapsed = "lapsed",
        /// The reader left before it was sent.
        Withdrawn = "withdrawn",
    }
}

/// A row of the ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// Week.
    pub week: String,
    /// Key of the reader.
    pub reader: String,
    /// Address, while the reader is on the list.
    pub address: Option<String>,
    /// What became of the letter.
    pub state: DeliveryState,
    /// Tries that were refused for a time.
    pub attempts: u32,
    /// Not to be tried before.
    pub next_try_at: Option<String>,
    /// When the row was last changed.
    pub changed_at: String,
    /// What the mail server said last.
    pub reply: Option<String>,
}

/// A letter that a run has taken to send.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claim {
    /// To whom.
    pub reader: Reader,
    /// Message-ID of the letter.
    pub message_id: String,
    /// Earlier tries that were refused for a time.
    pub attempts: u32,
}

impl Book {
    /// Settles what an earlier run has left behind. Only the run that holds the lock may call it.
    ///
    /// Claimed rows are due again: their dot was not let go. Rows in `sending` are unknown. Returns how many are.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn recover(&mut self, at: DateTime<Utc>) -> Result<usize, DeliveryError> {
        let at = time_text(at);
        self.write("settling what an earlier run left", |t| {
            t.execute(
                "update deliveries set state = 'due', run = null, changed_at = ?1 where state = 'claimed'",
                [&at],
            )?;
            t.execute(
                "update deliveries set state = 'unknown', run = null, changed_at = ?1, \
                 reply = 'the run ended after the final dot was let go and before an answer was kept' where state = 'sending'",
                [&at],
            )
        })
    }

    /// Makes the rows of a week for the readers who are confirmed and were so by `until`; due ones of earlier weeks lapse. Returns how
    /// many are due.
    ///
    /// Rows that are there stay as they are, but for the Message-ID of a letter that was never tried: it follows the sender's domain.
    /// One that was tried keeps its own, by which a report of delivery may still name it.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn prepare(
        &mut self,
        (lake, domain): (&str, &str),
        week: Week,
        until: DateTime<Utc>,
        at: DateTime<Utc>,
    ) -> Result<usize, DeliveryError> {
        let (week, at) = (week.to_string(), time_text(at));
        self.write("preparing the letters of a week", |t| {
            t.execute(
                "update deliveries set state = 'lapsed', changed_at = ?2 where week < ?1 and state = 'due'",
                params![week, at],
            )?;
            let mut keys =
                t.prepare("select key from readers where state = 'confirmed' and confirmed_at <= ?1 order by address")?;
            let keys: Vec<String> = keys
                .query_map([time_text(until)], |row| row.get(0))?
                .collect::<Result<_, _>>()?;
            let mut insert = t.prepare(
                "insert into deliveries (week, reader, state, message_id, changed_at) values (?1, ?2, 'due', ?3, ?4) \
                 on conflict (week, reader) do update set message_id = excluded.message_id \
                 where state = 'due' and attempts = 0 and reply is null and message_id <> excluded.message_id",
            )?;
            for key in keys {
                let id = message_id(lake, &week, &key, domain);
                insert.execute(params![week, key, id, at])?;
            }
            let sql = "select count(*) from deliveries join readers on key = reader \
                       where week = ?1 and deliveries.state = 'due' and readers.state = 'confirmed'";
            let due: u32 = t.query_row(sql, [&week], |row| row.get(0))?;
            Ok(due as usize)
        })
    }

    /// The readers to whom a run would send now.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn would_send(
        &self,
        week: Week,
        until: DateTime<Utc>,
        at: DateTime<Utc>,
    ) -> Result<Vec<Reader>, DeliveryError> {
        // A row that is `claimed` is due again once the next run has settled it.
        let sql = "select key, address, name, units, decimal, hours, readers.state, consent_on, consent_source, bounces \
                   from readers left join deliveries on reader = key and week = ?1 where readers.state = 'confirmed' \
                   and case when week is null then confirmed_at <= ?2 \
                   else deliveries.state in ('due', 'claimed') and (next_try_at is null or next_try_at <= ?3) end \
                   order by address";
        let read = || {
            let mut statement = self.connection.prepare(sql)?;
            let rows = statement.query_map([week.to_string(), time_text(until), time_text(at)], reader_of)?;
            rows.collect::<Result<Vec<_>, _>>()
        };
        read().map_err(|source| self.told("looking for what is due", source))
    }

    /// Whether a run would find anything to do: a letter to send, or what an earlier run has left in the middle.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn has_work(
        &self,
        week: Week,
        until: DateTime<Utc>,
        at: DateTime<Utc>,
    ) -> Result<bool, DeliveryError> {
        let sql = "select count(*) from deliveries where state = 'sending'";
        let left: u32 = self
            .connection
            .query_row(sql, [], |row| row.get(0))
            .map_err(|source| self.told("looking for what is due", source))?;
        Ok(left > 0 || !self.would_send(week, until, at)?.is_empty())
    }

    /// How many letters of the week are of unknown fate: a person has to settle them.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn open_unknown(&self, week: Week) -> Result<usize, DeliveryError> {
        let sql = "select count(*) from deliveries where week = ?1 and state = 'unknown'";
        let count: u32 = self
            .connection
            .query_row(sql, [week.to_string()], |row| row.get(0))
            .map_err(|source| self.told("looking for letters of unknown fate", source))?;
        Ok(count as usize)
    }

    /// Takes the next letter of the week that is due and may be tried now.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn claim(
        &mut self,
        week: Week,
        run: &str,
        at: DateTime<Utc>,
    ) -> Result<Option<Claim>, DeliveryError> {
        let (week, at) = (week.to_string(), time_text(at));
        let sql = "select key, address, name, units, decimal, hours, readers.state, consent_on, consent_source, bounces, message_id, \
                   attempts from deliveries join readers on key = reader where week = ?1 and deliveries.state = 'due' \
                   and readers.state = 'confirmed' and (next_try_at is null or next_try_at <= ?2) \
                   order by attempts, address limit 1";
        self.write("claiming a letter", |t| {
            let found = t
                .prepare(sql)?
                .query_row(params![week, at], |row| {
                    Ok(Claim {
                        reader: reader_of(row)?,
                        message_id: row.get(10)?,
                        attempts: row.get(11)?,
                    })
                })
                .optional()?;
            if let Some(claim) = &found {
                t.prepare(
                    "update deliveries set state = 'claimed', run = ?3, changed_at = ?4 \
                     where week = ?1 and reader = ?2 and state = 'due'",
                )?
                .execute(params![week, claim.reader.key.as_str(), run, at])?;
            }
            Ok(found)
        })
    }

    /// Marks a claimed letter as being sent: the last thing before its final dot is let go, on the disk when it returns.
    ///
    /// `false` where the letter is no longer this run's to send, because the reader has left or another run took it over: then
    /// the dot must not leave.
    ///
    /// # Errors
    /// [`DeliveryError::Database`]; the dot must not leave then either.
    pub fn mark_sending(
        &mut self,
        week: Week,
        reader: &Reader,
        run: &str,
        at: DateTime<Utc>,
    ) -> Result<bool, DeliveryError> {
        let sql = "update deliveries set state = 'sending', changed_at = ?4 where week = ?1 and reader = ?2 \
                   and state = 'claimed' and run = ?3 \
                   and exists (select 1 from readers where key = ?2 and state = 'confirmed')";
        let changed = self.write("marking a letter as being sent", |t| {
            let values = params![week.to_string(), reader.key.as_str(), run, time_text(at)];
            t.prepare(sql)?.execute(values)
        })?;
        Ok(changed == 1)
    }

    /// Keeps what became of a letter of this run; the reader's address is left out of the server's words.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn record(
        &mut self,
        week: Week,
        claim: &Claim,
        run: &str,
        (state, reply): (DeliveryState, Option<&str>),
        at: DateTime<Utc>,
    ) -> Result<(), DeliveryError> {
        let sql = "update deliveries set state = ?4, reply = coalesce(?5, reply), changed_at = ?6, run = null \
                   where week = ?1 and reader = ?2 and run = ?3 and state in ('claimed', 'sending')";
        let reply = reply.map(|said| without_address(said, &claim.reader.mailbox));
        self.write("keeping what became of a letter", |t| {
            t.prepare(sql)?.execute(params![
                week.to_string(),
                claim.reader.key.as_str(),
                run,
                state.word(),
                reply,
                time_text(at)
            ])
        })?;
        Ok(())
    }

    /// Lets go of a letter that is claimed and no more: to be tried at once again. One that is marked as being sent stays marked, as
    /// nobody knows what became of it.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn release(
        &mut self,
        week: Week,
        claim: &Claim,
        run: &str,
        at: DateTime<Utc>,
    ) -> Result<(), DeliveryError> {
        let sql = "update deliveries set state = 'due', run = null, changed_at = ?4 \
                   where week = ?1 and reader = ?2 and run = ?3 and state = 'claimed'";
        let (week, reader) = (week.to_string(), claim.reader.key.as_str());
        self.write("letting go of a letter", |t| {
            t.execute(sql, params![week, reader, run, time_text(at)])
        })?;
        Ok(())
    }

    /// Puts off a letter that the server refused for a time, so that it is known not to be delivered: to be tried again from `next` on,
    /// which counts as a try where `counts`. The reader's address is left out of the server's words.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn put_off(
        &mut self,
        week: Week,
        claim: &Claim,
        run: &str,
        (next, counts, reply): (DateTime<Utc>, bool, &str),
        at: DateTime<Utc>,
    ) -> Result<(), DeliveryError> {
        let sql = "update deliveries set state = 'due', run = null, attempts = attempts + ?4, next_try_at = ?5, reply = ?6, \
                   changed_at = ?7 where week = ?1 and reader = ?2 and run = ?3 and state in ('claimed', 'sending')";
        let reply = without_address(reply, &claim.reader.mailbox);
        self.write("putting a letter off", |t| {
            t.execute(
                sql,
                params![
                    week.to_string(),
                    claim.reader.key.as_str(),
                    run,
                    u32::from(counts),
                    time_text(next),
                    reply,
                    time_text(at)
                ],
            )
        })?;
        Ok(())
    }

    /// When the next letter of the week may be tried.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn next_try(&self, week: Week) -> Result<Option<DateTime<Utc>>, DeliveryError> {
        let sql = "select min(next_try_at) from deliveries join readers on key = reader \
                   where week = ?1 and deliveries.state = 'due' and readers.state = 'confirmed'";
        let found: Option<String> = self
            .connection
            .query_row(sql, [week.to_string()], |row| row.get(0))
            .map_err(|source| self.told("looking for the next try", source))?;
        Ok(found.and_then(|text| text.parse().ok()))
    }

    /// Rows of the ledger, of one week or all, by week and address.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn deliveries(&self, week: Option<Week>) -> Result<Vec<Delivery>, DeliveryError> {
        let sql = "select week, reader, address, deliveries.state, attempts, next_try_at, changed_at, reply \
                   from deliveries left join readers on key = reader where ?1 is null or week = ?1 \
                   order by week, address, reader";
        let read = || {
            let mut statement = self.connection.prepare(sql)?;
            let rows = statement.query_map([week.map(|w| w.to_string())], |row| {
                let state: String = row.get(3)?;
                Ok(Delivery {
                    week: row.get(0)?,
                    reader: row.get(1)?,
                    address: row.get(2)?,
                    // The table's own check lets no other word in.
                    state: DeliveryState::from_word(&state).unwrap_or(DeliveryState::Unknown),
                    attempts: row.get(4)?,
                    next_try_at: row.get(5)?,
                    changed_at: row.get(6)?,
                    reply: row.get(7)?,
                })
            })?;
            rows.collect::<Result<Vec<_>, _>>()
        };
        read().map_err(|source| self.told("reading the ledger", source))
    }
}
