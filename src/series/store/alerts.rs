//! Replies of official alerts, one small file each: `official-alerts/<clock>.json`. Older ones stay, so that
//! a run with its clock set back knows what was known then, and no more.

use std::fs;
use std::io;
use std::path::PathBuf;

use chrono::{DateTime, Utc};

use super::atomic::{Staged, make_folder, sweep, sync_folder};
use super::folder::Store;
use crate::series::error::Damage;
use crate::series::{AlertReply, StoreError};

/// Folder below that of the lake.
const FOLDER: &str = "official-alerts";
/// Clock in a file name; sorts by time.
const STAMP: &str = "%Y%m%dT%H%M%SZ";
const ENDING: &str = ".json";

impl Store {
    /// Keeps a reply, whole or not at all. A later reply of the same second takes the place of the former.
    ///
    /// # Errors
    /// [`StoreError::Write`], [`StoreError::Locked`].
    pub fn keep_alerts(&self, reply: &AlertReply) -> Result<(), StoreError> {
        let folder = self.alert_folder();
        let path = folder.join(format!("{}{ENDING}", reply.known_at.format(STAMP)));
        let bytes = serde_json::to_vec(reply).expect("texts, numbers and times always become JSON");
        let _lock = self.lock()?;
        make_folder(&folder)?;
        sweep(&folder);
        Staged::write(&path, &bytes)?.finish()?;
        sync_folder(&folder)
    }

    /// The newest reply known at `as_of`; `None` where there is none.
    ///
    /// # Errors
    /// [`StoreError::Read`]; [`StoreError::Damaged`] for a file that this program did not write: an older
    /// reply does not stand in for it, since it would say less than was known.
    pub fn alerts(&self, as_of: DateTime<Utc>) -> Result<Option<AlertReply>, StoreError> {
        let folder = self.alert_folder();
        let read_error = |path: PathBuf, source| StoreError::Read { path, source };
        let entries = match fs::read_dir(&folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(source) => return Err(read_error(folder, source)),
        };
        let limit = format!("{}{ENDING}", as_of.format(STAMP));
        let mut newest: Option<String> = None;
        for entry in entries {
            let name = entry
                .map_err(|source| read_error(folder.clone(), source))?
                .file_name();
            let Some(name) = name
                .to_str()
                .filter(|n| n.ends_with(ENDING) && n.len() == limit.len())
            else {
                continue;
            };
            if name <= limit.as_str() && newest.as_deref().is_none_or(|held| held < name) {
                newest = Some(name.to_owned());
            }
        }
        let Some(name) = newest else { return Ok(None) };
        let path = folder.join(name);
        let bytes = fs::read(&path).map_err(|source| read_error(path.clone(), source))?;
        serde_json::from_slice(&bytes)
            .map(Some)
            .map_err(|source| StoreError::Damaged {
                path,
                fault: Damage::Notes(source),
            })
    }

    fn alert_folder(&self) -> PathBuf {
        self.folder().join(FOLDER)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn reply(known_at: &str) -> AlertReply {
        AlertReply {
            service: "nws".to_owned(),
            known_at: at(known_at),
            alerts: Vec::new(),
            unread: 0,
        }
    }

    #[test]
    fn a_clock_set_back_finds_what_was_known_then_and_nothing_later() {
        let root = tempfile::tempdir().unwrap();
        let store = Store::open(root.path(), "harrow-gap").unwrap();
        assert_eq!(store.alerts(at("2025-10-09T11:30:00Z")).unwrap(), None);
        store.keep_alerts(&reply("2025-10-08T11:30:00Z")).unwrap();
        store.keep_alerts(&reply("2025-10-09T11:30:00Z")).unwrap();
        let known_at = |clock| store.alerts(at(clock)).unwrap().map(|r| r.known_at);
        assert_eq!(known_at("2025-10-08T11:29:59Z"), None);
        assert_eq!(known_at("2025-10-09T11:29:59Z"), Some(at("2025-10-08T11:30:00Z")));
        assert_eq!(known_at("2025-10-09T11:30:00Z"), Some(at("2025-10-09T11:30:00Z")));
        // Another store of the same folder, as the next run opens it.
        let again = Store::open(root.path(), "harrow-gap").unwrap();
        assert_eq!(
            again.alerts(at("2025-10-10T00:00:00Z")).unwrap(),
            Some(reply("2025-10-09T11:30:00Z"))
        );
    }

    #[test]
    fn a_damaged_reply_is_named_and_no_older_one_stands_in_for_it() {
        let root = tempfile::tempdir().unwrap();
        let store = Store::open(root.path(), "harrow-gap").unwrap();
        store.keep_alerts(&reply("2025-10-08T11:30:00Z")).unwrap();
        let path = store.alert_folder().join("20251009T113000Z.json");
        fs::write(&path, b"{\"service\": \"nw").unwrap();
        let error = store.alerts(at("2025-10-09T12:00:00Z")).unwrap_err();
        assert!(
            matches!(&error, StoreError::Damaged { path: named, .. } if *named == path),
            "{error}"
        );
    }
}
