//! The tries of one fetch: pauses, redirects that stay on the host, the body.

use std::time::SystemTime;

use reqwest::header::{
    ACCEPT, HeaderMap, HeaderValue, IF_MODIFIED_SINCE, IF_NONE_MATCH, LOCATION, RETRY_AFTER, USER_AGENT,
};
use reqwest::{Response, StatusCode, Url};

use super::body::{BodyFault, read_body, said};
use super::fetch::{Client, Request};
use super::patience::retry_after;
use super::validators::Validators;
use crate::sources::error::{FetchError, is_certificate_fault};
use crate::sources::registry::SERVICES;

/// Redirects followed on the same host.
const REDIRECTS: usize = 5;

/// Bytes of an error body that are looked at.
const ERROR_BODY_CAP_BYTES: usize = 64 * 1024;

impl Client {
    /// Headers and body of a 200, `None` of a 304, after as many tries as patience has.
    pub(super) async fn get_with_retries(
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
            let again = failed.again && (!failed.no_connection || tries < patience.connect_tries);
            let pause = if again { pauses.next() } else { None };
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
        let first = self.within_limit(request).await.map_err(Failed::for_good)?;
        let address = self
            .common
            .endpoints
            .url(request.host, request.path, request.query)
            .map_err(Failed::for_good)?;
        let response = self.send(request, address.clone(), earlier, tries).await?;
        self.has_answered(request.host);
        drop(first);
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
                no_connection: false,
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
                .common
                .http
                .get(address.clone())
                .headers(self.headers(request, earlier));
            let response = sending
                .send()
                .await
                .map_err(|source| self.not_sent(source, tries))?;
            let target = response.headers().get(LOCATION).and_then(|v| v.to_str().ok());
            match (response.status().as_u16(), target) {
                (301 | 302 | 303 | 307 | 308, Some(target)) => {
                    let (path, query) = self
                        .common
                        .endpoints
                        .follow(request.host, &address, target, "redirect")
                        .map_err(Failed::for_good)?;
                    address = self
                        .common
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

    fn headers(&self, request: Request<'_>, earlier: Option<&Validators>) -> HeaderMap {
        let host = request.host;
        let mut headers = HeaderMap::new();
        if let Ok(agent) = HeaderValue::from_str(&self.settings.user_agent()) {
            headers.insert(USER_AGENT, agent);
        }
        let own = SERVICES.iter().find(|service| service.name == request.service);
        if let Some(accept) = own.and_then(|service| service.accept) {
            headers.insert(ACCEPT, HeaderValue::from_static(accept));
        }
        let mut set = |name, text: &Option<String>| {
            if let Some(value) = text.as_ref().and_then(|text| HeaderValue::from_str(text).ok()) {
                headers.insert(name, value);
            }
        };
        if let Some(earlier) = earlier {
            set(IF_NONE_MATCH, &earlier.etag);
            set(IF_MODIFIED_SINCE, &earlier.last_modified);
        }
        let keys = if self.common.replay.is_some() {
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

    /// A request that got no reply. Without a connection there are fewer tries, and after a time-out of
    /// connecting no other: that one has taken long enough.
    fn not_sent(&self, source: reqwest::Error, tries: usize) -> Failed {
        if is_certificate_fault(&source) {
            // It stays what it is for as long as a run lasts.
            return Failed::for_good(FetchError::Certificate {
                source: source.without_url(),
            });
        }
        let (no_connection, timed_out) = (source.is_connect(), source.is_timeout());
        if timed_out && !no_connection {
            return self.timed_out(tries);
        }
        Failed {
            again: !timed_out,
            no_connection,
            ..Failed::for_now(FetchError::Unreachable {
                tries,
                source: source.without_url(),
            })
        }
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
    /// Whether not even a connection came about.
    no_connection: bool,
    /// Pause the service asks for.
    wait: Option<std::time::Duration>,
    status: Option<StatusCode>,
}

impl Failed {
    fn for_good(fault: FetchError) -> Failed {
        Failed {
            fault,
            again: false,
            no_connection: false,
            wait: None,
            status: None,
        }
    }

    fn for_now(fault: FetchError) -> Failed {
        Failed {
            fault,
            again: true,
            no_connection: false,
            wait: None,
            status: None,
        }
    }
}
