//! Files that change all at once, and the lock of the one process that changes them.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::series::StoreError;

/// Ending of a file that is being written; what bears it without a writer at work is left over.
const UNFINISHED: &str = "unfinished";
const LOCK_FILE: &str = "writing.lock";
const LOCK_POLL: Duration = Duration::from_millis(20);

/// A file written and synced beside its target, not yet in its place.
#[derive(Debug)]
pub(super) struct Staged {
    unfinished: PathBuf,
    target: PathBuf,
}

impl Staged {
    /// Writes `bytes` beside `target` and syncs them. The caller holds the [`Lock`].
    ///
    /// # Errors
    /// [`StoreError::Write`]; nothing is left behind then.
    pub(super) fn write(target: &Path, bytes: &[u8]) -> Result<Staged, StoreError> {
        let mut name = target.file_name().map_or_else(OsString::new, ToOwned::to_owned);
        name.push(".");
        name.push(UNFINISHED);
        let staged = Staged {
            unfinished: target.with_file_name(name),
            target: target.to_owned(),
        };
        let written = File::create(&staged.unfinished).and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        });
        match written {
            Ok(()) => Ok(staged),
            Err(source) => {
                staged.discard();
                Err(StoreError::Write {
                    path: target.to_owned(),
                    source,
                })
            }
        }
    }

    /// Puts the file into its place. The folder still has to be synced ([`sync_folder`]).
    ///
    /// # Errors
    /// [`StoreError::Write`]; the former content still stands then.
    pub(super) fn finish(self) -> Result<(), StoreError> {
        fs::rename(&self.unfinished, &self.target).map_err(|source| {
            let path = self.target.clone();
            self.discard();
            StoreError::Write { path, source }
        })
    }

    /// Removes the file; one that cannot be removed is removed by the next writer.
    pub(super) fn discard(&self) {
        let _ = fs::remove_file(&self.unfinished);
    }
}

/// Makes renames in `folder` outlast a loss of power.
///
/// # Errors
/// [`StoreError::Write`].
pub(super) fn sync_folder(folder: &Path) -> Result<(), StoreError> {
    File::open(folder)
        .and_then(|f| f.sync_all())
        .map_err(|source| StoreError::Write {
            path: folder.to_owned(),
            source,
        })
}

/// Makes `folder` and those above it, and makes those that are new outlast a loss of power: a file is no safer
/// than the entry of its folder in the folder above.
///
/// # Errors
/// [`StoreError::Write`].
pub(super) fn make_folder(folder: &Path) -> Result<(), StoreError> {
    let new: Vec<&Path> = folder.ancestors().take_while(|f| !f.exists()).collect();
    fs::create_dir_all(folder).map_err(|source| StoreError::Write {
        path: folder.to_owned(),
        source,
    })?;
    let above = new.iter().filter_map(|f| f.parent());
    above
        .map(|f| {
            if f.as_os_str().is_empty() {
                Path::new(".")
            } else {
                f
            }
        })
        .try_for_each(sync_folder)
}

/// Removes what writers that were killed left in `folder`. The caller holds the [`Lock`].
pub(super) fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for path in entries.flatten().map(|entry| entry.path()) {
        if path.extension().is_some_and(|e| e == UNFINISHED) {
            let _ = fs::remove_file(path);
        }
    }
}

/// Held while files of a lake change; given back when dropped, also by the death of the process.
#[derive(Debug)]
pub(super) struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock of the lake folder `folder`, which is made if need be; waits up to `patience`.
    ///
    /// # Errors
    /// [`StoreError::Locked`] when another process keeps it, [`StoreError::Write`] when the lock file
    /// cannot be made.
    pub(super) fn take(folder: &Path, patience: Duration) -> Result<Lock, StoreError> {
        make_folder(folder)?;
        let path = folder.join(LOCK_FILE);
        let fault = |source: io::Error| StoreError::Write {
            path: path.clone(),
            source,
        };
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(fault)?;
        let start = Instant::now();
        loop {
            match file.try_lock() {
                Ok(()) => return Ok(Lock { _file: file }),
                Err(TryLockError::Error(source)) => return Err(fault(source)),
                Err(TryLockError::WouldBlock) if start.elapsed() >= patience => {
                    return Err(StoreError::Locked {
                        path,
                        waited_s: start.elapsed().as_secs(),
                    });
                }
                Err(TryLockError::WouldBlock) => std::thread::sleep(LOCK_POLL),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_writer_killed_before_the_rename_leaves_the_old_content() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("a.parquet");
        fs::write(&target, b"old").unwrap();
        let staged = Staged::write(&target, b"new").unwrap();
        assert_eq!(fs::read(&target).unwrap(), b"old");
        // The process dies here: `finish` is never reached, and the next writer sweeps.
        drop(staged);
        sweep(folder.path());
        assert_eq!(fs::read(&target).unwrap(), b"old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_finished_file_replaces_the_old_one_and_leaves_nothing_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("a.parquet");
        fs::write(&target, b"old").unwrap();
        Staged::write(&target, b"new").unwrap().finish().unwrap();
        assert_eq!(fs::read(&target).unwrap(), b"new");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_second_writer_is_told_who_is_in_the_way() {
        let folder = tempfile::tempdir().unwrap();
        let held = Lock::take(folder.path(), Duration::ZERO).unwrap();
        let refused = Lock::take(folder.path(), Duration::from_millis(30)).unwrap_err();
        assert!(matches!(refused, StoreError::Locked { .. }), "{refused}");
        assert!(refused.to_string().contains("another process"), "{refused}");
        drop(held);
        Lock::take(folder.path(), Duration::ZERO).unwrap();
    }
}
