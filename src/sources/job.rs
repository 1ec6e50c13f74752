//! From what a lake needs to requests, and from a request to batches.

use chrono::{DateTime, Utc};

use super::client::Client;
use super::error::SourceError;
use super::registry::{SERVICES, service};
use crate::lake::{Cadence, Lake, SeriesId, SeriesSource};
use crate::series::{Batch, ForecastBatch};

/// What a lake needs of one series.
#[derive(Debug, Clone, Copy)]
pub struct Need<'a> {
    /// Series.
    pub series: &'a SeriesSource,
    /// Cadence, one of the series' own.
    pub cadence: Cadence,
    /// Earliest instant to fetch, where the store already has what is before; `None` for all.
    pub from: Option<DateTime<Utc>>,
    /// Clock of the run: nothing later comes back.
    pub to: DateTime<Utc>,
}

/// One series that a job fills.
#[derive(Debug, Clone, PartialEq)]
pub struct Want {
    /// Series.
    pub series: SeriesSource,
    /// Cadence.
    pub cadence: Cadence,
}

/// One logical fetch: a request with all its pages, or a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Service, a name of [`SERVICES`].
    pub service: &'static str,
    /// Kind of request, in the service's own word.
    pub kind: &'static str,
    /// Station, position or file, as the user knows it.
    pub station: String,
    /// What is asked, in the service's words.
    pub what: String,
    /// First and last time asked for, as text; `None` for a file.
    pub window: Option<(String, String)>,
    /// Host the request goes to; empty for a file.
    pub host: &'static str,
    /// Path on the host, or of the file.
    pub path: String,
    /// Parameters, in order.
    pub query: Vec<(String, String)>,
    /// Series that it fills.
    pub wants: Vec<Want>,
    /// Clock of the run: nothing later comes back.
    pub as_of: DateTime<Utc>,
}

impl Job {
    /// A line for progress bars and messages: service, station, what, window.
    pub fn label(&self) -> String {
        let mut label = format!("{} {} {}", self.service, self.kind, self.station);
        if !self.what.is_empty() {
            label.push(' ');
            label.push_str(&self.what);
        }
        if let Some((from, to)) = &self.window {
            label.push_str(&format!(" {from}..{to}"));
        }
        label
    }
}

/// What a service says of a station.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Station.
    pub id: String,
    /// Its name.
    pub name: Option<String>,
    /// Latitude, degrees north.
    pub latitude_deg: Option<f64>,
    /// Longitude, degrees east.
    pub longitude_deg: Option<f64>,
    /// Vertical datum of its altitude.
    pub vertical_datum: Option<String>,
    /// Abbreviation of its standard time zone.
    pub time_zone: Option<String>,
}

/// A row that was left out; the others stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowFault {
    /// Where: `line 12`, `features[3]`, `hourly.time[7]`.
    pub place: String,
    /// What was found there.
    pub found: String,
    /// What was wanted.
    pub wanted: &'static str,
}

impl std::fmt::Display for RowFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: found {}, wanted {}", self.place, self.found, self.wanted)
    }
}

/// What a job brought.
#[derive(Debug, Clone, PartialEq)]
pub enum Fetched {
    /// Observations of one series.
    Observations(Batch),
    /// A forecast of one series.
    Forecast(ForecastBatch),
    /// A single run of a series that an ensemble serves as well: to be used only where the ensemble
    /// did not come.
    StandInForecast(ForecastBatch),
    /// A station's own description.
    Station(Station),
    /// Nothing has changed since the last fetch of the same request.
    NotModified {
        /// Series that would have been filled.
        series: Vec<SeriesId>,
    },
    /// Rows that were left out, of which series.
    Faults {
        /// Series.
        series: SeriesId,
        /// Faults.
        faults: Vec<RowFault>,
    },
}

/// The requests that fill `needs`, those of one service together, in the order of [`SERVICES`].
/// A need whose service is not known, or whose window is empty, gives no job; the check of the lake
/// file names the former.
pub fn jobs(lake: &Lake, needs: &[Need<'_>]) -> Vec<Job> {
    SERVICES
        .iter()
        .flat_map(|service| {
            let own: Vec<Need<'_>> = needs
                .iter()
                .copied()
                .filter(|n| n.series.service == service.name)
                .collect();
            (service.jobs)(lake, &own)
        })
        .collect()
}

/// One request for each station that can say what its datum is.
pub fn station_jobs(lake: &Lake, as_of: DateTime<Utc>) -> Vec<Job> {
    SERVICES
        .iter()
        .flat_map(|service| (service.station_jobs)(lake, as_of))
        .collect()
}

/// Does one job. Rows later than `job.as_of` are dropped, daily values whose day has not ended by then too.
///
/// # Errors
/// [`SourceError`]: the bytes do not arrive, cannot be read, or the lake file does not say enough.
pub async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    (service(job.service)?.run)(client, lake, job).await
}
