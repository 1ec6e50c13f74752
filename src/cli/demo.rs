//! The demonstration lake: its file and its recorded replies travel inside the program, and are laid
//! out in the cache folder when asked for.

use std::path::{Path, PathBuf};

use include_dir::{Dir, DirEntry, include_dir};
use sha2::{Digest as _, Sha256};

use crate::error::Error;
use crate::lake::Lake;
use crate::series::store::demo_root;

/// Replies of the services, invented (fixtures/demo/README.md).
static REPLIES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/fixtures/demo");
/// The lake file.
const LAKE_FILE: &str = include_str!("../../config/lakes/harrow-gap.toml");
/// The replies below the folder of the layout.
const DEMO_REPLIES: &str = "fixtures/demo";
/// The morning of `--demo` without `--as-of`.
pub const DEFAULT_MORNING: &str = "2025-10-09";

/// Where the demonstration lies on disk. The layout is that of the repository, so that the lake file's
/// relative paths hold.
#[derive(Debug, Clone)]
pub struct Demo {
    /// The lake file.
    pub lake_file: PathBuf,
    /// The folder of replies.
    pub replay: PathBuf,
    /// Folder that holds one store a clock.
    pub stores: PathBuf,
}

/// Lays the demonstration out in the cache folder, or finds it there.
///
/// # Errors
/// [`Error::Demo`] when the folder cannot be written, [`Error::Store`] when there is no cache folder.
pub fn lay_out(store: Option<&Path>, replay: Option<&Path>) -> Result<Demo, Error> {
    let root = demo_root(None)?.join(fingerprint());
    let own_stores = match replay {
        // What one folder of replies brought must not stand in for what another one lacks.
        Some(replay) => root.join("stores-of").join(folder_fingerprint(replay)),
        None => root.join("stores"),
    };
    let own_replay = root.join(DEMO_REPLIES);
    let demo = Demo {
        lake_file: root.join("config/lakes/harrow-gap.toml"),
        replay: own_replay.clone(),
        stores: store.map_or(own_stores, Path::to_owned),
    };
    let done = root.join("complete");
    if !done.exists() {
        let write = |path: &Path, bytes: &[u8]| {
            write(path, bytes).map_err(|source| Error::Demo {
                path: path.to_owned(),
                source,
            })
        };
        write(&demo.lake_file, LAKE_FILE.as_bytes())?;
        for file in files(&REPLIES) {
            write(&own_replay.join(file.path()), file.contents())?;
        }
        // Written last: a run that was cut off before starts again.
        write(&done, b"")?;
    }
    Ok(Demo {
        replay: replay.map_or(own_replay, Path::to_owned),
        ..demo
    })
}

/// The lake with its local tables in `replay` instead of the demonstration's own folder.
pub fn with_tables_of(mut lake: Lake, replay: &Path) -> Lake {
    let own = Path::new("../..").join(DEMO_REPLIES);
    let folder = std::path::absolute(replay).unwrap_or_else(|_| replay.to_owned());
    for csv in lake.series.iter_mut().filter_map(|series| series.csv.as_mut()) {
        if let Ok(inside) = Path::new(&csv.path).strip_prefix(&own) {
            csv.path = folder.join(inside);
        }
    }
    lake
}

/// Name of the stores of a folder of replies: a hash of where it is and of which files it has, of what length.
fn folder_fingerprint(folder: &Path) -> String {
    let mut hash = Sha256::new();
    let place = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
    hash.update(place.to_string_lossy().as_bytes());
    let mut left = vec![folder.to_owned()];
    let mut found: Vec<(String, u64)> = Vec::new();
    while let Some(folder) = left.pop() {
        // A folder that cannot be read is told of by the replay itself.
        let Ok(entries) = std::fs::read_dir(&folder) else {
            continue;
        };
        for path in entries.flatten().map(|entry| entry.path()) {
            match std::fs::metadata(&path) {
                Ok(of) if of.is_dir() => left.push(path),
                Ok(of) => found.push((path.to_string_lossy().into_owned(), of.len())),
                Err(_) => {}
            }
        }
    }
    found.sort();
    for (name, length) in found {
        hash.update(name);
        hash.update(length.to_le_bytes());
    }
    in_hexadecimal(hash)
}

fn in_hexadecimal(hash: Sha256) -> String {
    let bytes = hash.finalize();
    bytes.iter().take(8).map(|byte| format!("{byte:02x}")).collect()
}

fn files<'a>(dir: &'a Dir<'a>) -> Vec<&'a include_dir::File<'a>> {
    let mut found = Vec::new();
    for entry in dir.entries() {
        match entry {
            DirEntry::Dir(inner) => found.extend(files(inner)),
            DirEntry::File(file) => found.push(file),
        }
    }
    found
}

/// Hash of everything laid out, so that another version of the data has another folder.
fn fingerprint() -> String {
    let mut hash = Sha256::new();
    hash.update(env!("CARGO_PKG_VERSION"));
    hash.update(LAKE_FILE);
    for file in files(&REPLIES) {
        hash.update(file.path().to_string_lossy().as_bytes());
        hash.update(file.contents());
    }
    in_hexadecimal(hash)
}

fn write(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)?;
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        std::io::Write::write_all(&mut file, bytes)?;
        file.persist(path).map_err(|e| e.error)?;
    }
    Ok(())
}
