//! What was pulled and when, and the HTTP validators that save pulling it again.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::atomic::{Staged, sweep, sync_folder};
use super::folder::{Store, cadence_word, set_aside};
use crate::series::{SeriesKey, StoreError};

const LEDGER_FILE: &str = "ledger.json";

/// Notes about a store that are not values. Losing them loses no value: everything is fetched anew.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Ledger {
    /// Last pull, by `series/cadence`.
    pub pulls: BTreeMap<String, PullRecord>,
    /// Validators, by URL.
    pub validators: BTreeMap<String, Validators>,
}

/// The last pull of a series.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PullRecord {
    /// Everything from here on has been asked for.
    pub covered_from: DateTime<Utc>,
    /// When it was last asked for.
    pub pulled_at: DateTime<Utc>,
    /// Years that had values afterwards; one whose file has gone since is asked for again.
    pub years: BTreeSet<i32>,
    /// Years whose file was found damaged, to be asked for again.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub damaged: BTreeSet<i32>,
}

/// What a service gave to ask "has it changed since?".
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Validators {
    /// `ETag` of the last full reply.
    pub etag: Option<String>,
    /// `Last-Modified` of the last full reply.
    pub last_modified: Option<String>,
}

impl Ledger {
    /// The last pull of a series.
    pub fn pull(&self, key: &SeriesKey) -> Option<&PullRecord> {
        self.pulls.get(&pull_name(key))
    }
}

impl Store {
    /// The ledger; an empty one where there is none, or none that can be read.
    pub fn ledger(&self) -> Ledger {
        let bytes = fs::read(self.folder().join(LEDGER_FILE)).ok();
        bytes
            .and_then(|bytes| serde_json::from_slice(&bytes).ok())
            .unwrap_or_default()
    }

    /// Changes the ledger under the lock. A ledger that cannot be read is set aside first.
    ///
    /// # Errors
    /// [`StoreError::Locked`], [`StoreError::Write`].
    pub fn update_ledger(&mut self, change: impl FnOnce(&mut Ledger)) -> Result<(), StoreError> {
        let _lock = self.lock()?;
        self.change_ledger(change)
    }

    /// Notes in the ledger that `key` was pulled at `pulled_at`, and that everything from `from` on
    /// was asked for. Call it after the values have been merged.
    ///
    /// # Errors
    /// [`StoreError::Locked`], [`StoreError::Write`], [`StoreError::Read`].
    pub fn record_pull(
        &mut self,
        key: &SeriesKey,
        from: DateTime<Utc>,
        pulled_at: DateTime<Utc>,
    ) -> Result<(), StoreError> {
        self.record_pulls(&[(key.clone(), from)], pulled_at)
    }

    /// [`Store::record_pull`] for many series at once.
    ///
    /// # Errors
    /// As [`Store::record_pull`].
    pub fn record_pulls(
        &mut self,
        pulls: &[(SeriesKey, DateTime<Utc>)],
        pulled_at: DateTime<Utc>,
    ) -> Result<(), StoreError> {
        let mut years = Vec::with_capacity(pulls.len());
        for (key, _) in pulls {
            years.push(self.year_files(key)?.into_keys().collect::<BTreeSet<i32>>());
        }
        self.update_ledger(|ledger| {
            for ((key, from), years) in pulls.iter().zip(years) {
                let old = ledger.pulls.remove(&pull_name(key));
                let covered_from = old.as_ref().map_or(*from, |old| old.covered_from.min(*from));
                let mut damaged = old.map_or_else(BTreeSet::new, |old| old.damaged);
                damaged.retain(|&year| super::needs::year_start(year) < *from);
                ledger.pulls.insert(
                    pull_name(key),
                    PullRecord {
                        covered_from,
                        pulled_at,
                        years,
                        damaged,
                    },
                );
            }
        })
    }

    /// Notes that files were set aside: their years are asked for again, and without validators, so
    /// that no service answers "not changed" about values that are gone. The caller holds the lock.
    pub(super) fn note_damage(&self, files: &[(&SeriesKey, i32)]) -> Result<(), StoreError> {
        self.change_ledger(|ledger| {
            ledger.validators.clear();
            for (key, year) in files {
                if let Some(record) = ledger.pulls.get_mut(&pull_name(key)) {
                    record.damaged.insert(*year);
                }
            }
        })
    }

    fn change_ledger(&self, change: impl FnOnce(&mut Ledger)) -> Result<(), StoreError> {
        sweep(self.folder());
        let path = self.folder().join(LEDGER_FILE);
        let old = self.ledger();
        if path.exists() && old == Ledger::default() && !is_readable(&path) {
            set_aside(&path)?;
        }
        let mut new = old.clone();
        change(&mut new);
        if new == old {
            return Ok(());
        }
        let bytes = serde_json::to_vec_pretty(&new).expect("texts, numbers and times have a JSON form");
        Staged::write(&path, &bytes)?.finish()?;
        sync_folder(self.folder())
    }
}

fn is_readable(path: &std::path::Path) -> bool {
    fs::read(path).is_ok_and(|bytes| serde_json::from_slice::<Ledger>(&bytes).is_ok())
}

fn pull_name(key: &SeriesKey) -> String {
    format!("{}/{}", key.id, cadence_word(key.cadence))
}
