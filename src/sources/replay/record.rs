//! Adds replies to a replay folder: the body first, then the index, each by rename, so that a stopped
//! run leaves a folder that can be read.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use chrono::{DateTime, Utc};
use reqwest::header::HeaderMap;
use sha2::{Digest, Sha256};

use super::index::{Entry, Index, plain_query};
use super::server::is_kept_header;
use super::window::Window;
use crate::sources::client::Request;
use crate::sources::error::{ReplayError, SourceError};

/// One request and its reply.
pub struct Exchange<'a> {
    /// Request.
    pub request: Request<'a>,
    /// Status.
    pub status: u16,
    /// Headers.
    pub headers: &'a HeaderMap,
    /// Body, unpacked.
    pub bytes: &'a [u8],
}

/// Writes a replay folder.
pub struct Recorder {
    folder: PathBuf,
    as_of: DateTime<Utc>,
    index: Mutex<Index>,
}

impl Recorder {
    /// Opens `folder` to add to it, or makes it. What is added counts as known from `as_of`.
    ///
    /// # Errors
    /// [`SourceError::Replay`].
    pub fn open(folder: &Path, as_of: DateTime<Utc>) -> Result<Recorder, SourceError> {
        std::fs::create_dir_all(folder).map_err(|source| SourceError::Replay {
            folder: folder.to_owned(),
            fault: ReplayError::Io {
                doing: "make",
                path: folder.to_owned(),
                source,
            },
        })?;
        let index = if folder.join("index.json").exists() {
            Index::read(folder)?
        } else {
            Index::empty()
        };
        Ok(Recorder {
            folder: folder.to_owned(),
            as_of,
            index: Mutex::new(index),
        })
    }

    /// Keeps one reply. The same request at the same clock takes the earlier one's place.
    ///
    /// # Errors
    /// [`SourceError::Replay`] where the folder cannot be written.
    pub fn keep(&self, exchange: Exchange<'_>) -> Result<(), SourceError> {
        let request = exchange.request;
        let body = format!("{}/{}.gz", request.service, self.body_name(request));
        let entry = Entry {
            service: request.service.to_owned(),
            host: request.host.to_owned(),
            path: request.path.to_owned(),
            query: plain_query(request.query),
            window: Window::of_query(request.query).filter(|w| w.span().is_some()),
            known_from: Some(self.as_of),
            known_until: None,
            status: exchange.status,
            headers: kept_headers(exchange.headers),
            body: body.clone(),
        };
        self.write(&body, &packed(exchange.bytes))?;
        let mut index = self.index.lock().unwrap_or_else(PoisonError::into_inner);
        index.entries.retain(|held| held.body != body);
        index.entries.push(entry);
        let mut text = serde_json::to_vec_pretty(&*index)
            .map_err(|error| self.io("write", "index.json", error.into()))?;
        text.push(b'\n');
        // Written under the lock, so that a later index never gives way to an earlier one.
        self.write("index.json", &text)
    }

    /// A name that is the same for the same request at the same clock, and no other's.
    fn body_name(&self, request: Request<'_>) -> String {
        let mut hash = Sha256::new();
        hash.update(request.url());
        hash.update(self.as_of.to_rfc3339());
        let digest = hash.finalize();
        let short: String = digest.iter().take(8).map(|byte| format!("{byte:02x}")).collect();
        let last = request
            .path
            .trim_end_matches("/items")
            .rsplit('/')
            .next()
            .unwrap_or_default();
        let last: String = last
            .chars()
            .filter(|c| c.is_ascii_alphanumeric() || *c == '-')
            .collect();
        format!("{last}-{}-{short}.json", self.as_of.format("%Y%m%dT%H%M%SZ"))
    }

    fn write(&self, relative: &str, bytes: &[u8]) -> Result<(), SourceError> {
        let path = self.folder.join(relative);
        let folder = path.parent().unwrap_or(&self.folder);
        let written = (|| {
            std::fs::create_dir_all(folder)?;
            let mut file = tempfile::NamedTempFile::new_in(folder)?;
            file.write_all(bytes)?;
            file.as_file().sync_all()?;
            file.persist(&path)?;
            Ok(())
        })();
        written.map_err(|source| self.io("write", relative, source))
    }

    fn io(&self, doing: &'static str, relative: &str, source: std::io::Error) -> SourceError {
        let fault = ReplayError::Io {
            doing,
            path: self.folder.join(relative),
            source,
        };
        SourceError::Replay {
            folder: self.folder.clone(),
            fault,
        }
    }
}

fn kept_headers(headers: &HeaderMap) -> BTreeMap<String, String> {
    headers
        .iter()
        .filter(|(name, _)| is_kept_header(name.as_str()))
        .filter_map(|(name, value)| Some((name.as_str().to_owned(), value.to_str().ok()?.to_owned())))
        .collect()
}

fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut out = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    out.write_all(bytes).expect("writing to a vector does not fail");
    out.finish().expect("writing to a vector does not fail")
}
