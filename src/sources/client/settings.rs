//! What a client is set up with.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Endpoints, Patience, ValidatorStore};
use crate::lake::Lake;
use crate::sources::registry::SERVICES;

/// Which host takes a key, in which header, and which environment variable holds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeyRule {
    /// The only host it is sent to.
    pub host: &'static str,
    /// Header.
    pub header: &'static str,
    /// Environment variable.
    pub variable: &'static str,
}

/// A key. It is not printed by `Debug`.
#[derive(Clone, PartialEq, Eq)]
pub struct Key {
    /// Where it goes.
    pub rule: KeyRule,
    /// Its text.
    pub secret: String,
}

impl std::fmt::Debug for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Key")
            .field("rule", &self.rule)
            .finish_non_exhaustive()
    }
}

/// What a client is set up with.
#[derive(Clone)]
pub struct Settings {
    /// Contact for the User-Agent.
    pub contact: Option<String>,
    /// Timeouts and retries.
    pub patience: Patience,
    /// Most bytes of a reply, unpacked.
    pub reply_cap_bytes: usize,
    /// Most requests at once.
    pub at_once: usize,
    /// Most requests at once to one service.
    pub at_once_per_service: usize,
    /// Keys.
    pub keys: Vec<Key>,
    /// Validators of earlier replies.
    pub validators: Option<Arc<dyn ValidatorStore>>,
    /// Base addresses; a replay has its own.
    pub endpoints: Endpoints,
    /// Folder that relative paths of CSV files start from: that of the lake file.
    pub files_from: PathBuf,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            contact: None,
            patience: Patience::default(),
            reply_cap_bytes: 64 * 1024 * 1024,
            // Common practice, no source: few enough to be a polite guest.
            at_once: 8,
            at_once_per_service: 3,
            keys: Vec::new(),
            validators: None,
            endpoints: Endpoints::live(),
            files_from: PathBuf::from("."),
        }
    }
}

impl Settings {
    /// The defaults, with the contact of a lake and the folder of its file.
    pub fn for_lake(lake: &Lake, lake_file: &Path) -> Self {
        let folder = lake_file.parent().unwrap_or(Path::new(".")).to_owned();
        Settings {
            contact: lake.contact.clone(),
            files_from: folder,
            ..Settings::default()
        }
    }

    /// With the keys that `variable` finds, such as `|name| std::env::var(name).ok()`.
    pub fn with_keys(mut self, variable: impl Fn(&str) -> Option<String>) -> Self {
        let rules = SERVICES.iter().filter_map(|service| service.key);
        let found = |rule: KeyRule| {
            let secret = variable(rule.variable)?.trim().to_owned();
            (!secret.is_empty()).then_some(Key { rule, secret })
        };
        self.keys = rules.filter_map(found).collect();
        self
    }

    /// `plungeline/0.1.0 (+contact)`, without what a header cannot hold.
    pub(super) fn user_agent(&self) -> String {
        let program = concat!("plungeline/", env!("CARGO_PKG_VERSION"));
        let contact = self.contact.as_deref().unwrap_or_default();
        let contact: String = contact
            .chars()
            .filter(|c| c.is_ascii_graphic() && !matches!(c, '(' | ')'))
            .collect();
        if contact.is_empty() {
            program.to_owned()
        } else {
            format!("{program} (+{contact})")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_user_agent_names_program_and_contact() {
        let agent = |contact: Option<&str>| {
            Settings {
                contact: contact.map(str::to_owned),
                ..Settings::default()
            }
            .user_agent()
        };
        let program = concat!("plungeline/", env!("CARGO_PKG_VERSION"));
        assert_eq!(
            agent(Some("angler@example.org")),
            format!("{program} (+angler@example.org)")
        );
        assert_eq!(agent(None), program);
        assert_eq!(agent(Some("a\r\nX-Evil: 1")), format!("{program} (+aX-Evil:1)"));
    }

    #[test]
    fn a_key_is_found_and_not_shown() {
        let settings = Settings::default()
            .with_keys(|name| (name == "PLUNGELINE_USGS_KEY").then(|| " hush ".to_owned()));
        assert_eq!(settings.keys.len(), 1);
        assert_eq!(settings.keys[0].secret, "hush");
        assert!(!format!("{:?}", settings.keys).contains("hush"));
    }
}
