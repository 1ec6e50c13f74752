//! One file for what was issued once, a brief, a call or a fit: `<clock>-<hash>.json`. The same content made twice is one file; a
//! file is never changed.

use std::path::{Path, PathBuf};

use chrono::{DateTime, NaiveDateTime, Utc};
use sha2::{Digest, Sha256};

use super::ArchiveError;

/// Clock in a file name; sorts by time.
const STAMP: &str = "%Y%m%dT%H%M%SZ";

/// A file, and its JSON or why it cannot be read.
pub type IssuedFile = (PathBuf, Result<String, ArchiveError>);

/// What was issued for one lake, as JSON: its briefs, its calls, or its fits.
#[derive(Debug, Clone)]
pub struct Issued {
    folder: PathBuf,
}

impl Issued {
    /// The archive in folder `folder`, which need not exist yet.
    pub fn new(folder: impl Into<PathBuf>) -> Self {
        Issued {
            folder: folder.into(),
        }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Keeps one. The same clock and content are kept once.
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

    /// The newest whose clock is before `as_of`, as JSON; `None` where there is none.
    ///
    /// # Errors
    /// [`ArchiveError::Read`] when the folder or the file cannot be read.
    pub fn newest_before(&self, as_of: DateTime<Utc>) -> Result<Option<String>, ArchiveError> {
        self.newest(|stamp| stamp < as_of.format(STAMP).to_string().as_str())
    }

    /// As [`Issued::newest_before`], with that of the clock `as_of` itself among them.
    ///
    /// # Errors
    /// As [`Issued::newest_before`].
    pub fn newest_until(&self, as_of: DateTime<Utc>) -> Result<Option<String>, ArchiveError> {
        self.newest(|stamp| stamp <= as_of.format(STAMP).to_string().as_str())
    }

    /// All of them as JSON, in the order of their clocks, with their files. A file that cannot be read is an error in its place.
    ///
    /// # Errors
    /// [`ArchiveError::Read`] when the folder cannot be read.
    pub fn all(&self) -> Result<Vec<IssuedFile>, ArchiveError> {
        let mut files = self.files()?;
        files.sort();
        let read = |(_, _, path): (String, std::time::SystemTime, PathBuf)| {
            let text = read(&path);
            (path, text)
        };
        Ok(files.into_iter().map(read).collect())
    }

    /// Names of the files, in the order of their clocks.
    ///
    /// # Errors
    /// As [`Issued::all`].
    pub fn names(&self) -> Result<Vec<String>, ArchiveError> {
        let files = self.files()?.into_iter();
        let name = |path: &Path| Some(path.file_name()?.to_string_lossy().into_owned());
        let mut names: Vec<String> = files.filter_map(|(_, _, path)| name(&path)).collect();
        names.sort();
        Ok(names)
    }

    /// The newest clock; `None` where there is nothing.
    ///
    /// # Errors
    /// As [`Issued::newest_before`].
    pub fn newest_clock(&self) -> Result<Option<DateTime<Utc>>, ArchiveError> {
        let stamps = self.files()?.into_iter().map(|(stamp, _, _)| stamp);
        let clocks = stamps.filter_map(|stamp| NaiveDateTime::parse_from_str(&stamp, STAMP).ok());
        Ok(clocks.max().map(|clock| clock.and_utc()))
    }

    /// Of several of one clock (the data changed between) the one written last.
    fn newest(&self, counts: impl Fn(&str) -> bool) -> Result<Option<String>, ArchiveError> {
        let files = self.files()?.into_iter().filter(|(stamp, _, _)| counts(stamp));
        let newest = files.max_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
        newest.map(|(_, _, path)| read(&path)).transpose()
    }

    /// Clock, time of writing and path of every file.
    fn files(&self) -> Result<Vec<(String, std::time::SystemTime, PathBuf)>, ArchiveError> {
        let refused = |source| ArchiveError::Read {
            path: self.folder.clone(),
            source,
        };
        let entries = match std::fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(source) => return Err(refused(source)),
        };
        let mut files = Vec::new();
        for entry in entries {
            let entry = entry.map_err(refused)?;
            let name = entry.file_name().to_string_lossy().into_owned();
            let Some((stamp, rest)) = name.split_once('-') else {
                continue;
            };
            if !rest.ends_with(".json") {
                continue;
            }
            let written = entry
                .metadata()
                .and_then(|m| m.modified())
                .unwrap_or(std::time::UNIX_EPOCH);
            files.push((stamp.to_owned(), written, entry.path()));
        }
        Ok(files)
    }
}

fn read(path: &Path) -> Result<String, ArchiveError> {
    std::fs::read_to_string(path).map_err(|source| ArchiveError::Read {
        path: path.to_owned(),
        source,
    })
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
        let archive = Issued::new(folder.path().join("issued"));
        assert_eq!(archive.newest_before(at(9)).unwrap(), None);
        archive.keep(at(7), "seven").unwrap();
        archive.keep(at(8), "eight").unwrap();
        archive.keep(at(9), "nine").unwrap();
        assert_eq!(archive.newest_before(at(9)).unwrap().as_deref(), Some("eight"));
        assert_eq!(archive.newest_before(at(7)).unwrap(), None);
        assert_eq!(archive.newest_until(at(8)).unwrap().as_deref(), Some("eight"));
        let all: Vec<String> = (archive.all().unwrap().into_iter())
            .map(|(_, text)| text.unwrap())
            .collect();
        assert_eq!(all, ["seven", "eight", "nine"]);
        assert_eq!(archive.newest_clock().unwrap(), Some(at(9)));
    }

    #[test]
    fn the_same_brief_is_kept_once_and_another_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let archive = Issued::new(folder.path());
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
        let error = Issued::new(file.join("issued")).keep(at(9), "a").unwrap_err();
        assert!(matches!(error, ArchiveError::Write { .. }), "{error}");
        assert!(error.to_string().contains("--store"), "{error}");
    }

    #[test]
    fn a_file_where_the_folder_should_be_is_named_with_the_remedy() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("issued");
        std::fs::write(&file, "").unwrap();
        let error = Issued::new(&file).newest_before(at(9)).unwrap_err();
        assert!(matches!(error, ArchiveError::Read { .. }), "{error}");
        assert!(error.to_string().contains("move it away"), "{error}");
    }
}
