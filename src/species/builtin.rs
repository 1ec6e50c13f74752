//! The species files that the program carries.

use super::{Species, SpeciesError, read_species};

const BUILTIN: [(&str, &str); 11] = [
    (
        "brown-trout",
        include_str!("../../config/species/brown-trout.toml"),
    ),
    (
        "channel-catfish",
        include_str!("../../config/species/channel-catfish.toml"),
    ),
    ("kokanee", include_str!("../../config/species/kokanee.toml")),
    ("lake-trout", include_str!("../../config/species/lake-trout.toml")),
    (
        "landlocked-chinook",
        include_str!("../../config/species/landlocked-chinook.toml"),
    ),
    (
        "largemouth-bass",
        include_str!("../../config/species/largemouth-bass.toml"),
    ),
    ("pond-smelt", include_str!("../../config/species/pond-smelt.toml")),
    (
        "rainbow-trout",
        include_str!("../../config/species/rainbow-trout.toml"),
    ),
    (
        "smallmouth-bass",
        include_str!("../../config/species/smallmouth-bass.toml"),
    ),
    (
        "spotted-bass",
        include_str!("../../config/species/spotted-bass.toml"),
    ),
    (
        "threadfin-shad",
        include_str!("../../config/species/threadfin-shad.toml"),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_that_nobody_knows_is_answered_with_those_that_are_known() {
        let error = builtin("bull-shark").unwrap_err();
        assert!(matches!(error, SpeciesError::Unknown { .. }), "{error}");
        assert!(error.to_string().contains("rainbow-trout"), "{error}");
    }
}
