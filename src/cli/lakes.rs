//! Finding and reading the lake file.

use std::path::{Path, PathBuf};

use etcetera::BaseStrategy as _;

use crate::error::Error;
use crate::lake::{Lake, LakeError, read_known_lake_file};
use crate::sources::service_rules;
use crate::species::builtin_ids;

/// Reads a lake file, checked against the services and the species that the program has.
///
/// # Errors
/// [`LakeError`].
pub fn read(file: &Path) -> Result<Lake, LakeError> {
    let species: Vec<&str> = builtin_ids().collect();
    read_known_lake_file(file, &service_rules(), &species)
}

/// The lake file that `--lake` names: a path, or a name in the configuration folder; without it, the
/// only file there.
///
/// # Errors
/// [`Error::NoLake`], saying where was looked and what is there.
pub fn lake_file(named: Option<&str>) -> Result<PathBuf, Error> {
    let folder = lakes_folder();
    if let Some(named) = named {
        let path = PathBuf::from(named);
        let is_name = !named.contains(['/', '\\', '.']);
        return match (&folder, is_name && !path.exists()) {
            (Some(folder), true) => {
                let inside = folder.join(format!("{named}.toml"));
                if inside.exists() {
                    Ok(inside)
                } else {
                    Err(no_lake(Some(named), Some(folder)))
                }
            }
            (None, true) => Err(no_lake(Some(named), None)),
            (_, false) => Ok(path),
        };
    }
    let found = folder.as_deref().map(lake_files).unwrap_or_default();
    match found.as_slice() {
        [only] => Ok(only.clone()),
        _ => Err(no_lake(None, folder.as_deref())),
    }
}

/// Every lake file of the configuration folder, by path.
///
/// # Errors
/// [`Error::NoLake`] where there is none.
pub fn all_names() -> Result<Vec<String>, Error> {
    let folder = lakes_folder();
    let found = folder.as_deref().map(lake_files).unwrap_or_default();
    if found.is_empty() {
        return Err(no_lake(None, folder.as_deref()));
    }
    Ok(found
        .iter()
        .map(|path| path.to_string_lossy().into_owned())
        .collect())
}

fn lakes_folder() -> Option<PathBuf> {
    etcetera::choose_base_strategy()
        .ok()
        .map(|base| base.config_dir().join("plungeline").join("lakes"))
}

fn lake_files(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut files: Vec<PathBuf> = entries
        .filter_map(|entry| entry.ok().map(|e| e.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    files
}

fn no_lake(named: Option<&str>, folder: Option<&Path>) -> Error {
    let there = folder
        .map(lake_files)
        .unwrap_or_default()
        .iter()
        .filter_map(|path| path.file_stem().map(|s| s.to_string_lossy().into_owned()))
        .collect();
    Error::NoLake {
        named: named.map(str::to_owned),
        folder: folder.map(Path::to_owned),
        there,
    }
}
