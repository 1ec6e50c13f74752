//! Observations and forecasts in SI, UTC and the lake's datum, with where they came from.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::Flag;
use crate::lake::{Cadence, SeriesId};

/// Which series of a lake, at which cadence.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SeriesKey {
    /// Series of the lake file.
    pub id: SeriesId,
    /// Cadence.
    pub cadence: Cadence,
}

/// Provisional or approved.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Approval {
    /// The service does not say.
    Unstated,
    /// May still be revised.
    Provisional,
    /// Reviewed by the service.
    Approved,
}

impl Approval {
    /// The word for it; none where the service does not say.
    pub fn word(self) -> &'static str {
        match self {
            Approval::Unstated => "",
            Approval::Provisional => "provisional",
            Approval::Approved => "approved",
        }
    }
}

/// Where a batch of values came from.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Provenance {
    /// Service name.
    pub service: String,
    /// Station at the service, or position, or file.
    pub station: String,
    /// The service's parameter.
    pub parameter: String,
    /// Unit as the service gave it.
    pub original_unit: String,
    /// When the bytes were received.
    pub retrieved_at: DateTime<Utc>,
}

/// One observation.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Instant, or for daily values the instant at which the standard-time day begins.
    pub time: DateTime<Utc>,
    /// Depth below the surface, for profiles.
    pub depth_m: Option<f64>,
    /// Value in the SI unit of the quantity and the lake's datum; `None` when the service sent none.
    pub value: Option<f64>,
    /// Value as the service gave it.
    pub original_value: Option<f64>,
    /// Provisional or approved.
    pub approval: Approval,
    /// The service's qualifier, as text.
    pub qualifier: Option<String>,
    /// Quality flag; `NotEvaluated` until `quality` has run, `Missing` when there is no value.
    pub flag: Flag,
    /// Values with the same provenance share it.
    pub provenance: std::sync::Arc<Provenance>,
}

/// Observations of one series, as they came in one fetch.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// Series.
    pub key: SeriesKey,
    /// Observations; time increasing, no time (and depth) twice.
    pub rows: Vec<Observation>,
}

/// Member of an ensemble: 0 is the control, or the only run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Member(pub u16);

/// A forecast of one series as it was issued.
#[derive(Debug, Clone, PartialEq)]
pub struct ForecastBatch {
    /// Series; its cadence is `Forecast`.
    pub key: SeriesKey,
    /// When it was issued; where the service does not say, when it was received.
    pub issued_at: DateTime<Utc>,
    /// Provenance.
    pub provenance: std::sync::Arc<Provenance>,
    /// Times of the steps, increasing. Shape `[step]`.
    pub time: Vec<DateTime<Utc>>,
    /// Members.
    pub members: Vec<Member>,
    /// Values in SI, `value[member][step]`.
    pub value: Vec<Vec<Option<f64>>>,
}
