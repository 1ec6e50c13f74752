//! Letters that a person has to see to: of unknown fate, and those that cannot go.

use chrono::{DateTime, Utc};
use rusqlite::params;

use super::error::DeliveryError;
use super::mailbox::Mailbox;
use super::store::{Book, time_text};
use super::week::Week;

/// What a person decides about a letter whose fate is unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Resolution {
    /// It has arrived.
    Arrived,
    /// It has not, and shall be sent again.
    Again {
        /// The first week whose letters are still sent.
        first_open: Week,
    },
}

impl Book {
    /// Notes that it was told why no letter of the week goes; whether it had not been told for this reason before.
    ///
    /// # Errors
    /// [`DeliveryError::Database`].
    pub fn first_told(&mut self, week: Week, reason: &str, at: DateTime<Utc>) -> Result<bool, DeliveryError> {
        let sql = "insert or ignore into told (week, reason, told_at) values (?1, ?2, ?3)";
        let noted = self.write("noting what was told", |t| {
            t.execute(sql, params![week.to_string(), reason, time_text(at)])
        })?;
        Ok(noted == 1)
    }

    /// Settles a letter whose fate is unknown, as a person says.
    ///
    /// # Errors
    /// [`DeliveryError::WeekOver`], [`DeliveryError::NotUnknown`], [`DeliveryError::Database`].
    pub fn resolve(
        &mut self,
        week: Week,
        mailbox: &Mailbox,
        as_said: Resolution,
        at: DateTime<Utc>,
    ) -> Result<(), DeliveryError> {
        let key = self.key(mailbox);
        let (state, reply) = match as_said {
            Resolution::Arrived => ("handed", "said to have arrived"),
            // The next run would let it lapse, and the promise would be broken without a word.
            Resolution::Again { first_open } if week < first_open => {
                return Err(DeliveryError::WeekOver {
                    address: mailbox.to_string(),
                    week: week.to_string(),
                    now: first_open.to_string(),
                });
            }
            Resolution::Again { .. } => ("due", "said not to have arrived; to be sent again"),
        };
        let week_text = week.to_string();
        let sql = "update deliveries set state = ?3, reply = ?4, changed_at = ?5, next_try_at = null \
                   where week = ?1 and reader = ?2 and state = 'unknown'";
        let changed = self.write("resolving a letter", |t| {
            t.execute(sql, params![week_text, key.as_str(), state, reply, time_text(at)])
        })?;
        if changed == 1 {
            return Ok(());
        }
        let rows = self.deliveries(Some(week))?;
        let found = rows.iter().find(|row| row.reader == key.as_str());
        Err(DeliveryError::NotUnknown {
            address: mailbox.to_string(),
            found: found.map_or("no letter".to_owned(), |row| {
                format!("one that is {}", row.state.word())
            }),
            week: week_text,
        })
    }
}
