//! What a pull did, as a value.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use crate::conditions::allowed_age_h;
use crate::lake::{Cadence, Lake, SeriesSource};
use crate::series::{Flag, SeriesSet};

/// What a pull of one lake did.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PulledLake {
    /// Id of the lake.
    pub lake: String,
    /// Its name; the text that named it where its file cannot be read.
    pub name: String,
    /// Clock of the run.
    pub as_of: Option<DateTime<Utc>>,
    /// Requests made.
    pub requests: usize,
    /// Every series of the lake file at each of its cadences, in its order.
    pub series: Vec<PulledSeries>,
    /// What failed, one a service and reason.
    pub failures: Vec<PullFailure>,
    /// Rows of replies that were left out, in words.
    pub left_out: Vec<String>,
    /// How far the lake's water was run afterwards; `None` where that was not come to.
    pub water: Option<PulledWater>,
    /// Why the lake was not pulled at all.
    pub error: Option<String>,
}

/// How far the columns of a lake were run after a pull.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum PulledWater {
    /// Up to an instant.
    Run {
        /// The instant.
        to: DateTime<Utc>,
        /// Day of the saved state that the run began with; `None` of a cold start.
        from_day: Option<NaiveDate>,
        /// Beginning of the cold run that all states come from.
        cold_start: DateTime<Utc>,
        /// Hours run.
        hours: usize,
        /// Readings of the water taken up.
        readings: usize,
        /// States saved.
        saved: usize,
        /// Saved states that did not stand any more, or could not be read or written, in words.
        told: Vec<String>,
    },
    /// Not at all.
    NotRun {
        /// Why.
        why: String,
    },
}

/// One series at one cadence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PulledSeries {
    /// Series.
    pub series: String,
    /// Cadence.
    pub cadence: String,
    /// Service.
    pub service: String,
    /// Values that are new.
    pub added: usize,
    /// Values that took the place of others.
    pub revised: usize,
    /// Time of the newest value that is not missing or refused; of a forecast its issue.
    pub newest: Option<DateTime<Utc>>,
    /// Its age.
    pub age_h: Option<f64>,
    /// Age from which on it is late; `None` of a series that has ended.
    pub late_after_h: Option<f64>,
    /// Whether it is late, or nothing is there at all.
    pub late: bool,
    /// Whether a request for it failed.
    pub failed: bool,
}

/// What failed for one reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PullFailure {
    /// Service.
    pub service: String,
    /// Why.
    pub message: String,
    /// Requests.
    pub requests: usize,
    /// Series they would have filled.
    pub series: Vec<String>,
    /// Whether official alerts were among them.
    pub official_alerts: bool,
}

impl PulledSeries {
    /// A series as it stands in a flagged set; what came of it and whether it failed is still to be said.
    pub fn standing(set: &SeriesSet, source: &SeriesSource, cadence: Cadence, lake: &Lake) -> PulledSeries {
        let newest = match cadence {
            Cadence::Forecast => set.forecast(&source.id).map(|f| f.issued_at),
            Cadence::Daily | Cadence::Continuous => set
                .observations(&source.id, cadence)
                .iter()
                .filter(|o| o.value.is_some() && o.flag != Flag::Fail)
                .map(|o| o.time)
                .max(),
        };
        let today = crate::clock::LakeClock::new(lake.time_zone).standard_day(set.as_of);
        let ended = cadence == Cadence::Daily && source.daily_until.is_some_and(|last| last < today);
        let late_after_h = (!ended).then(|| allowed_age_h(source, cadence));
        let age_h = newest.map(|newest| (set.as_of - newest).num_seconds() as f64 / 3600.0);
        PulledSeries {
            series: source.id.to_string(),
            cadence: match cadence {
                Cadence::Daily => "daily",
                Cadence::Continuous => "continuous",
                Cadence::Forecast => "forecast",
            }
            .to_owned(),
            service: source.service.clone(),
            added: 0,
            revised: 0,
            newest,
            age_h,
            late_after_h,
            late: age_h.is_none_or(|age_h| late_after_h.is_some_and(|after_h| age_h > after_h)),
            failed: false,
        }
    }
}
