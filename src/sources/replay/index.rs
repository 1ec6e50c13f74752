//! `index.json`: which request each recorded body answers, and when it was known.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::window::{WINDOW_PARAMETERS, Window, overlap_s};
use crate::sources::error::{ReplayError, SourceError};

/// The format's name.
pub const FORMAT: &str = "plungeline-replay-1";

/// The index of a replay folder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Index {
    /// [`FORMAT`].
    pub format: String,
    /// For people.
    #[serde(default)]
    pub note: String,
    /// Recorded replies.
    pub entries: Vec<Entry>,
}

/// One recorded reply.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Service.
    pub service: String,
    /// Host that was asked.
    pub host: String,
    /// Path.
    pub path: String,
    /// Parameters, those of the window left out.
    pub query: BTreeMap<String, String>,
    /// Window; `None` fits any.
    pub window: Option<Window>,
    /// Clock from which it was known; `None`: always.
    pub known_from: Option<DateTime<Utc>>,
    /// Clock at which it was known no longer; `None`: still.
    pub known_until: Option<DateTime<Utc>>,
    /// Status.
    pub status: u16,
    /// Headers.
    #[serde(default)]
    pub headers: BTreeMap<String, String>,
    /// File of the body in the folder; one that ends in `.gz` is sent as it is, marked as gzip.
    pub body: String,
}

impl Index {
    /// An index without entries.
    pub fn empty() -> Self {
        Index {
            format: FORMAT.to_owned(),
            note: "Replies of public services, recorded by plungeline; the services' own terms apply."
                .to_owned(),
            entries: Vec::new(),
        }
    }

    /// Reads `index.json` of a folder and checks what serving it relies on.
    ///
    /// # Errors
    /// [`SourceError::Replay`].
    pub fn read(folder: &Path) -> Result<Index, SourceError> {
        let path = folder.join("index.json");
        let bytes = std::fs::read(&path).map_err(|source| SourceError::Replay {
            folder: folder.to_owned(),
            fault: ReplayError::Io {
                doing: "read",
                path: path.clone(),
                source,
            },
        })?;
        Index::from_bytes(&bytes, folder)
    }

    /// The index that `bytes` hold, with what serving it relies on checked; `folder` names it in messages.
    ///
    /// # Errors
    /// [`SourceError::Replay`].
    pub fn from_bytes(bytes: &[u8], folder: &Path) -> Result<Index, SourceError> {
        let replay_error = |fault| SourceError::Replay {
            folder: folder.to_owned(),
            fault,
        };
        let mut reader = serde_json::Deserializer::from_slice(bytes);
        let index: Index = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
            replay_error(ReplayError::Index {
                path: error.path().to_string(),
                source: error.into_inner(),
            })
        })?;
        index.checked().map_err(replay_error)
    }

    fn checked(self) -> Result<Index, ReplayError> {
        if self.format != FORMAT {
            return Err(ReplayError::Format {
                found: self.format,
                wanted: FORMAT,
            });
        }
        for (k, entry) in self.entries.iter().enumerate() {
            let fault = |field, found: &str, wanted| ReplayError::Entry {
                entry: k,
                field,
                found: found.to_owned(),
                wanted,
            };
            if let Some(window) = entry.window.as_ref().filter(|w| w.span().is_none()) {
                return Err(fault(
                    "window",
                    &format!("{}/{}", window.from, window.to),
                    "days or RFC 3339 instants",
                ));
            }
            let body = Path::new(&entry.body);
            let inside = body
                .components()
                .all(|part| matches!(part, std::path::Component::Normal(_)));
            if entry.body.is_empty() || !inside {
                return Err(fault("body", &entry.body, "a path inside the folder"));
            }
            if !(200..=599).contains(&entry.status) {
                return Err(fault(
                    "status",
                    &entry.status.to_string(),
                    "an HTTP status from 200 to 599",
                ));
            }
        }
        Ok(self)
    }

    /// The entry that answers a request at clock `as_of`: host, path and parameters equal, windows
    /// that meet, known then. Of several, the one known last, then the one that shares most of the window.
    pub fn find(
        &self,
        host: &str,
        path: &str,
        query: &[(String, String)],
        as_of: DateTime<Utc>,
    ) -> Option<&Entry> {
        let asked = plain_query(query);
        let window = Window::of_query(query).and_then(|w| w.span());
        let shared_s = |entry: &Entry| match (window, entry.window.as_ref().and_then(Window::span)) {
            (Some(asked), Some(held)) => overlap_s(asked, held),
            _ => Some(0),
        };
        let known = |entry: &Entry| {
            entry.known_from.is_none_or(|from| from <= as_of)
                && entry.known_until.is_none_or(|until| as_of < until)
        };
        self.entries
            .iter()
            .filter(|e| e.host == host && e.path == path && known(e) && same_query(&e.query, &asked))
            .filter_map(|entry| Some((entry, shared_s(entry)?)))
            .max_by_key(|(entry, shared_s)| (entry.known_from, *shared_s))
            .map(|(entry, _)| entry)
    }
}

/// Parameters of a request as an index keeps them: those of the window left out.
pub(super) fn plain_query(query: &[(String, String)]) -> BTreeMap<String, String> {
    query
        .iter()
        .filter(|(key, _)| !WINDOW_PARAMETERS.contains(&key.as_str()))
        .cloned()
        .collect()
}

/// Equal parameters; the order of a list with commas does not count.
fn same_query(held: &BTreeMap<String, String>, asked: &BTreeMap<String, String>) -> bool {
    let sorted = |list: &str| {
        let mut parts: Vec<String> = list.split(',').map(str::to_owned).collect();
        parts.sort();
        parts
    };
    held.len() == asked.len()
        && held
            .iter()
            .zip(asked)
            .all(|((k, v), (k2, v2))| k == k2 && (v == v2 || sorted(v) == sorted(v2)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().with_timezone(&Utc)
    }

    fn entry(body: &str, known: Option<(&str, &str)>, window: Option<(&str, &str)>) -> Entry {
        Entry {
            service: "s".into(),
            host: "h".into(),
            path: "/p".into(),
            query: BTreeMap::from([("hourly".into(), "a,b".into())]),
            window: window.map(|(from, to)| Window {
                from: from.into(),
                to: to.into(),
            }),
            known_from: known.map(|(from, _)| at(from)),
            known_until: known.map(|(_, until)| at(until)),
            status: 200,
            headers: BTreeMap::new(),
            body: body.into(),
        }
    }

    fn query(window: &str) -> Vec<(String, String)> {
        [("hourly", "b,a"), ("time", window), ("limit", "10")]
            .map(|(k, v)| (k.to_owned(), v.to_owned()))
            .to_vec()
    }

    #[test]
    fn the_entry_known_last_wins_at_its_hour_and_only_then() {
        let morning = Some(("2025-10-09T11:30:00Z", "2025-10-09T12:30:00Z"));
        let year = Some(("2025-01-01", "2025-12-31"));
        let index = Index {
            entries: vec![entry("base", None, year), entry("morning", morning, year)],
            ..Index::empty()
        };
        let found = |clock: &str| {
            index
                .find("h", "/p", &query("2025-08-01/2025-10-09"), at(clock))
                .map(|e| e.body.as_str())
        };
        assert_eq!(found("2025-10-09T11:30:00Z"), Some("morning"));
        assert_eq!(found("2025-10-09T12:29:59Z"), Some("morning"));
        assert_eq!(found("2025-10-09T12:30:00Z"), Some("base"));
        assert_eq!(found("2025-10-09T11:29:59Z"), Some("base"));
        assert_eq!(
            index.find(
                "h",
                "/p",
                &query("2024-01-01/2024-12-31"),
                at("2025-10-09T11:30:00Z")
            ),
            None
        );
        assert_eq!(
            index.find(
                "h",
                "/q",
                &query("2025-08-01/2025-10-09"),
                at("2025-10-09T11:30:00Z")
            ),
            None
        );
    }

    #[test]
    fn of_two_windows_the_one_that_shares_more_wins() {
        let index = Index {
            entries: vec![
                entry("old", None, Some(("2024-01-01", "2024-12-31"))),
                entry("new", None, Some(("2025-01-01", "2025-12-31"))),
            ],
            ..Index::empty()
        };
        let found = index.find(
            "h",
            "/p",
            &query("2024-12-20/2025-03-01"),
            at("2025-10-09T11:30:00Z"),
        );
        assert_eq!(found.map(|e| e.body.as_str()), Some("new"));
    }

    #[test]
    fn a_body_outside_the_folder_is_refused() {
        for body in ["../../etc/passwd", "/etc/passwd", ""] {
            let index = Index {
                entries: vec![entry(body, None, None)],
                ..Index::empty()
            };
            assert!(
                matches!(index.checked(), Err(ReplayError::Entry { field: "body", .. })),
                "{body}"
            );
        }
    }

    #[test]
    fn another_format_is_refused() {
        let index = Index {
            format: "other-2".into(),
            ..Index::empty()
        };
        assert!(matches!(index.checked(), Err(ReplayError::Format { .. })));
    }
}
