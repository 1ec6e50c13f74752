//! From what a lake needs to requests, and from a request to batches.

use chrono::{DateTime, Datelike, Days, Duration, NaiveDate, Utc};

use super::client::{Client, Request};
use super::error::SourceError;
use super::registry::{SERVICES, StationNeed, service};
use super::unit::Conversion;
use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake, SeriesId, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{AlertReply, Batch, ForecastBatch, SeriesKey};

/// Days of values within the day that are fetched where the lake file names no first day.
pub const RECENT_DAYS: i64 = 60;

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
    /// Earliest instant to fetch; `None` for all.
    pub from: Option<DateTime<Utc>>,
}

impl Want {
    /// What fills a need.
    pub fn of(need: &Need<'_>) -> Want {
        Want {
            series: need.series.clone(),
            cadence: need.cadence,
            from: need.from,
        }
    }

    /// The key of what it fills.
    pub fn key(&self) -> SeriesKey {
        SeriesKey {
            id: self.series.id.clone(),
            cadence: self.cadence,
        }
    }

    /// Value in SI and the lake's datum of a figure.
    pub(super) fn to_lake(&self, conversion: Conversion, figure: f64) -> f64 {
        let offset_m = if self.series.quantity == Quantity::PoolElevation {
            // Checked by `check_series`, so a missing one cannot get here unseen.
            self.series.datum_offset_m.unwrap_or(f64::NAN)
        } else {
            0.0
        };
        conversion.to_si(figure) + offset_m
    }
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
    /// The request that it makes, or the first one.
    pub(super) fn request(&self) -> Request<'_> {
        Request {
            service: self.service,
            host: self.host,
            path: &self.path,
            query: &self.query,
        }
    }

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
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
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
    /// Official alerts at the lake's position.
    Alerts(AlertReply),
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

/// The request for the official alerts of a lake; `None` where its file names no service of them, or one
/// that has none, which the check of the lake file refuses.
pub fn alert_job(lake: &Lake, as_of: DateTime<Utc>) -> Option<Job> {
    let source = lake.official_alerts.as_ref()?;
    let make = service(&source.service).ok()?.alert_job?;
    Some(make(lake, as_of))
}

/// What is wrong with how a series is described, as far as its service can tell; empty when nothing is.
pub fn check_series(series: &SeriesSource) -> Vec<SourceError> {
    let service = match service(&series.service) {
        Ok(service) => service,
        Err(fault) => return vec![fault],
    };
    let mut faults = Vec::new();
    let mut missing = |wanted| {
        faults.push(SourceError::NotDescribed {
            series: series.id.clone(),
            service: service.name,
            wanted,
        });
    };
    if series.quantity == Quantity::PoolElevation && series.datum_offset_m.is_none() {
        missing("datum_offset");
    }
    match service.station {
        StationNeed::Station(form) if series.station.trim().is_empty() => missing(form),
        StationNeed::StationFor(form, cadences)
            if series.station.trim().is_empty() && series.cadences.iter().any(|c| cadences.contains(c)) =>
        {
            missing(form);
        }
        StationNeed::File if series.csv.is_none() => missing("csv"),
        _ => {}
    }
    for cadence in &series.cadences {
        if let Some((found, wanted)) = (service.refuses)(series, *cadence) {
            faults.push(SourceError::NotOffered {
                series: series.id.clone(),
                service: service.name,
                found,
                wanted,
            });
        }
    }
    faults
}

/// First and last standard-time day to fetch daily values of; `None` for none. Without a first day in
/// the lake file, a year back.
pub(super) fn daily_range(clock: LakeClock, need: &Need<'_>) -> Option<(NaiveDate, NaiveDate)> {
    let today = clock.standard_day(need.to);
    let series = need.series;
    let first = series
        .daily_from
        .or_else(|| today.checked_sub_days(Days::new(365)))?;
    let first = need
        .from
        .map_or(first, |from| first.max(clock.standard_day(from)));
    let last = series.daily_until.map_or(today, |until| today.min(until));
    (first <= last).then_some((first, last))
}

/// First instant to fetch values within the day of; `None` for none. Without a first day in the lake
/// file, [`RECENT_DAYS`] back.
pub(super) fn continuous_start(
    need: &Need<'_>,
    day_start: impl Fn(NaiveDate) -> DateTime<Utc>,
) -> Option<DateTime<Utc>> {
    let recent = need.to - Duration::days(RECENT_DAYS);
    let first = need.series.continuous_from.map_or(recent, day_start);
    let first = need.from.map_or(first, |from| first.max(from));
    (first <= need.to).then_some(first)
}

/// The time from [`continuous_start`] to the clock of the run, in pieces of at most `most`.
pub(super) fn continuous_blocks(
    clock: LakeClock,
    need: &Need<'_>,
    most: Duration,
) -> Vec<(DateTime<Utc>, DateTime<Utc>)> {
    let mut blocks = Vec::new();
    let mut from = continuous_start(need, |day| clock.standard_day_start(day)).unwrap_or(need.to);
    while from < need.to {
        let to = need.to.min(from + most);
        blocks.push((from, to));
        from = to;
    }
    blocks
}

/// Calendar years, `years` of them at a time from the first on, cut to `first..=last`.
pub(super) fn year_blocks(first: NaiveDate, last: NaiveDate, years: i32) -> Vec<(NaiveDate, NaiveDate)> {
    let mut blocks = Vec::new();
    let mut year = first.year();
    while year <= last.year() {
        let begins = NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or(first).max(first);
        let ends = NaiveDate::from_ymd_opt(year + years - 1, 12, 31)
            .unwrap_or(last)
            .min(last);
        blocks.push((begins, ends));
        year += years;
    }
    blocks
}

/// Longest time between reading the clock and receiving a reply within one run.
const LONGEST_RUN: Duration = Duration::hours(1);

/// When what a service says of the present counts as known: when it was received. A reply that came within
/// the run itself counts as known at the clock of the run, which is read before the first request goes out;
/// one received long after a clock set back stays of today, so that no past morning sees it.
pub(super) fn known_at(received_at: DateTime<Utc>, as_of: DateTime<Utc>) -> DateTime<Utc> {
    let is_of_this_run = received_at > as_of && received_at - as_of <= LONGEST_RUN;
    if is_of_this_run { as_of } else { received_at }
}

/// Does one job. Rows later than `job.as_of` are dropped, daily values whose day has not ended by then too.
///
/// # Errors
/// [`SourceError`]: the bytes do not arrive, cannot be read, or the lake file does not say enough.
pub async fn run(client: &Client, lake: &Lake, job: &Job) -> Result<Vec<Fetched>, SourceError> {
    let service = service(job.service)?;
    for want in &job.wants {
        if let Some(fault) = check_series(&want.series).into_iter().next() {
            return Err(fault);
        }
    }
    (service.run)(client, lake, job).await
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn years_are_asked_for_one_by_one_and_cut_at_both_ends() {
        let blocks = year_blocks(day("2024-11-20"), day("2026-01-17"), 1);
        assert_eq!(
            blocks,
            [
                (day("2024-11-20"), day("2024-12-31")),
                (day("2025-01-01"), day("2025-12-31")),
                (day("2026-01-01"), day("2026-01-17"))
            ]
        );
    }

    #[test]
    fn a_reply_counts_as_known_at_the_clock_of_its_own_run_only() {
        let received_at = DateTime::from_timestamp(1_760_009_400, 0).unwrap();
        let minutes = |n| received_at - Duration::minutes(n);
        assert_eq!(known_at(received_at, minutes(2)), minutes(2));
        assert_eq!(known_at(received_at, minutes(61)), received_at);
        assert_eq!(known_at(received_at, minutes(-5)), received_at);
    }

    #[test]
    fn ten_years_at_a_time_end_with_what_is_left() {
        let blocks = year_blocks(day("1985-01-01"), day("2021-12-31"), 10);
        assert_eq!(blocks.len(), 4);
        assert_eq!(blocks[0], (day("1985-01-01"), day("1994-12-31")));
        assert_eq!(blocks[3], (day("2015-01-01"), day("2021-12-31")));
    }
}
