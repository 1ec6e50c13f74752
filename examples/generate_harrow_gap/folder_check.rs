//! Writes the folder, or compares it with what would be written.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use super::publish::File;

/// Not made by the generator, yet part of the folder.
const BY_HAND: [&str; 1] = ["README.md"];

/// Writes all files and removes those of an earlier run that are no longer made.
pub fn write(folder: &Path, files: &[File]) -> Result<String, String> {
    for stale in strangers(folder, files)? {
        fs::remove_file(folder.join(&stale)).map_err(|error| format!("cannot remove {stale}: {error}"))?;
    }
    for file in files {
        let path = folder.join(&file.path);
        let parent = path.parent().unwrap_or(folder);
        fs::create_dir_all(parent).map_err(|error| format!("cannot make {}: {error}", parent.display()))?;
        fs::write(&path, &file.bytes).map_err(|error| format!("cannot write {}: {error}", path.display()))?;
    }
    Ok(format!("{} files, {} bytes", files.len(), size(files)))
}

/// Compares byte for byte.
pub fn check(folder: &Path, files: &[File]) -> Result<String, String> {
    let mut differing: Vec<String> = files
        .iter()
        .filter(|file| fs::read(folder.join(&file.path)).ok().as_deref() != Some(file.bytes.as_slice()))
        .map(|file| format!("{} is missing or differs", file.path))
        .collect();
    differing.extend(
        strangers(folder, files)?
            .into_iter()
            .map(|path| format!("{path} is not made any more")),
    );
    if differing.is_empty() {
        Ok(format!("{} files, {} bytes, all equal", files.len(), size(files)))
    } else {
        Err(differing.join("\n"))
    }
}

fn size(files: &[File]) -> usize {
    files.iter().map(|file| file.bytes.len()).sum()
}

/// Files of the folder that are not among `files`.
fn strangers(folder: &Path, files: &[File]) -> Result<Vec<String>, String> {
    let known: BTreeSet<&str> = files
        .iter()
        .map(|file| file.path.as_str())
        .chain(BY_HAND)
        .collect();
    let mut found = Vec::new();
    let mut waiting = vec![folder.to_path_buf()];
    while let Some(place) = waiting.pop() {
        let Ok(entries) = fs::read_dir(&place) else {
            continue;
        };
        for entry in entries {
            let path = entry
                .map_err(|error| format!("cannot list {}: {error}", place.display()))?
                .path();
            if path.is_dir() {
                waiting.push(path);
            } else if let Ok(relative) = path.strip_prefix(folder) {
                let name = relative.to_string_lossy().replace('\\', "/");
                if !known.contains(name.as_str()) {
                    found.push(name);
                }
            }
        }
    }
    found.sort();
    Ok(found)
}
