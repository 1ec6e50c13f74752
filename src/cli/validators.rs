//! HTTP validators out of the store's ledger; those of this run are collected, to be written there at its end
//! (the client hands them over once the values they speak of are safe in the store).

use std::collections::BTreeMap;
use std::sync::Mutex;

use crate::series::store::Validators as Kept;
use crate::sources::{ValidatorStore, Validators};

/// Validators of a run.
#[derive(Debug, Default)]
pub struct LedgerValidators {
    known: BTreeMap<String, Kept>,
    fresh: Mutex<BTreeMap<String, Kept>>,
}

impl LedgerValidators {
    /// Starts from what the ledger holds.
    pub fn new(known: BTreeMap<String, Kept>) -> Self {
        LedgerValidators {
            known,
            fresh: Mutex::default(),
        }
    }

    /// What came in this run.
    pub fn taken(&self) -> BTreeMap<String, Kept> {
        self.fresh
            .lock()
            .map(|mut fresh| std::mem::take(&mut *fresh))
            .unwrap_or_default()
    }
}

impl ValidatorStore for LedgerValidators {
    fn get(&self, url: &str) -> Option<Validators> {
        self.known.get(url).map(|k| Validators {
            etag: k.etag.clone(),
            last_modified: k.last_modified.clone(),
        })
    }

    fn put(&self, url: &str, validators: Validators) {
        if let Ok(mut fresh) = self.fresh.lock() {
            fresh.insert(
                url.to_owned(),
                Kept {
                    etag: validators.etag,
                    last_modified: validators.last_modified,
                },
            );
        }
    }
}
