//! All series of a lake up to the clock of a brief, in memory.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use super::{AlertReply, ForecastBatch, Gap, Observation, SeriesKey};
use crate::lake::{Cadence, SeriesId};

/// The series of a lake as they were known at `as_of`.
#[derive(Debug, Clone, Default)]
pub struct SeriesSet {
    /// Clock; no observation is later, no forecast was issued later.
    pub as_of: DateTime<Utc>,
    /// Observations by series, time increasing.
    pub observations: BTreeMap<SeriesKey, Vec<Observation>>,
    /// Newest forecast of each series.
    pub forecasts: BTreeMap<SeriesId, ForecastBatch>,
    /// Newest reply of official alerts; `None` where none was fetched by then.
    pub alerts: Option<AlertReply>,
    /// Forecasts of air temperature issued in the 30 days before `as_of`, one a day, cut to 24 h from their
    /// issue; oldest first. The newest forecast is not among them.
    pub earlier_runs: BTreeMap<SeriesId, Vec<ForecastBatch>>,
    /// What could not be read or fetched.
    pub gaps: Vec<Gap>,
}

impl SeriesSet {
    /// Observations of one series and cadence; empty when there are none.
    pub fn observations(&self, id: &SeriesId, cadence: Cadence) -> &[Observation] {
        let key = SeriesKey {
            id: id.clone(),
            cadence,
        };
        self.observations.get(&key).map_or(&[], Vec::as_slice)
    }

    /// Newest forecast of one series.
    pub fn forecast(&self, id: &SeriesId) -> Option<&ForecastBatch> {
        self.forecasts.get(id)
    }

    /// Forecasts of one series issued before its newest, cut to their first day.
    pub fn earlier_runs(&self, id: &SeriesId) -> &[ForecastBatch] {
        self.earlier_runs.get(id).map_or(&[], Vec::as_slice)
    }
}
