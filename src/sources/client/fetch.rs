//! One fetch: the pauses, the tries, the redirects, the body.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use chrono::{DateTime, Utc};
use reqwest::header::{
    ETAG, HeaderMap, HeaderValue, IF_MODIFIED_SINCE, IF_NONE_MATCH, LAST_MODIFIED, LOCATION, RETRY_AFTER,
};
use reqwest::{Response, StatusCode, Url};
use tokio::sync::Semaphore;

use super::body::{BodyFault, read_body, said};
use super::endpoints::public_url;
use super::patience::retry_after;
use super::{Endpoints, Mode, Settings, Validators};
use crate::sources::error::{FetchError, SourceError};
use crate::sources::job::Job;
use crate::sources::replay::{Exchange, Recorder, ReplayServer};

/// Redirects followed on the same host.
const REDIRECTS: usize = 5;

/// Bytes of an error body that are looked at.
const ERROR_BODY_CAP_BYTES: usize = 64 * 1024;

/// What to ask.
#[derive(Debug, Clone, Copy)]
pub struct Request<'a> {
    /// Service, for messages.
    pub service: &'static str,
    /// Host.
    pub host: &'static str,
    /// Path.
    pub path: &'a str,
    /// Parameters, in order.
    pub query: &'a [(String, String)],
}

impl Request<'_> {
    /// Its public address.
    pub fn url(&self) -> String {
        public_url(self.host, self.path, self.query)
    }
}

/// A reply with status 200.
#[derive(Debug, Clone, PartialEq)]
pub struct Reply {
    /// Body, unpacked.
    pub bytes: Vec<u8>,
    /// Address it was received from here, for links relative to it.
    pub asked: Url,
    /// When it was received; in a replay, the clock of the run.
    pub received_at: DateTime<Utc>,
    /// What to recognise it by next time.
    pub validators: Validators,
}

/// A reply, or word that nothing has changed.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// Status 304.
    NotModified,
    /// Status 200.
    Reply(Reply),
}

/// The client that all services share.
pub struct Client {
    http: reqwest::Client,
    endpoints: Endpoints,
    settings: Settings,
    all: Semaphore,
    by_service: Mutex<BTreeMap<&'static str, Arc<Semaphore>>>,
    /// Validators by address, of jobs whose records are not yet known to be safe.
    pending: Mutex<BTreeMap<String, Validators>>,
    recorder: Option<Recorder>,
    /// Held so that the replay lives as long as its client.
    replay: Option<ReplayServer>,
}

impl Client {
    /// A client. In a replay its server starts here, on a loopback address, and ends with the client;
    /// so this must run inside a tokio runtime.
    ///
    /// # Errors
    /// [`SourceError::Replay`] for a folder that cannot be read or written, [`SourceError::Fetch`]
    /// where the network client cannot be set up.
    pub async fn new(mode: Mode, settings: Settings) -> Result<Client, SourceError> {
        let (endpoints, recorder, replay) = match mode {
            Mode::Live => (settings.endpoints.clone(), None, None),
            Mode::Record { dir, as_of } => (
                settings.endpoints.clone(),
                Some(Recorder::open(&dir, as_of)?),
                None,
            ),
            Mode::Replay { dir, as_of } => {
                let server = ReplayServer::start(&dir, as_of).await?;
                (Endpoints::below(server.root()), None, Some(server))
            }
        };
        let http = http_client(&settings, &endpoints).map_err(|source| SourceError::Fetch {
            service: "every service",
            url: String::new(),
            fault: FetchError::Setup { source },
        })?;
        Ok(Client {
            http,
            endpoints,
            all: Semaphore::new(settings.at_once.max(1)),
            by_service: Mutex::new(BTreeMap::new()),
            pending: Mutex::new(BTreeMap::new()),
            recorder,
            replay,
            settings,
        })
    }

    /// What it was set up with.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Whether replies come from a replay folder.
    pub fn is_replay(&self) -> bool {
        self.replay.is_some()
    }

    /// Asks. With `conditional`, validators of an earlier reply go along, and the answer may be
    /// [`Answer::NotModified`].
    ///
    /// # Errors
    /// [`SourceError::Fetch`] when the tries are used up, or another try would not help.
    pub async fn get(&self, request: Request<'_>, conditional: bool) -> Result<Answer, SourceError> {
        let url = request.url();
        let fetch_error = |fault| SourceError::Fetch {
            service: request.service,
            url: url.clone(),
            fault,
        };
        let own = self.service_limit(request.service);
        // The service's own limit first, so that a slow service never holds places of the others.
        let _own_place = own.acquire().await.ok();
        let _place = self.all.acquire().await.ok();

        let earlier = if conditional {
            self.earlier_validators(&url)
        } else {
            None
        };
        let (address, response_bytes) = self
            .get_with_retries(request, earlier.as_ref())
            .await
            .map_err(fetch_error)?;
        let Some((headers, bytes)) = response_bytes else {
            return Ok(Answer::NotModified);
        };
        let text_of = |name| {
            headers
                .get(name)
                .and_then(|v: &HeaderValue| v.to_str().ok())
                .map(str::to_owned)
        };
        if let Some(recorder) = &self.recorder {
            recorder.keep(Exchange {
                request,
                status: StatusCode::OK.as_u16(),
                headers: &headers,
                bytes: &bytes,
            })?;
        }
        Ok(Answer::Reply(Reply {
            bytes,
            asked: address,
            received_at: self.replay.as_ref().map_or_else(Utc::now, ReplayServer::as_of),
            validators: Validators {
                etag: text_of(ETAG),
                last_modified: text_of(LAST_MODIFIED),
            },
        }))
    }

    /// Path and parameters of a link in a reply to `request`.
    ///
    /// # Errors
    /// [`SourceError::Fetch`] where the link leads to another host.
    pub fn follow(
        &self,
        request: Request<'_>,
        reply: &Reply,
        link: &str,
    ) -> Result<(String, Vec<(String, String)>), SourceError> {
        self.endpoints
            .follow(request.host, &reply.asked, link, "link to the next page")
            .map_err(|fault| SourceError::Fetch {
                service: request.service,
                url: request.url(),
                fault,
            })
    }

    /// Remembers the validators of a job's only page, for [`Client::confirm`].
    pub(in crate::sources) fn hold_validators(&self, job: &Job, validators: Validators) {
        if !validators.is_empty() {
            locked(&self.pending).insert(public_url(job.host, &job.path, &job.query), validators);
        }
    }

    /// To be called once the records of `job` are safe in the store: only now its validators are kept,
    /// so that records lost on the way to the store are fetched again.
    pub fn confirm(&self, job: &Job) {
        let url = public_url(job.host, &job.path, &job.query);
        let held = locked(&self.pending).remove(&url);
        if let (Some(validators), Some(store)) = (held, &self.settings.validators) {
            store.put(&url, validators);
        }
    }

    fn earlier_validators(&self, url: &str) -> Option<Validators> {
        self.settings
            .validators
            .as_ref()?
            .get(url)
            .filter(|v| !v.is_empty())
    }

    fn service_limit(&self, service: &'static str) -> Arc<Semaphore> {
        let most = self.settings.at_once_per_service.max(1);
        locked(&self.by_service)
            .entry(service)
            .or_insert_with(|| Arc::new(Semaphore::new(most)))
            .clone()
    }

    /// Headers and body of a 200, `None` of a 304, after as many tries as patience has.
    async fn get_with_retries(
        &self,
        request: Request<'_>,
        earlier: Option<&Validators>,
    ) -> Result<(Url, Option<(HeaderMap, Vec<u8>)>), FetchError> {
        let patience = self.settings.patience;
        let mut pauses = patience.pauses();
        let mut tries = 1;
        loop {
            let failed = match self.get_once(request, earlier, tries).await {
                Ok(done) => return Ok(done),
                Err(failed) => failed,
            };
            if let Some(asked) = failed.wait.filter(|asked| *asked > patience.retry_after_cap) {
                return Err(FetchError::AskedToWait {
                    status: failed.status.map_or(0, |s| s.as_u16()),
                    wait_s: asked.as_secs_f64(),
                    cap_s: patience.retry_after_cap.as_secs_f64(),
                });
            }
            let pause = if failed.again { pauses.next() } else { None };
            let Some(pause) = pause else {
                return Err(failed.fault);
            };
            let pause = failed.wait.map_or(pause, |asked| asked.max(pause));
            tracing::info!(service = request.service, tries, ?pause, fault = %failed.fault, "trying again");
            tokio::time::sleep(pause).await;
            tries += 1;
        }
    }

    async fn get_once(
        &self,
        request: Request<'_>,
        earlier: Option<&Validators>,
        tries: usize,
    ) -> Result<(Url, Option<(HeaderMap, Vec<u8>)>), Failed> {
        let address = self
            .endpoints
            .url(request.host, request.path, request.query)
            .map_err(Failed::for_good)?;
        let response = self.send(request, address.clone(), earlier, tries).await?;
        let status = response.status();
        if status == StatusCode::NOT_MODIFIED && earlier.is_some() {
            return Ok((address, None));
        }
        let headers = response.headers().clone();
        if status != StatusCode::OK {
            let wait = headers
                .get(RETRY_AFTER)
                .and_then(|v| v.to_str().ok())
                .and_then(|text| retry_after(text, SystemTime::now()));
            let body = read_body(response, ERROR_BODY_CAP_BYTES)
                .await
                .unwrap_or_default();
            let again = matches!(status.as_u16(), 429 | 500 | 502 | 503 | 504);
            return Err(Failed {
                fault: FetchError::Status {
                    status: status.as_u16(),
                    tries,
                    said: said(&body),
                },
                again,
                wait: wait.filter(|_| again),
                status: Some(status),
            });
        }
        let cap_bytes = self.settings.reply_cap_bytes;
        let bytes = read_body(response, cap_bytes)
            .await
            .map_err(|fault| match fault {
                BodyFault::TooLarge => Failed::for_good(FetchError::TooLarge { cap_bytes }),
                BodyFault::Broken { source, .. } if source.is_timeout() => self.timed_out(tries),
                BodyFault::Broken {
                    received_bytes,
                    source,
                } => Failed::for_now(FetchError::CutShort {
                    received_bytes,
                    tries,
                    source: source.without_url(),
                }),
            })?;
        Ok((address, Some((headers, bytes))))
    }

    /// Sends, and follows redirects that stay on the host.
    async fn send(
        &self,
        request: Request<'_>,
        mut address: Url,
        earlier: Option<&Validators>,
        tries: usize,
    ) -> Result<Response, Failed> {
        for _ in 0..=REDIRECTS {
            let sending = self
                .http
                .get(address.clone())
                .headers(self.headers(request.host, earlier));
            let response = sending.send().await.map_err(|source| {
                if source.is_timeout() {
                    self.timed_out(tries)
                } else {
                    Failed::for_now(FetchError::Unreachable {
                        tries,
                        source: source.without_url(),
                    })
                }
            })?;
            let target = response.headers().get(LOCATION).and_then(|v| v.to_str().ok());
            match (response.status().as_u16(), target) {
                (301 | 302 | 303 | 307 | 308, Some(target)) => {
                    let (path, query) = self
                        .endpoints
                        .follow(request.host, &address, target, "redirect")
                        .map_err(Failed::for_good)?;
                    address = self
                        .endpoints
                        .url(request.host, &path, &query)
                        .map_err(Failed::for_good)?;
                }
                _ => return Ok(response),
            }
        }
        Err(Failed::for_good(FetchError::Endless {
            what: "a redirect",
            count: REDIRECTS,
        }))
    }

    fn headers(&self, host: &str, earlier: Option<&Validators>) -> HeaderMap {
        let mut headers = HeaderMap::new();
        let mut set = |name, text: &Option<String>| {
            if let Some(value) = text.as_ref().and_then(|text| HeaderValue::from_str(text).ok()) {
                headers.insert(name, value);
            }
        };
        if let Some(earlier) = earlier {
            set(IF_NONE_MATCH, &earlier.etag);
            set(IF_MODIFIED_SINCE, &earlier.last_modified);
        }
        let keys = if self.replay.is_some() {
            &[][..]
        } else {
            &self.settings.keys
        };
        for key in keys.iter().filter(|key| key.rule.host == host) {
            if let Ok(mut value) = HeaderValue::from_str(&key.secret) {
                value.set_sensitive(true);
                headers.insert(key.rule.header, value);
            }
        }
        headers
    }

    fn timed_out(&self, tries: usize) -> Failed {
        let limit_s = self.settings.patience.total.as_secs_f64();
        Failed::for_now(FetchError::TimedOut { tries, limit_s })
    }
}

/// A failed try.
struct Failed {
    fault: FetchError,
    /// Whether another try may help.
    again: bool,
    /// Pause the service asks for.
    wait: Option<std::time::Duration>,
    status: Option<StatusCode>,
}

impl Failed {
    fn for_good(fault: FetchError) -> Failed {
        Failed {
            fault,
            again: false,
            wait: None,
            status: None,
        }
    }

    fn for_now(fault: FetchError) -> Failed {
        Failed {
            fault,
            again: true,
            wait: None,
            status: None,
        }
    }
}

/// The guarded value, also after a panic elsewhere: the maps here are whole at every moment.
fn locked<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn http_client(settings: &Settings, endpoints: &Endpoints) -> Result<reqwest::Client, reqwest::Error> {
    // An error only says that the process has a provider already, which does as well.
    let _already = rustls::crypto::ring::default_provider().install_default();
    let mut builder = reqwest::Client::builder()
        .user_agent(settings.user_agent())
        .connect_timeout(settings.patience.connect)
        .timeout(settings.patience.total)
        .redirect(reqwest::redirect::Policy::none())
        .gzip(true)
        .brotli(true);
    if endpoints.is_loopback() {
        // A replay must work without certificates on the system and whatever proxy is set.
        builder = builder.no_proxy().tls_certs_only([]);
    }
    builder.build()
}
