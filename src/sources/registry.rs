//! The services there are. To add one: its file, and its row here.

use std::future::Future;
use std::pin::Pin;

use chrono::{DateTime, Utc};

use super::client::{Allowance, Client, KeyRule, RateLimit};
use super::error::{ReadError, SourceError};
use super::job::{Fetched, Job, Need};
use super::saved::Saved;
use super::{cdec, csv, cwms, hydromet, nwps, nws, open_meteo, rise, usgs_legacy, usgs_ogc, waterml};
use crate::lake::{Cadence, Lake, SeriesSource};
use crate::quantity::Quantity;

/// What a service needs to know where to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StationNeed {
    /// The key `station`, in the form shown.
    Station(&'static str),
    /// Nothing: it goes by the lake's position.
    Position,
    /// The key `station`, in the form shown, at these cadences; at others it goes by the lake's position.
    StationFor(&'static str, &'static [Cadence]),
    /// The table `csv`.
    File,
}

/// A job under way.
pub type Running<'a> = Pin<Box<dyn Future<Output = Result<Vec<Fetched>, SourceError>> + Send + 'a>>;

/// A service.
pub struct Service {
    /// Name, as in the lake file.
    pub name: &'static str,
    /// What it serves, for people.
    pub what: &'static str,
    /// What it needs to know where to look.
    pub station: StationNeed,
    /// Key it takes, if any.
    pub key: Option<KeyRule>,
    /// Cadences it serves.
    pub cadences: &'static [Cadence],
    /// Whether daily values are asked for by a statistic code.
    pub takes_statistic: bool,
    /// Whether an ensemble model may be chosen.
    pub takes_ensemble_model: bool,
    /// Further keys of a series that it needs and that no other service has: `file`, `stamp_zone`.
    pub needs_keys: &'static [&'static str],
    /// Quantities that a parameter may stand for; none for a parameter it does not have. `None` where
    /// any parameter goes.
    pub parameter_quantities: Option<fn(&str) -> &'static [Quantity]>,
    /// What of a series' description the service does not have at a cadence: found, wanted.
    pub refuses: fn(&SeriesSource, Cadence) -> Option<(String, String)>,
    /// Whether a text cannot be one of its stations, and what one looks like; `None` where any text goes.
    pub refuses_station: Option<fn(&str) -> Option<&'static str>>,
    /// What the service has instead of a parameter at a cadence; `None` where it has every parameter at all
    /// its cadences.
    pub refuses_parameter: Option<fn(&str, Cadence) -> Option<String>>,
    /// Media type that its requests ask for; `None` where the service needs none named.
    pub accept: Option<&'static str>,
    /// Whether it refuses requests that name no contact.
    pub needs_contact: bool,
    /// The request for official alerts at the lake's position; `None` of a service that has none.
    pub alert_job: Option<fn(&Lake, DateTime<Utc>) -> Job>,
    /// Requests for needs of this service.
    pub jobs: fn(&Lake, &[Need<'_>]) -> Vec<Job>,
    /// Requests for the service's own description of the stations of a lake.
    pub station_jobs: fn(&Lake, DateTime<Utc>) -> Vec<Job>,
    /// Does one of its jobs.
    pub run: for<'a> fn(&'a Client, &'a Lake, &'a Job) -> Running<'a>,
    /// Whether bytes look like a reply of this service.
    pub recognises: fn(&[u8]) -> bool,
    /// The records of a saved reply.
    pub read_saved: fn(&[u8]) -> Result<Saved, ReadError>,
}

/// All services.
pub const SERVICES: &[Service] = &[
    usgs_ogc::SERVICE,
    open_meteo::SERVICE,
    nws::SERVICE,
    cdec::SERVICE,
    nwps::SERVICE,
    usgs_legacy::SERVICE,
    cwms::SERVICE,
    rise::SERVICE,
    hydromet::SERVICE,
    waterml::SERVICE,
    csv::SERVICE,
];

/// What the services allow, as far as they say it, and what is asked of the others. A service without a row here
/// has [`UNSTATED`].
pub const RATE_LIMITS: &[RateLimit] = &[
    RateLimit {
        service: usgs_ogc::NAME,
        // The service's documentation: 1000 requests an hour with a key. Without one the ceiling is lower and not
        // stated; a reply of status 429 is heeded then.
        allows: &[Allowance {
            calls: 1000,
            seconds: 3600,
        }],
        counts_as: one_call,
    },
    RateLimit {
        service: open_meteo::NAME,
        // The service's documentation: fewer than 600 a minute, 5000 an hour, 10 000 a day.
        allows: &[
            Allowance {
                calls: 599,
                seconds: 60,
            },
            Allowance {
                calls: 4999,
                seconds: 3600,
            },
            Allowance {
                calls: 9999,
                seconds: 86_400,
            },
        ],
        counts_as: open_meteo::calls,
    },
];

/// What is asked of a service whose limits are not published (project choice): two a second over a minute.
pub const UNSTATED: RateLimit = RateLimit {
    service: "",
    allows: &[Allowance {
        calls: 240,
        seconds: 60,
    }],
    counts_as: one_call,
};

/// Services with an archive of past weather, which `pull --history` fills.
pub const ARCHIVES: &[&str] = &[open_meteo::NAME];

fn one_call(_: &[(String, String)]) -> u32 {
    1
}

/// The limits of a service.
pub fn rate_limit(name: &str) -> &'static RateLimit {
    RATE_LIMITS
        .iter()
        .find(|limit| limit.service == name)
        .unwrap_or(&UNSTATED)
}

/// The service of a name.
///
/// # Errors
/// [`SourceError::UnknownService`], with the names there are.
pub fn service(name: &str) -> Result<&'static Service, SourceError> {
    SERVICES
        .iter()
        .find(|s| s.name == name)
        .ok_or_else(|| SourceError::UnknownService {
            found: name.to_owned(),
            known: SERVICES.iter().map(|s| s.name).collect::<Vec<_>>().join(", "),
        })
}

/// No station jobs.
pub(super) fn no_station_jobs(_: &Lake, _: DateTime<Utc>) -> Vec<Job> {
    Vec::new()
}
