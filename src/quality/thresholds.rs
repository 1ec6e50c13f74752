//! The thresholds of all tests.

use super::QualityError;

/// Thresholds by quantity and cadence, as read from `config/quality.toml`.
#[derive(Debug, Clone, PartialEq)]
pub struct Thresholds {}

impl Thresholds {
    /// The thresholds of `config/quality.toml` as compiled in.
    pub fn built_in() -> Thresholds {
        Thresholds {}
    }

    /// Thresholds from the text of a file like `config/quality.toml`.
    ///
    /// # Errors
    /// [`QualityError`] naming line and column, what was found, what was wanted.
    pub fn from_toml(_text: &str) -> Result<Thresholds, QualityError> {
        Ok(Thresholds {})
    }
}
