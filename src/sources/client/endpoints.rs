//! Where each host of a service is really asked: itself, or a loopback address.

use std::collections::BTreeMap;

use reqwest::Url;

use super::super::error::FetchError;

/// Base addresses by host. The client asks `base + path`, whatever the base is, so that a replay and a
/// test take the road of a live fetch.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Endpoints {
    /// Base of every host not named in `own`: `root/host`; `None` for the hosts themselves.
    below: Option<String>,
    own: BTreeMap<String, String>,
}

impl Endpoints {
    /// The hosts themselves, over https.
    pub fn live() -> Self {
        Endpoints::default()
    }

    /// Every host below one address: `https://h/p` is asked at `root/h/p`.
    pub fn below(root: impl Into<String>) -> Self {
        Endpoints {
            below: Some(root.into().trim_end_matches('/').to_owned()),
            own: BTreeMap::new(),
        }
    }

    /// One host at an address of its own: `https://host/p` is asked at `base/p`.
    pub fn with(mut self, host: &str, base: impl Into<String>) -> Self {
        self.own
            .insert(host.to_owned(), base.into().trim_end_matches('/').to_owned());
        self
    }

    /// Whether nothing leaves this machine.
    pub fn is_loopback(&self) -> bool {
        let loopback = |base: &String| {
            Url::parse(base)
                .is_ok_and(|url| matches!(url.host_str(), Some("127.0.0.1" | "localhost" | "[::1]")))
        };
        match &self.below {
            Some(root) => loopback(root) && self.own.values().all(loopback),
            None => !self.own.is_empty() && self.own.values().all(loopback),
        }
    }

    fn base(&self, host: &str) -> String {
        match (self.own.get(host), &self.below) {
            (Some(base), _) => base.clone(),
            (None, Some(root)) => format!("{root}/{host}"),
            (None, None) => format!("https://{host}"),
        }
    }

    /// The address to ask for `path` with `query` on `host`.
    pub(super) fn url(&self, host: &str, path: &str, query: &[(String, String)]) -> Result<Url, FetchError> {
        let text = format!("{}{path}", self.base(host));
        let mut url = Url::parse(&text).map_err(|_| FetchError::Address { found: text.clone() })?;
        if !matches!(url.scheme(), "http" | "https") {
            return Err(FetchError::Address { found: text });
        }
        if !query.is_empty() {
            url.query_pairs_mut().extend_pairs(query);
        }
        Ok(url)
    }

    /// Path and parameters on `host` of a link found in a reply of it, whether the link names the host
    /// itself, its base here, or neither (a relative one). `asked` is the address of the reply.
    pub(super) fn follow(
        &self,
        host: &str,
        asked: &Url,
        link: &str,
        what: &'static str,
    ) -> Result<(String, Vec<(String, String)>), FetchError> {
        let away = || FetchError::LeavesHost {
            what,
            to: shown(link),
        };
        let url = asked
            .join(link)
            .map_err(|_| FetchError::Address { found: shown(link) })?;
        let query = url
            .query_pairs()
            .map(|(key, value)| (key.into_owned(), value.into_owned()))
            .collect();
        if url.host_str() == Some(host) && url.scheme() == "https" && url.port().is_none() {
            return Ok((url.path().to_owned(), query));
        }
        let base_text = self.base(host);
        let base = Url::parse(&base_text).map_err(|_| FetchError::Address {
            found: base_text.clone(),
        })?;
        if url.origin() != base.origin() {
            return Err(away());
        }
        let path = url
            .path()
            .strip_prefix(base.path().trim_end_matches('/'))
            .filter(|p| p.starts_with('/'));
        path.map(|path| (path.to_owned(), query)).ok_or_else(away)
    }
}

/// The public address of a request, for messages, validators and recordings: never with a secret.
pub(super) fn public_url(host: &str, path: &str, query: &[(String, String)]) -> String {
    let shown_value = |key: &str, value: &str| {
        let lower = key.to_ascii_lowercase();
        let secret = ["key", "token", "secret", "password"]
            .iter()
            .any(|word| lower.contains(word));
        if secret {
            "...".to_owned()
        } else {
            value.to_owned()
        }
    };
    let query: Vec<String> = query
        .iter()
        .map(|(key, value)| format!("{key}={}", shown_value(key, value)))
        .collect();
    let mark = if query.is_empty() { "" } else { "?" };
    format!("https://{host}{path}{mark}{}", query.join("&"))
}

/// A link as it may be shown: no user, password, parameters.
fn shown(link: &str) -> String {
    match Url::parse(link) {
        Ok(url) => format!(
            "{}://{}{}",
            url.scheme(),
            url.host_str().unwrap_or_default(),
            url.path()
        ),
        Err(_) => super::super::reply::beginning(link.as_bytes()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOST: &str = "api.waterdata.usgs.gov";

    fn asked(endpoints: &Endpoints) -> Url {
        endpoints.url(HOST, "/ogcapi/v0/items", &[]).unwrap()
    }

    #[test]
    fn a_live_link_is_followed_on_the_base_of_its_host() {
        let endpoints = Endpoints::below("http://127.0.0.1:9/");
        let (path, query) = endpoints
            .follow(
                HOST,
                &asked(&endpoints),
                "https://api.waterdata.usgs.gov/ogcapi/v0/items?cursor=a%2Fb",
                "link",
            )
            .unwrap();
        assert_eq!(
            (path.as_str(), query),
            ("/ogcapi/v0/items", vec![("cursor".into(), "a/b".into())])
        );
        assert_eq!(
            endpoints.url(HOST, &path, &[]).unwrap().as_str(),
            "http://127.0.0.1:9/api.waterdata.usgs.gov/ogcapi/v0/items"
        );
    }

    #[test]
    fn a_relative_link_and_one_on_the_base_are_followed() {
        let endpoints = Endpoints::live().with(HOST, "http://127.0.0.1:9/x");
        for link in [
            "?cursor=2",
            "/x/ogcapi/v0/items?cursor=2",
            "http://127.0.0.1:9/x/ogcapi/v0/items?cursor=2",
        ] {
            let (path, query) = endpoints.follow(HOST, &asked(&endpoints), link, "link").unwrap();
            assert_eq!((path.as_str(), query.len()), ("/ogcapi/v0/items", 1), "{link}");
        }
    }

    #[test]
    fn a_link_to_another_host_or_without_tls_is_refused() {
        let endpoints = Endpoints::live();
        for link in [
            "https://example.org/ogcapi/v0/items",
            "http://api.waterdata.usgs.gov/ogcapi/v0/items",
            "https://api.waterdata.usgs.gov:8443/x",
            "https://api.waterdata.usgs.gov@example.org/x",
            "file:///etc/passwd",
        ] {
            let fault = endpoints
                .follow(HOST, &asked(&endpoints), link, "link")
                .unwrap_err();
            assert!(matches!(fault, FetchError::LeavesHost { .. }), "{link}: {fault}");
        }
    }

    #[test]
    fn a_secret_is_never_shown() {
        let query = [
            ("station".to_owned(), "1".to_owned()),
            ("api_key".to_owned(), "hush".to_owned()),
        ];
        assert_eq!(public_url("h", "/p", &query), "https://h/p?station=1&api_key=...");
        assert_eq!(shown("https://me:hush@h/p?k=hush"), "https://h/p");
    }
}
