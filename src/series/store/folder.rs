//! The folder of one lake: names of its files, and what to do with a damaged one.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, Datelike, Utc};

use super::atomic::Lock;
use crate::lake::{Cadence, SeriesId};
use crate::series::{SeriesKey, StoreError};

/// How long a writer waits for another.
const PATIENCE: Duration = Duration::from_secs(20);

/// The series of one lake on disk. Any number of processes may read; writers take turns.
#[derive(Debug, Clone)]
pub struct Store {
    folder: PathBuf,
    patience: Duration,
}

impl Store {
    /// The store of lake `lake_id` under `root` (see [`super::store_root`]). Nothing is made on disk
    /// before the first value is written, so a store that does not exist yet reads as empty.
    ///
    /// # Errors
    /// [`StoreError::BadId`] when the id cannot name a folder; [`StoreError::Read`] when a file
    /// stands where the folder should be.
    pub fn open(root: &Path, lake_id: &str) -> Result<Store, StoreError> {
        check_id(lake_id)?;
        let folder = root.join(lake_id);
        match fs::read_dir(&folder) {
            Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
                Err(StoreError::Read { path: folder, source })
            }
            _ => Ok(Store {
                folder,
                patience: PATIENCE,
            }),
        }
    }

    /// The same store with another patience for writers that stand in the way.
    pub fn with_patience(mut self, patience: Duration) -> Store {
        self.patience = patience;
        self
    }

    /// The lake's folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Waits for the right to write.
    pub(super) fn lock(&self) -> Result<Lock, StoreError> {
        Lock::take(&self.folder, self.patience)
    }

    /// The right to write if no one else has it at the moment and the disk allows it.
    pub(super) fn lock_now(&self) -> Option<Lock> {
        Lock::take(&self.folder, Duration::ZERO).ok()
    }

    /// Folder of a series.
    pub(super) fn series_folder(&self, id: &SeriesId) -> Result<PathBuf, StoreError> {
        check_id(id.as_str())?;
        Ok(self.folder.join(id.as_str()))
    }

    /// File of a series, cadence and year.
    pub(super) fn year_path(&self, key: &SeriesKey, year: i32) -> Result<PathBuf, StoreError> {
        Ok(self
            .series_folder(&key.id)?
            .join(format!("{}-{year:04}.parquet", cadence_word(key.cadence))))
    }

    /// Folder of the forecasts issued in a year.
    pub(super) fn forecast_folder(&self, id: &SeriesId, year: i32) -> Result<PathBuf, StoreError> {
        Ok(self.series_folder(id)?.join(format!("forecast-{year:04}")))
    }

    /// Year files of a series, by year; empty when the series has none.
    ///
    /// # Errors
    /// [`StoreError::Read`] when the folder is there but cannot be listed.
    pub(super) fn year_files(&self, key: &SeriesKey) -> Result<BTreeMap<i32, PathBuf>, StoreError> {
        let prefix = format!("{}-", cadence_word(key.cadence));
        let mut found = BTreeMap::new();
        for path in listing(&self.series_folder(&key.id)?)? {
            let name = path.file_name().and_then(|n| n.to_str()).unwrap_or_default();
            let year = name
                .strip_prefix(&prefix)
                .and_then(|rest| rest.strip_suffix(".parquet"));
            if let Some(year) = year.and_then(|y| y.parse().ok()) {
                found.insert(year, path);
            }
        }
        Ok(found)
    }
}

/// Year (UTC) of the file that holds `time`.
pub(super) fn year_of(time: DateTime<Utc>) -> i32 {
    time.year()
}

/// The word that begins the names of a cadence's files.
pub(super) fn cadence_word(cadence: Cadence) -> &'static str {
    match cadence {
        Cadence::Daily => "daily",
        Cadence::Continuous => "continuous",
        Cadence::Forecast => "forecast",
    }
}

/// Everything in `folder`; empty when there is no such folder.
pub(super) fn listing(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let fault = |source| StoreError::Read {
        path: folder.to_owned(),
        source,
    };
    match fs::read_dir(folder) {
        Err(source) if source.kind() == std::io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(source) => Err(fault(source)),
        Ok(entries) => entries
            .map(|entry| entry.map(|e| e.path()).map_err(fault))
            .collect(),
    }
}

/// Moves a damaged file aside as `<name>.damaged-<n>`; its new path. The caller holds the lock.
pub(super) fn set_aside(path: &Path) -> Result<PathBuf, StoreError> {
    let name = path
        .file_name()
        .map_or_else(Default::default, |n| n.to_string_lossy());
    let mut n = 1;
    let aside = loop {
        let candidate = path.with_file_name(format!("{name}.damaged-{n}"));
        if !candidate.exists() {
            break candidate;
        }
        n += 1;
    };
    fs::rename(path, &aside).map_err(|source| StoreError::Write {
        path: path.to_owned(),
        source,
    })?;
    Ok(aside)
}

fn check_id(id: &str) -> Result<(), StoreError> {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !id.is_empty() && id.chars().all(plain) {
        Ok(())
    } else {
        Err(StoreError::BadId { id: id.to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_cannot_lead_out_of_the_store() {
        let root = tempfile::tempdir().unwrap();
        for id in ["", "..", "a/b", "a\\b", ".hidden", "a b", "é"] {
            assert!(
                matches!(Store::open(root.path(), id), Err(StoreError::BadId { .. })),
                "{id:?}"
            );
        }
        assert!(Store::open(root.path(), "harrow-gap_2").is_ok());
    }

    #[test]
    fn opening_makes_nothing() {
        let root = tempfile::tempdir().unwrap();
        Store::open(root.path(), "harrow-gap").unwrap();
        assert_eq!(fs::read_dir(root.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_file_set_aside_never_replaces_an_earlier_one() {
        let root = tempfile::tempdir().unwrap();
        let path = root.path().join("daily-2025.parquet");
        for (n, content) in [(1, "first"), (2, "second")] {
            fs::write(&path, content).unwrap();
            let aside = set_aside(&path).unwrap();
            assert!(aside.ends_with(format!("daily-2025.parquet.damaged-{n}")));
            assert_eq!(fs::read_to_string(aside).unwrap(), content);
        }
    }
}
