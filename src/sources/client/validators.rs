//! ETag and Last-Modified of earlier replies, so that an unchanged one need not come again.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use serde::{Deserialize, Serialize};

/// What a service said to recognise a reply by.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Validators {
    /// `ETag`.
    pub etag: Option<String>,
    /// `Last-Modified`.
    pub last_modified: Option<String>,
}

impl Validators {
    /// Whether there is nothing to ask with.
    pub fn is_empty(&self) -> bool {
        self.etag.is_none() && self.last_modified.is_none()
    }
}

/// Where validators are kept between runs. They belong beside the store that holds the records they
/// speak of: a validator without its records would keep those records out for ever.
pub trait ValidatorStore: Send + Sync {
    /// Validators of the last reply for an address.
    fn get(&self, url: &str) -> Option<Validators>;
    /// Keeps validators for an address.
    fn put(&self, url: &str, validators: Validators);
}

/// Validators in one JSON file, written atomically. A file that cannot be read or written costs only a
/// full fetch, so neither is an error; both are logged.
#[derive(Debug)]
pub struct FileValidators {
    path: PathBuf,
    known: Mutex<BTreeMap<String, Validators>>,
}

impl FileValidators {
    /// The validators in `path`; none where it does not exist or cannot be read.
    pub fn open(path: impl Into<PathBuf>) -> Self {
        let path = path.into();
        let known = match std::fs::read(&path) {
            Ok(bytes) => serde_json::from_slice(&bytes).unwrap_or_else(|error| {
                tracing::warn!(path = %path.display(), %error, "validators cannot be read; everything is fetched again");
                BTreeMap::new()
            }),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => BTreeMap::new(),
            Err(error) => {
                tracing::warn!(path = %path.display(), %error, "validators cannot be read; everything is fetched again");
                BTreeMap::new()
            }
        };
        FileValidators {
            path,
            known: Mutex::new(known),
        }
    }
}

impl ValidatorStore for FileValidators {
    fn get(&self, url: &str) -> Option<Validators> {
        self.known.lock().ok()?.get(url).cloned()
    }

    fn put(&self, url: &str, validators: Validators) {
        let Ok(mut known) = self.known.lock() else { return };
        known.insert(url.to_owned(), validators);
        if let Err(error) = write_atomically(&self.path, &known) {
            tracing::warn!(path = %self.path.display(), %error, "validators cannot be kept; the next run fetches again");
        }
    }
}

fn write_atomically(path: &Path, known: &BTreeMap<String, Validators>) -> std::io::Result<()> {
    let folder = path
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    serde_json::to_writer(&mut file, known)?;
    file.flush()?;
    file.as_file().sync_all()?;
    file.persist(path)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn validators_outlive_the_program() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("validators.json");
        let validators = Validators {
            etag: Some("\"a\"".into()),
            last_modified: None,
        };
        FileValidators::open(&path).put("https://h/p", validators.clone());
        assert_eq!(FileValidators::open(&path).get("https://h/p"), Some(validators));
        assert_eq!(FileValidators::open(&path).get("https://h/q"), None);
    }

    #[test]
    fn a_damaged_file_only_costs_a_fetch() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("validators.json");
        std::fs::write(&path, b"{\"https://h/p\": {\"et").unwrap();
        assert_eq!(FileValidators::open(&path).get("https://h/p"), None);
    }
}
