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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_that_nobody_knows_is_answered_with_those_that_are_known() {
        let folder = tempfile::tempdir().unwrap();
        for error in [
            builtin("bull-shark").unwrap_err(),
            load("bull-shark", Some(folder.path())).unwrap_err(),
        ] {
            assert!(matches!(error, SpeciesError::Unknown { .. }), "{error}");
            assert!(error.to_string().contains("rainbow-trout"), "{error}");
        }
    }

    #[test]
    fn a_file_of_ones_own_that_cannot_be_read_is_not_passed_over_for_the_built_in_one() {
        let folder = tempfile::tempdir().unwrap();
        // Tests may run as root, whom no rights hold back: a folder cannot be read as text.
        std::fs::create_dir(folder.path().join("rainbow-trout.toml")).unwrap();
        let error = load("rainbow-trout", Some(folder.path())).unwrap_err();
        assert!(matches!(error, SpeciesError::Read { .. }), "{error}");
        assert!(error.to_string().contains("rainbow-trout.toml"), "{error}");
    }
}
