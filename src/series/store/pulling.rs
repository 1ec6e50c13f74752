//! One pull at a time into the store of a lake: a lock that the death of its process gives back, with the name of
//! who holds it.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Seek as _, Write as _};
use std::path::Path;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::atomic::make_folder;
use super::folder::Store;
use crate::series::StoreError;

const LOCK_FILE: &str = "pulling.lock";

/// Who pulls.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Puller {
    /// Number of its process.
    pub process: u32,
    /// When it began.
    pub since: DateTime<Utc>,
}

/// Held while a process pulls.
#[derive(Debug)]
pub struct PullLock {
    file: File,
}

impl Store {
    /// Takes the right to pull into this store, at once or not at all. Values may still be written by others,
    /// which take the other lock for as long as that needs.
    ///
    /// # Errors
    /// [`StoreError::PullRunning`] with who holds it; [`StoreError::Write`] when the lock file cannot be made.
    pub fn begin_pull(&self, now: DateTime<Utc>) -> Result<PullLock, StoreError> {
        make_folder(self.folder())?;
        let path = self.folder().join(LOCK_FILE);
        let fault = |source: io::Error| StoreError::Write {
            path: path.clone(),
            source,
        };
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .read(true)
            .write(true)
            .open(&path)
            .map_err(fault)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::Error(source)) => return Err(fault(source)),
            Err(TryLockError::WouldBlock) => {
                return Err(StoreError::PullRunning {
                    folder: self.folder().to_owned(),
                    holder: holder(&path),
                });
            }
        }
        let mut lock = PullLock { file };
        let own = Puller {
            process: std::process::id(),
            since: now,
        };
        let text = serde_json::to_string(&own).expect("a number and a time have a JSON form");
        lock.write(&text).map_err(fault)?;
        Ok(lock)
    }
}

impl PullLock {
    fn write(&mut self, text: &str) -> io::Result<()> {
        self.file.set_len(0)?;
        self.file.rewind()?;
        self.file.write_all(text.as_bytes())
    }
}

impl Drop for PullLock {
    fn drop(&mut self) {
        // What is left in the file is only read while another holds the lock.
        let _ = self.file.set_len(0);
    }
}

/// Who holds the lock; `None` where the file does not say (yet).
fn holder(path: &Path) -> Option<Puller> {
    serde_json::from_slice(&fs::read(path).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_pull_is_told_who_pulls_since_when_and_what_to_do() {
        let root = tempfile::tempdir().unwrap();
        let store = Store::open(root.path(), "harrow-gap").unwrap();
        let now = "2025-10-09T11:30:00Z".parse().unwrap();
        let held = store.begin_pull(now).unwrap();
        let refused = store.begin_pull(now).unwrap_err().to_string();
        for words in [
            std::process::id().to_string().as_str(),
            "2025-10-09 11:30:00 UTC",
            "harrow-gap",
            "wait until it has finished",
        ] {
            assert!(refused.contains(words), "{words:?} is not in {refused:?}");
        }
        drop(held);
        store.begin_pull(now).unwrap();
    }

    #[test]
    fn a_lock_file_left_by_a_killed_process_does_not_block() {
        let root = tempfile::tempdir().unwrap();
        let store = Store::open(root.path(), "harrow-gap").unwrap();
        fs::create_dir_all(store.folder()).unwrap();
        let left = r#"{"process":1,"since":"2025-10-09T11:30:00Z"}, and more of an older form"#;
        fs::write(store.folder().join(LOCK_FILE), left).unwrap();
        store.begin_pull("2025-10-10T11:30:00Z".parse().unwrap()).unwrap();
    }
}
