//! One file a brief: `<clock>-<hash>.json`. The same brief made twice is one file; a file is never
//! changed.

use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};
use sha2::{Digest, Sha256};

use super::ArchiveError;

/// Clock in a file name; sorts by time.
const STAMP: &str = "%Y%m%dT%H%M%SZ";

/// The issued briefs of one lake, as JSON.
#[derive(Debug, Clone)]
pub struct IssuedBriefs {
    folder: PathBuf,
}

impl IssuedBriefs {
    /// The archive in folder `folder`, which need not exist yet.
    pub fn new(folder: impl Into<PathBuf>) -> Self {
        IssuedBriefs {
            folder: folder.into(),
        }
    }

    /// Keeps a brief. A brief with the same clock and content is kept once.
    ///
    /// # Errors
    /// [`ArchiveError::Write`] when the folder cannot be written.
    pub fn keep(&self, as_of: DateTime<Utc>, json: &str) -> Result<PathBuf, ArchiveError> {
        let digest = Sha256::digest(json.as_bytes());
        let hash: String = digest.iter().take(6).map(|byte| format!("{byte:02x}")).collect();
        let path = self.folder.join(format!("{}-{hash}.json", as_of.format(STAMP)));
        if path.exists() {
            return Ok(path);
        }
        write_whole(&self.folder, &path, json.as_bytes()).map_err(|source| ArchiveError::Write {
            path: path.clone(),
            source,
        })?;
        Ok(path)
    }

    /// The newest brief whose clock is before `as_of`, as JSON; `None` where there is none.
    ///
    /// # Errors
    /// [`ArchiveError::Read`] when the folder or the file cannot be read.
    pub fn newest_before(&self, as_of: DateTime<Utc>) -> Result<Option<String>, ArchiveError> {
        let entries = match std::fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(source) => {
                return Err(ArchiveError::Read {
                    path: self.folder.clone(),
                    source,
                });
            }
        };
        let limit = as_of.format(STAMP).to_string();
        let mut newest: Option<(String, std::time::SystemTime, PathBuf)> = None;
        for entry in entries {
            let entry = entry.map_err(|source| ArchiveError::Read {
                path: self.folder.clone(),
                source,
            })?;
            let name = entry.file_name().to_string_lossy().into_owned();
            let Some((stamp, rest)) = name.split_once('-') else {
                continue;
            };
            if !rest.ends_with(".json") || stamp >= limit.as_str() {
                continue;
            }
            // Two briefs of one clock (the data changed between): the one written last.
            let written = entry
                .metadata()
                .and_then(|m| m.modified())
                .unwrap_or(std::time::UNIX_EPOCH);
            if newest
                .as_ref()
                .is_none_or(|(s, w, _)| (s.as_str(), *w) < (stamp, written))
            {
                newest = Some((stamp.to_owned(), written, entry.path()));
            }
        }
        let Some((_, _, path)) = newest else {
            return Ok(None);
        };
        std::fs::read_to_string(&path)
            .map(Some)
            .map_err(|source| ArchiveError::Read { path, source })
    }
}

/// Writes a file whole or not at all: temporary file in the same folder, flushed, renamed.
pub(crate) fn write_whole(folder: &Path, path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    use std::io::Write as _;
    std::fs::create_dir_all(folder)?;
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|e| e.error)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeZone as _;

    fn at(day: u32) -> DateTime<Utc> {
        Utc.with_ymd_and_hms(2025, 10, day, 11, 30, 0).unwrap()
    }

    #[test]
    fn the_newest_earlier_brief_is_found_and_a_later_one_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let archive = IssuedBriefs::new(folder.path().join("issued"));
        assert_eq!(archive.newest_before(at(9)).unwrap(), None);
        archive.keep(at(7), "seven").unwrap();
        archive.keep(at(8), "eight").unwrap();
        archive.keep(at(9), "nine").unwrap();
        assert_eq!(archive.newest_before(at(9)).unwrap().as_deref(), Some("eight"));
        assert_eq!(archive.newest_before(at(7)).unwrap(), None);
    }

    #[test]
    fn the_same_brief_is_kept_once_and_another_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let archive = IssuedBriefs::new(folder.path());
        let first = archive.keep(at(9), "a").unwrap();
        assert_eq!(archive.keep(at(9), "a").unwrap(), first);
        assert_ne!(archive.keep(at(9), "b").unwrap(), first);
        assert_eq!(std::fs::read_to_string(first).unwrap(), "a");
    }

    #[test]
    fn a_folder_that_cannot_be_made_is_a_clear_error() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        std::fs::write(&file, "").unwrap();
        let error = IssuedBriefs::new(file.join("issued"))
            .keep(at(9), "a")
            .unwrap_err();
        assert!(matches!(error, ArchiveError::Write { .. }), "{error}");
        assert!(error.to_string().contains("--store"), "{error}");
    }

    #[test]
    fn a_file_where_the_folder_should_be_is_named_with_the_remedy() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("issued");
        std::fs::write(&file, "").unwrap();
        let error = IssuedBriefs::new(&file).newest_before(at(9)).unwrap_err();
        assert!(matches!(error, ArchiveError::Read { .. }), "{error}");
        assert!(error.to_string().contains("move it away"), "{error}");
    }
}
