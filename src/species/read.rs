//! Reading a species file.

use super::{Species, SpeciesError};

/// The species of a file's text.
///
/// # Errors
/// [`SpeciesError::Faulty`] with every fault of the file.
pub fn read_species(text: &str, id: &str, file: &str) -> Result<Species, SpeciesError> {
    let _ = (text, id, file);
    todo!()
}
