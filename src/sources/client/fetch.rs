//! The client: what it holds, and one fetch from request to answer.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use chrono::{DateTime, Utc};
use governor::clock::DefaultClock;
use reqwest::header::{ETAG, HeaderValue, LAST_MODIFIED};
use reqwest::{StatusCode, Url};
use tokio::sync::{OnceCell, Semaphore};

use super::endpoints::public_url;
use super::limits::Limiter;
use super::{Endpoints, Mode, Settings, Validators};
use crate::sources::error::{FetchError, ReadError, SourceError};
use crate::sources::job::Job;
use crate::sources::registry::rate_limit;
use crate::sources::replay::{Exchange, Recorder, ReplayServer};

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

    /// The error of its reply, which could not be read.
    pub(in crate::sources) fn read_error(&self, fault: ReadError) -> SourceError {
        SourceError::Read {
            service: self.service,
            origin: self.url(),
            fault,
        }
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

/// The client that all services share. Every lake of a run has its own ([`Client::for_lake`]), and all of them have
/// connections, bounds and limits in common.
pub struct Client {
    pub(super) common: Arc<Common>,
    pub(super) settings: Settings,
    /// Validators by address, of jobs whose records are not yet known to be safe.
    pending: Mutex<BTreeMap<String, Validators>>,
}

/// What the clients of a run have in common.
pub(super) struct Common {
    pub(super) http: reqwest::Client,
    pub(super) endpoints: Endpoints,
    all: Semaphore,
    by_service: Mutex<BTreeMap<&'static str, Arc<OfService>>>,
    /// Hosts that could not be reached in this run, and why.
    away: Mutex<BTreeMap<&'static str, String>>,
    /// What is known of hosts that have been asked in this run.
    first: Mutex<BTreeMap<&'static str, Arc<FirstOfHost>>>,
    /// Replies that several jobs of a run need, by address.
    shared: Mutex<BTreeMap<String, Arc<OnceCell<Reply>>>>,
    pub(super) recorder: Option<Recorder>,
    /// Held so that the replay lives as long as its client.
    pub(super) replay: Option<ReplayServer>,
}

/// What bounds the requests to one service.
struct OfService {
    at_once: Semaphore,
    limiter: Limiter,
    counts_as: fn(&[(String, String)]) -> u32,
    /// Calls of requests that went before their turn, to be paid by those after them.
    owed: AtomicU32,
}

/// The first request to a host goes alone and at once: one that is out of reach then costs no waiting for a limit.
#[derive(Default)]
struct FirstOfHost {
    goes: Arc<tokio::sync::Mutex<()>>,
    /// Whether the host has answered, whatever it said.
    answered: AtomicBool,
}

/// Held while a request is the first of its host.
pub(super) type First = Option<tokio::sync::OwnedMutexGuard<()>>;

impl Client {
    /// A client. In a replay its server starts here, on a loopback address, and ends with the client;
    /// so this must run inside a tokio runtime.
    ///
    /// # Errors
    /// [`SourceError::Replay`] for a folder that cannot be read or written, [`SourceError::Setup`]
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
        let http = http_client(&settings, &endpoints).map_err(|source| SourceError::Setup { source })?;
        Ok(Client {
            common: Arc::new(Common {
                http,
                endpoints,
                all: Semaphore::new(settings.at_once.max(1)),
                by_service: Mutex::new(BTreeMap::new()),
                away: Mutex::new(BTreeMap::new()),
                first: Mutex::new(BTreeMap::new()),
                shared: Mutex::new(BTreeMap::new()),
                recorder,
                replay,
            }),
            pending: Mutex::new(BTreeMap::new()),
            settings,
        })
    }

    /// The client of another lake of the same run: contact, keys, files and validators are its own;
    /// connections, bounds and limits, and where replies come from, are those of this one.
    pub fn for_lake(&self, settings: Settings) -> Client {
        Client {
            common: Arc::clone(&self.common),
            pending: Mutex::new(BTreeMap::new()),
            settings,
        }
    }

    /// What it was set up with.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Whether replies come from a replay folder.
    pub fn is_replay(&self) -> bool {
        self.common.replay.is_some()
    }

    /// Asks. With `conditional`, validators of an earlier reply go along, and the answer may be
    /// [`Answer::NotModified`].
    ///
    /// # Errors
    /// [`SourceError::Fetch`] when the tries are used up, or another try would not help: once a host could
    /// not be reached, every later request of it fails at once.
    pub async fn get(&self, request: Request<'_>, conditional: bool) -> Result<Answer, SourceError> {
        let url = request.url();
        let fetch_error = |fault| SourceError::Fetch {
            service: request.service,
            url: url.clone(),
            fault,
        };
        let own = self.of_service(request.service);
        // The service's own limit first, so that a slow service never holds places of the others.
        let _own_place = own.at_once.acquire().await.ok();
        let _place = self.common.all.acquire().await.ok();
        if let Some(cause) = locked(&self.common.away).get(request.host).cloned() {
            return Err(fetch_error(FetchError::HostAway {
                host: request.host,
                cause,
            }));
        }

        let earlier = if conditional {
            self.earlier_validators(&url)
        } else {
            None
        };
        let (address, response_bytes) =
            self.get_with_retries(request, earlier.as_ref())
                .await
                .map_err(|fault| {
                    if let Some(cause) = fault.unreachable_because() {
                        locked(&self.common.away).insert(request.host, cause);
                    }
                    fetch_error(fault)
                })?;
        let Some((headers, bytes)) = response_bytes else {
            return Ok(Answer::NotModified);
        };
        let text_of = |name| {
            headers
                .get(name)
                .and_then(|v: &HeaderValue| v.to_str().ok())
                .map(str::to_owned)
        };
        if let Some(recorder) = &self.common.recorder {
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
            received_at: self
                .common
                .replay
                .as_ref()
                .map_or_else(Utc::now, ReplayServer::as_of),
            validators: Validators {
                etag: text_of(ETAG),
                last_modified: text_of(LAST_MODIFIED),
            },
        }))
    }

    /// Asks for what several jobs need and what does not change within a run: the first one asks, the others
    /// wait for its reply. A failure is not kept.
    ///
    /// # Errors
    /// As [`Client::get`].
    pub async fn get_shared(&self, request: Request<'_>) -> Result<Reply, SourceError> {
        let cell = Arc::clone(locked(&self.common.shared).entry(request.url()).or_default());
        let reply = cell
            .get_or_try_init(|| async {
                match self.get(request, false).await? {
                    Answer::Reply(reply) => Ok(reply),
                    Answer::NotModified => Err(SourceError::Read {
                        service: request.service,
                        origin: request.url(),
                        fault: ReadError::Empty {
                            wanted: "a reply, since no validator was sent",
                        },
                    }),
                }
            })
            .await?;
        Ok(reply.clone())
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
        self.common
            .endpoints
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

    fn of_service(&self, service: &'static str) -> Arc<OfService> {
        let most = self.settings.at_once_per_service.max(1);
        let limit = rate_limit(service);
        locked(&self.common.by_service)
            .entry(service)
            .or_insert_with(|| {
                Arc::new(OfService {
                    at_once: Semaphore::new(most),
                    limiter: Limiter::new(limit.allows, DefaultClock::default()),
                    counts_as: limit.counts_as,
                    owed: AtomicU32::new(0),
                })
            })
            .clone()
    }

    /// Waits for the limit of the service, each try anew. A replay asks nobody. The first request to a host does not
    /// wait, and while it is under way no other goes; what it counts as, the ones after it wait for.
    pub(super) async fn within_limit(&self, request: Request<'_>) -> Result<First, FetchError> {
        if self.is_replay() {
            return Ok(None);
        }
        let own = self.of_service(request.service);
        let calls = (own.counts_as)(request.query);
        let host = locked(&self.common.first)
            .entry(request.host)
            .or_default()
            .clone();
        if !host.answered.load(Ordering::Acquire) {
            let first = Arc::clone(&host.goes).lock_owned().await;
            if let Some(cause) = locked(&self.common.away).get(request.host).cloned() {
                return Err(FetchError::HostAway {
                    host: request.host,
                    cause,
                });
            }
            if !host.answered.load(Ordering::Acquire) {
                own.owed.fetch_add(calls, Ordering::AcqRel);
                return Ok(Some(first));
            }
        }
        let longest = self.settings.patience.retry_after_cap;
        let owed = own.owed.swap(0, Ordering::AcqRel);
        let ready = own.limiter.ready(calls.saturating_add(owed), longest).await;
        ready.map(|()| None).map_err(|used_up| FetchError::OverLimit {
            calls: used_up.allowance.calls,
            seconds: used_up.allowance.seconds,
            wait_s: used_up.wait.as_secs(),
        })
    }

    /// A host has answered, whatever it said.
    pub(super) fn has_answered(&self, host: &'static str) {
        let known = locked(&self.common.first).entry(host).or_default().clone();
        known.answered.store(true, Ordering::Release);
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
