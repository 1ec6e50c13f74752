//! Opening the log, and copying it.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags};

use super::schema::migrations;
use crate::trips::error::TripError;

/// Name of the file in the lake's folder of the store.
const FILE: &str = "trips.sqlite";
/// How long another program that writes is waited for.
const PATIENCE: Duration = Duration::from_secs(10);

/// The log of one lake.
#[derive(Debug)]
pub struct TripLog {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
}

/// How a log is opened.
#[derive(Debug, Clone, Copy, Default)]
pub struct OpenOptions {
    /// Most pages that the file may grow to: a stand-in for a full disk.
    pub most_pages: Option<u32>,
}

impl TripLog {
    /// Where the log of a lake lies, in its folder of the store.
    pub fn path_in(folder: &Path) -> PathBuf {
        folder.join(FILE)
    }

    /// Opens the log in a folder; makes both where they are not there.
    ///
    /// # Errors
    /// [`TripError::NotOurs`], [`TripError::Full`], [`TripError::Database`], [`TripError::Unreadable`].
    pub fn open(folder: &Path) -> Result<TripLog, TripError> {
        TripLog::open_with(folder, OpenOptions::default())
    }

    /// Opens the log in a folder if there is one.
    ///
    /// # Errors
    /// As [`TripLog::open`].
    pub fn open_if_there(folder: &Path) -> Result<Option<TripLog>, TripError> {
        match TripLog::path_in(folder).exists() {
            true => TripLog::open(folder).map(Some),
            false => Ok(None),
        }
    }

    /// Opens the log with options.
    ///
    /// # Errors
    /// As [`TripLog::open`].
    pub fn open_with(folder: &Path, options: OpenOptions) -> Result<TripLog, TripError> {
        let path = TripLog::path_in(folder);
        std::fs::create_dir_all(folder).map_err(|source| TripError::Unreadable {
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
        connection
            .pragma_update(None, "foreign_keys", true)
            .map_err(told)?;
        if let Some(pages) = options.most_pages {
            connection
                .pragma_update_and_check(None, "max_page_count", pages, |_| Ok(()))
                .map_err(told)?;
        }
        match migrations().to_latest(&mut connection) {
            Ok(()) => Ok(TripLog { connection, path }),
            Err(rusqlite_migration::Error::RusqliteError { err, .. }) => Err(told(err)),
            Err(other) => Err(TripError::NotOurs {
                path,
                why: other.to_string(),
            }),
        }
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Copies the log, as it is at this instant, into a new file; the log may be in use.
    ///
    /// # Errors
    /// [`TripError::Exists`], [`TripError::NotBackedUp`]; nothing is left behind then.
    pub fn backup(&self, file: &Path) -> Result<(), TripError> {
        if file.symlink_metadata().is_ok() {
            return Err(TripError::Exists {
                path: file.to_owned(),
            });
        }
        let mut name = file.file_name().unwrap_or_default().to_owned();
        name.push(".unfinished");
        let unfinished = file.with_file_name(name);
        let not_backed_up = |source| TripError::NotBackedUp {
            path: file.to_owned(),
            source,
        };
        match std::fs::remove_file(&unfinished) {
            Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
                return Err(not_backed_up(source));
            }
            _ => {}
        }
        let target = unfinished.to_string_lossy().into_owned();
        let copied = self
            .connection
            .execute("vacuum into ?1", [target])
            .map_err(std::io::Error::other);
        let copied = copied.and_then(|_| std::fs::File::open(&unfinished)?.sync_all());
        copied
            .and_then(|()| std::fs::rename(&unfinished, file))
            .map_err(|source| {
                // What was begun is no backup; where it cannot be removed the next one does it.
                let _ = std::fs::remove_file(&unfinished);
                not_backed_up(source)
            })
    }
}

/// The error of a database as ours.
pub(super) fn refused(doing: &'static str, path: &Path, source: rusqlite::Error) -> TripError {
    let path = path.to_owned();
    match source.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => TripError::Full { path },
        Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => TripError::NotOurs {
            path,
            why: format!("found a file that is damaged or no trip log ({source}), wanted one"),
        },
        _ => TripError::Database { doing, path, source },
    }
}
