//! Serves a replay folder over HTTP on a loopback address, so that a replayed fetch takes the road of
//! a live one: request, headers, unpacking, cap.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, Utc};
use http_body_util::Full;
use hyper::body::{Bytes, Incoming};
use hyper::header::{CONTENT_ENCODING, CONTENT_TYPE, ETAG, HeaderName, HeaderValue, IF_NONE_MATCH};
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::TokioIo;
use tokio::net::TcpListener;
use tokio::task::JoinHandle;

use super::index::{Index, plain_query};
use super::window::Window;
use crate::sources::error::{ReplayError, SourceError};

/// A running replay; it ends when dropped.
pub struct ReplayServer {
    root: String,
    as_of: DateTime<Utc>,
    task: JoinHandle<()>,
}

impl Drop for ReplayServer {
    fn drop(&mut self) {
        self.task.abort();
    }
}

/// What every connection needs.
struct Folder {
    path: PathBuf,
    index: Index,
    as_of: DateTime<Utc>,
}

impl ReplayServer {
    /// Starts to serve `folder` as it was known at `as_of`.
    ///
    /// # Errors
    /// [`SourceError::Replay`]: no index, a damaged one, or no loopback address to be had.
    pub async fn start(folder: &Path, as_of: DateTime<Utc>) -> Result<ReplayServer, SourceError> {
        let index = Index::read(folder)?;
        let no_address = |source| SourceError::Replay {
            folder: folder.to_owned(),
            fault: ReplayError::Io {
                doing: "serve on 127.0.0.1",
                path: folder.to_owned(),
                source,
            },
        };
        let listener = TcpListener::bind(("127.0.0.1", 0)).await.map_err(no_address)?;
        let root = format!("http://{}", listener.local_addr().map_err(no_address)?);
        let folder = Arc::new(Folder {
            path: folder.to_owned(),
            index,
            as_of,
        });
        Ok(ReplayServer {
            root,
            as_of,
            task: tokio::spawn(accept(listener, folder)),
        })
    }

    /// Address below which every host is served: `root/host/path`.
    pub fn root(&self) -> &str {
        &self.root
    }

    /// Clock of the replay.
    pub fn as_of(&self) -> DateTime<Utc> {
        self.as_of
    }
}

async fn accept(listener: TcpListener, folder: Arc<Folder>) {
    loop {
        let stream = match listener.accept().await {
            Ok((stream, _)) => stream,
            Err(error) => {
                // Such as too many open files: passes when a connection closes.
                tracing::warn!(%error, "replay cannot take a connection");
                tokio::time::sleep(std::time::Duration::from_millis(20)).await;
                continue;
            }
        };
        let folder = Arc::clone(&folder);
        tokio::spawn(async move {
            let service = service_fn(move |request| {
                let folder = Arc::clone(&folder);
                async move { Ok::<_, Infallible>(answer(&folder, request).await) }
            });
            let connection =
                hyper::server::conn::http1::Builder::new().serve_connection(TokioIo::new(stream), service);
            if let Err(error) = connection.await {
                tracing::debug!(%error, "replay connection ended");
            }
        });
    }
}

async fn answer(folder: &Folder, request: Request<Incoming>) -> Response<Full<Bytes>> {
    if request.method() != Method::GET {
        return plain(
            StatusCode::METHOD_NOT_ALLOWED,
            "a replay answers GET only".to_owned(),
        );
    }
    let (host, path) = match request.uri().path().trim_start_matches('/').split_once('/') {
        Some((host, path)) => (host, format!("/{path}")),
        None => {
            return plain(
                StatusCode::NOT_FOUND,
                "wanted a path of the form /host/path".to_owned(),
            );
        }
    };
    let query: Vec<(String, String)> = reqwest::Url::parse("http://replay/")
        .map(|mut url| {
            url.set_query(request.uri().query());
            url.query_pairs()
                .map(|(k, v)| (k.into_owned(), v.into_owned()))
                .collect()
        })
        .unwrap_or_default();
    let Some(entry) = folder.index.find(host, &path, &query, folder.as_of) else {
        return plain(StatusCode::NOT_FOUND, not_held(host, &path, &query, folder.as_of));
    };
    let file = folder.path.join(&entry.body);
    let bytes = match tokio::fs::read(&file).await {
        Ok(bytes) => bytes,
        Err(error) => {
            return plain(
                StatusCode::NOT_FOUND,
                format!("replay file {}: {error}", entry.body),
            );
        }
    };
    let tag = entry
        .headers
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case("etag"))
        .map(|(_, tag)| tag.as_bytes());
    let asked_tag = request.headers().get(IF_NONE_MATCH).map(HeaderValue::as_bytes);
    if tag.is_some() && tag == asked_tag {
        return response(StatusCode::NOT_MODIFIED, &entry.headers, false, Vec::new());
    }
    let status = StatusCode::from_u16(entry.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    response(status, &entry.headers, entry.body.ends_with(".gz"), bytes)
}

fn response(
    status: StatusCode,
    headers: &BTreeMap<String, String>,
    is_gzip: bool,
    bytes: Vec<u8>,
) -> Response<Full<Bytes>> {
    let mut response = Response::new(Full::new(Bytes::from(bytes)));
    *response.status_mut() = status;
    for (name, value) in headers {
        let name = HeaderName::try_from(name.as_str());
        if let (Ok(name), Ok(value)) = (name, HeaderValue::from_str(value)) {
            response.headers_mut().insert(name, value);
        }
    }
    if is_gzip {
        response
            .headers_mut()
            .insert(CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    }
    response
}

fn plain(status: StatusCode, words: String) -> Response<Full<Bytes>> {
    let headers = BTreeMap::from([(
        CONTENT_TYPE.as_str().to_owned(),
        "text/plain; charset=utf-8".to_owned(),
    )]);
    response(status, &headers, false, words.into_bytes())
}

fn not_held(host: &str, path: &str, query: &[(String, String)], as_of: DateTime<Utc>) -> String {
    let asked: Vec<String> = plain_query(query)
        .iter()
        .map(|(k, v)| format!("{k}={v}"))
        .collect();
    let window = Window::of_query(query)
        .map(|w| format!(", window {} to {}", w.from, w.to))
        .unwrap_or_default();
    format!(
        "the replay folder holds nothing known at {} for {host}{path} {}{window}",
        as_of.format("%Y-%m-%dT%H:%M:%SZ"),
        asked.join(" ")
    )
}

/// Header names that the server itself sets, or that no longer fit a body stored unpacked.
pub(super) fn is_kept_header(name: &str) -> bool {
    let kept = [
        CONTENT_TYPE.as_str(),
        ETAG.as_str(),
        "last-modified",
        "x-ratelimit-limit",
        "x-ratelimit-remaining",
    ];
    kept.contains(&name)
}
