//! The species files that the program carries, and a folder that overrides them.

use std::path::Path;

use super::{Species, SpeciesError, read_species};

const BUILTIN: [(&str, &str); 2] = [
    (
        "landlocked-chinook",
        include_str!("../../config/species/landlocked-chinook.toml"),
    ),
    (
        "rainbow-trout",
        include_str!("../../config/species/rainbow-trout.toml"),
    ),
];

/// Ids of the species that the program carries.
pub fn builtin_ids() -> impl Iterator<Item = &'static str> {
    BUILTIN.iter().map(|(id, _)| *id)
}

/// The species `id` as the program carries it.
///
/// # Errors
/// [`SpeciesError::Unknown`] for any other id.
pub fn builtin(id: &str) -> Result<Species, SpeciesError> {
    let (_, text) = BUILTIN
        .iter()
        .find(|(known, _)| *known == id)
        .ok_or_else(|| SpeciesError::Unknown {
            id: id.to_owned(),
            known: builtin_ids().collect::<Vec<_>>().join(", "),
        })?;
    read_species(text, id, &format!("config/species/{id}.toml"))
}

/// The species `id` from `folder/<id>.toml` where that file exists, otherwise as the program carries it.
///
/// # Errors
/// [`SpeciesError::Read`] where the file exists but cannot be read, [`SpeciesError::Faulty`] with all
/// its faults, [`SpeciesError::Unknown`] where there is neither.
pub fn load(id: &str, folder: Option<&Path>) -> Result<Species, SpeciesError> {
    let Some(folder) = folder else { return builtin(id) };
    let path = folder.join(format!("{id}.toml"));
    match std::fs::read_to_string(&path) {
        Ok(text) => read_species(&text, id, &path.display().to_string()),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => builtin(id),
        Err(source) => Err(SpeciesError::Read { path, source }),
    }
}
