//! The file of readers and letters: one SQLite file a lake, in the lake's folder of the store.
//!
//! The SQL is such that another database takes it as well: instants are texts in ISO 8601, UTC, whole seconds, so that their order as
//! texts is their order in time.

use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, SecondsFormat, Utc};
use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior};
use rusqlite_migration::{M, Migrations};
use sha2::{Digest as _, Sha256};

use super::error::DeliveryError;
use super::mailbox::Mailbox;
use super::reader::ReaderKey;

/// Name of the file in the lake's folder of the store.
const FILE: &str = "digest.sqlite";
/// Name of the file whose lock says that a run is sending.
const LOCK: &str = "digest.lock";
/// How long another program that writes is waited for.
const PATIENCE: Duration = Duration::from_secs(10);

/// Form 1 of the tables. A form that was ever published is never changed; a new one is added behind it.
const FORM_1: &str = "
create table salt (
    one integer not null primary key check (one = 1),
    bytes text not null
) strict;
create table readers (
    key text not null primary key,
    address text not null,
    name text,
    units text not null,
    decimal text not null,
    hours text not null,
    state text not null check (state in ('pending', 'confirmed', 'suspended')),
    consent_on text,
    consent_source text,
    token text,
    added_at text not null,
    confirmed_at text,
    bounces integer not null default 0 check (bounces >= 0),
    check (state = 'pending' or (consent_on is not null and consent_source is not null))
) strict;
create table removed (
    key text not null primary key,
    removed_at text not null
) strict;
create table deliveries (
    week text not null,
    reader text not null,
    state text not null check (state in ('due', 'claimed', 'sending', 'handed', 'failed', 'bounced', 'unknown', 'lapsed', 'withdrawn')),
    message_id text not null unique,
    attempts integer not null default 0 check (attempts >= 0),
    next_try_at text,
    run text,
    changed_at text not null,
    reply text,
    primary key (week, reader)
) strict;
create index deliveries_due on deliveries (week, state, next_try_at);
";

/// Form 2: what a timer was told, so that it is not told every quarter of an hour.
const FORM_2: &str = "
create table told (
    week text not null,
    reason text not null,
    told_at text not null,
    primary key (week, reason)
) strict;
";

fn migrations() -> Migrations<'static> {
    Migrations::new(vec![M::up(FORM_1), M::up(FORM_2)])
}

/// The readers of one lake, and the ledger of their letters.
#[derive(Debug)]
pub struct Book {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
    salt: String,
}

/// Held while a run sends; given back when it is dropped, or its process ends in whatever way.
#[derive(Debug)]
pub struct Sending {
    _lock: std::fs::File,
}

impl Book {
    /// Opens the file in the lake's folder; makes both where they are not there.
    ///
    /// # Errors
    /// [`DeliveryError::NotOurs`], [`DeliveryError::Database`], [`DeliveryError::Unreadable`].
    pub fn open(folder: &Path) -> Result<Book, DeliveryError> {
        let path = folder.join(FILE);
        std::fs::create_dir_all(folder).map_err(|source| DeliveryError::Unreadable {
            path: folder.to_owned(),
            source,
        })?;
        // The library would make it readable for all. Its journal gets the same permissions.
        match private(std::fs::File::options().write(true).create_new(true)).open(&path) {
            Ok(_) => {}
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(source) => return Err(DeliveryError::Unreadable { path, source }),
        }
        let told = |source| refused("opening the list of readers", &path, source);
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(&path, flags).map_err(told)?;
        connection.busy_timeout(PATIENCE).map_err(told)?;
        // What is committed outlasts a loss of power: a mark in the ledger is worth nothing otherwise. What is deleted is written over.
        let settings = [
            ("journal_mode", "wal"),
            ("synchronous", "full"),
            ("secure_delete", "on"),
        ];
        for (name, value) in settings {
            connection.pragma_update(None, name, value).map_err(told)?;
        }
        match migrations().to_latest(&mut connection) {
            Ok(()) => {}
            Err(rusqlite_migration::Error::RusqliteError { err, .. }) => return Err(told(err)),
            Err(other) => {
                return Err(DeliveryError::NotOurs {
                    path,
                    why: other.to_string(),
                });
            }
        }
        let salt = salt(&connection).map_err(told)?;
        Ok(Book {
            connection,
            path,
            salt,
        })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The key of an address, however its letters are written.
    pub fn key(&self, mailbox: &Mailbox) -> ReaderKey {
        let mut hash = Sha256::new();
        hash.update(self.salt.as_bytes());
        hash.update([0]);
        hash.update(mailbox.folded().as_bytes());
        ReaderKey(hex(&hash.finalize()[..16]))
    }

    /// Takes the lock of the sender.
    ///
    /// The lock keeps a second run from waiting on the first; that no letter goes twice does not hang on it, but on the
    /// transactions of the ledger.
    ///
    /// # Errors
    /// [`DeliveryError::Busy`] where another run has it; [`DeliveryError::Unreadable`].
    pub fn lock(&self) -> Result<Sending, DeliveryError> {
        let path = self.path.with_file_name(LOCK);
        let unreadable = |source| DeliveryError::Unreadable {
            path: path.clone(),
            source,
        };
        let file = std::fs::File::options()
            .create(true)
            .write(true)
            .truncate(false)
            .open(&path)
            .map_err(unreadable)?;
        match file.try_lock() {
            Ok(()) => Ok(Sending { _lock: file }),
            Err(std::fs::TryLockError::WouldBlock) => Err(DeliveryError::Busy { path }),
            Err(std::fs::TryLockError::Error(source)) => Err(unreadable(source)),
        }
    }

    /// An error of the database as ours.
    pub(super) fn told(&self, doing: &'static str, source: rusqlite::Error) -> DeliveryError {
        refused(doing, &self.path, source)
    }

    /// Does some work in one transaction that writes.
    pub(super) fn write<T>(
        &mut self,
        doing: &'static str,
        work: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, DeliveryError> {
        let done = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .and_then(|transaction| {
                let value = work(&transaction)?;
                transaction.commit()?;
                Ok(value)
            });
        done.map_err(|source| refused(doing, &self.path, source))
    }
}

/// Files that these options make are their owner's alone, where the system knows owners.
#[cfg(unix)]
fn private(options: &mut std::fs::OpenOptions) -> &mut std::fs::OpenOptions {
    use std::os::unix::fs::OpenOptionsExt as _;
    options.mode(0o600)
}

/// Files that these options make are as all files of the folder.
#[cfg(not(unix))]
fn private(options: &mut std::fs::OpenOptions) -> &mut std::fs::OpenOptions {
    options
}

/// Writes a table of readers to a file; a new one is its owner's alone, where the system knows owners.
///
/// # Errors
/// Those of the system.
pub fn write_private(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    use std::io::Write as _;
    let mut options = std::fs::File::options();
    let mut file = private(options.write(true).create(true).truncate(true)).open(path)?;
    file.write_all(bytes)
}

/// The salt of this list, made once.
fn salt(connection: &Connection) -> rusqlite::Result<String> {
    connection.execute(
        "insert or ignore into salt (one, bytes) values (1, ?1)",
        [hex(&rand::random::<[u8; 16]>())],
    )?;
    connection.query_row("select bytes from salt", [], |row| row.get(0))
}

/// A word that nobody guesses: 128 random bits.
pub(super) fn random_word() -> String {
    hex(&rand::random::<[u8; 16]>())
}

/// Bytes as hexadecimal digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// SHA-256 of a word, for what need not be kept itself.
pub(super) fn digest_of(word: &str) -> String {
    hex(&Sha256::digest(word.as_bytes()))
}

/// An instant as it is stored.
pub(super) fn time_text(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Secs, true)
}

fn refused(doing: &'static str, path: &Path, source: rusqlite::Error) -> DeliveryError {
    let path = path.to_owned();
    match source.sqlite_error_code() {
        Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => DeliveryError::NotOurs {
            path,
            why: format!("found a file that is damaged or no list of readers ({source}), wanted one"),
        },
        _ => DeliveryError::Database { doing, path, source },
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_step_can_be_taken() {
        super::migrations().validate().unwrap();
    }
}
