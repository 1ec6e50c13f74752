//! The ledger of notices: one row a look, in SQLite; rows are added and never changed.
//!
//! All looks of a brief are one transaction that reads what is remembered and writes what was seen, so that two programs at
//! once tell a notice once, and one that is killed has told all of it or nothing. It is written before the brief is printed:
//! a brief that is lost after that leaves notices that stand, and the next one shows them with the hour at which they were
//! told.

use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, SecondsFormat, Utc};
use rusqlite::types::Type;
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension as _, Row, TransactionBehavior, params};
use rusqlite_migration::{M, Migrations};

use super::error::NoticeError;
use super::latch::{Look, Memory, Sight, look};
use super::state::{NoticeReport, Reading};
use crate::lake::Notice;

/// Name of the file in the lake's folder of the store.
const FILE: &str = "notices.sqlite";
/// How long another program that writes is waited for.
const PATIENCE: Duration = Duration::from_secs(10);
/// Form 1. A form that was ever published is never changed.
const FORM_1: &str = "
create table looks (
    notice text not null,
    condition text not null,
    track text not null check (track in ('live', 'replay')),
    clock text not null,
    made_at text not null,
    past_margin_n real not null,
    look text not null check (look in ('fired', 'standing', 'quiet')),
    armed integer not null check (armed in (0, 1)),
    calm_since text,
    fired_at text,
    already integer not null check (already in (0, 1)),
    primary key (notice, condition, track, clock)
) strict;
";

/// Whose looks: a replay of saved replies never meets those of live runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Track {
    /// Runs by the services themselves.
    Live,
    /// Runs by saved replies.
    Replay,
}

impl Track {
    fn word(self) -> &'static str {
        match self {
            Track::Live => "live",
            Track::Replay => "replay",
        }
    }
}

/// The clock of a run.
#[derive(Debug, Clone, Copy)]
pub struct Clock {
    /// Clock of the brief.
    pub as_of: DateTime<Utc>,
    /// By the wall clock.
    pub made_at: DateTime<Utc>,
    /// Whose looks.
    pub track: Track,
    /// Whether the looks are kept; not where somebody looks back at a clock of the past.
    pub keep: bool,
}

/// The ledger of one lake.
#[derive(Debug)]
pub struct Ledger {
    connection: Connection,
    path: PathBuf,
}

/// One row.
struct Kept {
    clock: DateTime<Utc>,
    look: Look,
    memory: Memory,
}

impl Ledger {
    /// Where the ledger of a lake lies, in its folder of the store.
    pub fn path_in(folder: &Path) -> PathBuf {
        folder.join(FILE)
    }

    /// Opens the ledger in a folder; makes both where they are not there.
    ///
    /// # Errors
    /// [`NoticeError::Folder`], [`NoticeError::NotOurs`], [`NoticeError::Database`].
    pub fn open(folder: &Path) -> Result<Ledger, NoticeError> {
        let path = Ledger::path_in(folder);
        std::fs::create_dir_all(folder).map_err(|source| NoticeError::Folder {
            path: folder.to_owned(),
            source,
        })?;
        let told = |source| refused("opening", &path, source);
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(&path, flags).map_err(told)?;
        connection.busy_timeout(PATIENCE).map_err(told)?;
        connection
            .pragma_update(None, "journal_mode", "wal")
            .map_err(told)?;
        connection
            .pragma_update(None, "synchronous", "full")
            .map_err(told)?;
        match Migrations::new(vec![M::up(FORM_1)]).to_latest(&mut connection) {
            Ok(()) => Ok(Ledger { connection, path }),
            Err(rusqlite_migration::Error::RusqliteError { err, .. }) => Err(told(err)),
            Err(other) => Err(NoticeError::NotOurs {
                path,
                why: other.to_string(),
            }),
        }
    }

    /// Judges all notices of a morning by what is remembered, and keeps what was seen.
    ///
    /// A look is kept where its clock is later than that of every look before. At the clock of one that was kept its answer
    /// is given again. At an earlier clock, or where nothing is to be kept, what would be told stands instead.
    ///
    /// # Errors
    /// [`NoticeError::NotOurs`], [`NoticeError::Database`]; nothing was kept then.
    pub fn settle(
        &mut self,
        readings: &[(&Notice, Reading)],
        clock: Clock,
    ) -> Result<Vec<NoticeReport>, NoticeError> {
        let path = self.path.clone();
        let told = |source| refused("using", &path, source);
        let transaction = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(told)?;
        let mut reports = Vec::new();
        for (notice, reading) in readings {
            let report = one(&transaction, notice, reading, clock).map_err(told)?;
            reports.push(report);
        }
        transaction.commit().map_err(told)?;
        Ok(reports)
    }

    /// What was told on `track` after `from` and up to `to`: clock and id, the earliest first.
    ///
    /// # Errors
    /// [`NoticeError::NotOurs`], [`NoticeError::Database`].
    pub fn fired(
        &self,
        track: Track,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
    ) -> Result<Vec<(DateTime<Utc>, String)>, NoticeError> {
        let told = |source| refused("reading", &self.path, source);
        let mut select = self
            .connection
            .prepare(
                "select notice, clock from looks where track = ?1 and look = 'fired' and clock > ?2 and clock <= ?3 \
                 order by clock, notice",
            )
            .map_err(told)?;
        let rows = select.query_map(params![track.word(), stamp(from), stamp(to)], |row| {
            Ok((
                instant(row, 1)?.ok_or_else(|| strange(1, "nothing"))?,
                row.get(0)?,
            ))
        });
        rows.and_then(Iterator::collect).map_err(told)
    }
}

/// Judges one notice within the transaction `to`.
fn one(to: &Connection, notice: &Notice, reading: &Reading, clock: Clock) -> rusqlite::Result<NoticeReport> {
    let Reading::Known { figure, over } = reading else {
        return Ok(NoticeReport::of(notice, reading, None));
    };
    let condition =
        condition_key(notice).map_err(|error| rusqlite::Error::ToSqlConversionFailure(error.into()))?;
    let key = (notice.id.as_str(), condition.as_str(), clock.track.word());
    let known = newest_until(to, key, clock.as_of)?;
    if let Some(kept) = known
        .as_ref()
        .filter(|kept| stamp(kept.clock) == stamp(clock.as_of))
    {
        return Ok(NoticeReport::of(notice, reading, Some((kept.look, &kept.memory))));
    }
    let seen = Sight {
        past_margin_n: notice.condition.past_margin_n(figure.number()),
        over: *over,
        rearm_days: notice.rearm_days,
    };
    let (now, mut memory) = look(seen, known.as_ref().map(|kept| &kept.memory), clock.as_of);
    if clock.keep && !any_after(to, key, clock.as_of)? {
        insert(to, key, clock, seen, (now, &memory))?;
        return Ok(NoticeReport::of(notice, reading, Some((now, &memory))));
    }
    // What is not kept is not told: it would be told again.
    let shown = match now {
        Look::Fired => {
            memory.fired_at = None;
            Look::Standing
        }
        other => other,
    };
    Ok(NoticeReport::of(notice, reading, Some((shown, &memory))))
}

/// What a notice waits for, as a key: a condition that was changed is another one, and begins anew. Its margin says only when it may be told again.
fn condition_key(notice: &Notice) -> serde_json::Result<String> {
    let mut condition = serde_json::to_value(&notice.condition)?;
    if let Some(fields) = condition.as_object_mut() {
        fields.retain(|name, _| !name.starts_with("margin_"));
    }
    serde_json::to_string(&condition)
}

/// Notice, condition and track.
type RowKey<'k> = (&'k str, &'k str, &'k str);

/// The newest look up to a clock, that of the clock itself among them.
fn newest_until(
    of: &Connection,
    (notice, condition, track): RowKey<'_>,
    clock: DateTime<Utc>,
) -> rusqlite::Result<Option<Kept>> {
    let mut select = of.prepare(
        "select clock, look, armed, calm_since, fired_at, already from looks \
         where notice = ?1 and condition = ?2 and track = ?3 and clock <= ?4 order by clock desc limit 1",
    )?;
    select
        .query_row(params![notice, condition, track, stamp(clock)], kept_of)
        .optional()
}

/// Whether there is a look after a clock.
fn any_after(
    of: &Connection,
    (notice, condition, track): RowKey<'_>,
    clock: DateTime<Utc>,
) -> rusqlite::Result<bool> {
    let mut select = of.prepare(
        "select exists (select 1 from looks where notice = ?1 and condition = ?2 and track = ?3 and clock > ?4)",
    )?;
    select.query_row(params![notice, condition, track, stamp(clock)], |row| row.get(0))
}

fn insert(
    to: &Connection,
    (notice, condition, track): RowKey<'_>,
    clock: Clock,
    seen: Sight,
    (look, memory): (Look, &Memory),
) -> rusqlite::Result<()> {
    let mut insert = to.prepare(
        "insert into looks (notice, condition, track, clock, made_at, past_margin_n, look, armed, calm_since, fired_at, \
         already) values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
    )?;
    insert.execute(params![
        notice,
        condition,
        track,
        stamp(clock.as_of),
        stamp(clock.made_at),
        seen.past_margin_n,
        word(look),
        memory.armed,
        memory.calm_since.map(stamp),
        memory.fired_at.map(stamp),
        memory.already
    ])?;
    Ok(())
}

fn kept_of(row: &Row<'_>) -> rusqlite::Result<Kept> {
    let text: String = row.get(1)?;
    let look = match text.as_str() {
        "fired" => Look::Fired,
        "standing" => Look::Standing,
        "quiet" => Look::Quiet,
        _ => return Err(strange(1, &text)),
    };
    Ok(Kept {
        clock: instant(row, 0)?.ok_or_else(|| strange(0, "nothing"))?,
        look,
        memory: Memory {
            armed: row.get(2)?,
            calm_since: instant(row, 3)?,
            fired_at: instant(row, 4)?,
            already: row.get(5)?,
        },
    })
}

fn word(look: Look) -> &'static str {
    match look {
        Look::Fired => "fired",
        Look::Standing => "standing",
        Look::Quiet => "quiet",
    }
}

/// Instants as texts of one length, which sort by time.
fn stamp(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Secs, true)
}

fn instant(row: &Row<'_>, at: usize) -> rusqlite::Result<Option<DateTime<Utc>>> {
    let text: Option<String> = row.get(at)?;
    text.map(|text| text.parse().map_err(|_| strange(at, &text)))
        .transpose()
}

/// A text that is none of those that are written: the file was changed by another hand.
fn strange(at: usize, text: &str) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(
        at,
        Type::Text,
        format!("found {text:?}, no word of a ledger of notices").into(),
    )
}

/// The error of a database as ours.
fn refused(doing: &'static str, path: &Path, source: rusqlite::Error) -> NoticeError {
    let path = path.to_owned();
    match source.sqlite_error_code() {
        Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => NoticeError::NotOurs {
            path,
            why: format!("found a file that is damaged or no ledger of notices ({source}), wanted one"),
        },
        _ => NoticeError::Database { doing, path, source },
    }
}
