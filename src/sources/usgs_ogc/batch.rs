//! Rows of the service to observations of a lake's series: SI, UTC, datum, one value a time.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Utc};

use super::read::Row;
use super::table::code_and_choice;
use crate::clock::LakeClock;
use crate::lake::Cadence;
use crate::series::{Batch, Flag, Observation, Provenance};
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Want};
use crate::sources::stamp::Stamp;
use crate::sources::unit::{Conversion, conversion};

/// Observations of one series, and what was left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// Observations, time increasing.
    pub batch: Batch,
    /// Rows that do not fit the cadence.
    pub faults: Vec<RowFault>,
    /// Rows later than the clock of the run.
    pub too_late: usize,
}

/// The rows that belong to `want`, sorted by time. Of two for one time the approved one stands, then
/// the one that the service touched last. Nothing later than `as_of` comes through, and no daily value
/// whose standard-time day has not ended by then.
///
/// # Errors
/// [`ReadError::SeveralSensors`] where rows of more than one time series fit and the lake file chooses
/// none; [`ReadError::Unit`].
pub fn to_batch(
    rows: &[Row],
    want: &Want,
    clock: LakeClock,
    as_of: DateTime<Utc>,
    retrieved_at: DateTime<Utc>,
) -> Result<Filled, ReadError> {
    let (code, choice) = code_and_choice(&want.series.parameter);
    let fitting: Vec<&Row> = rows.iter().filter(|row| fits(row, want, code, choice)).collect();
    one_sensor(&fitting, code)?;

    let mut faults = Vec::new();
    let mut too_late = 0;
    let mut units = Units::new(want, retrieved_at);
    // Keyed by time; the row kept beside the observation decides between two.
    let mut by_time: BTreeMap<DateTime<Utc>, (&Row, Observation)> = BTreeMap::new();
    for row in fitting {
        let Some((time, known_at)) = time_of(row.stamp, want.cadence, clock) else {
            faults.push(misfit(row, want.cadence));
            continue;
        };
        if known_at > as_of {
            too_late += 1;
            continue;
        }
        if by_time.get(&time).is_some_and(|(held, _)| !supersedes(row, held)) {
            continue;
        }
        let observation = units.observation(row, time)?;
        by_time.insert(time, (row, observation));
    }
    let rows = by_time
        .into_values()
        .map(|(_, observation)| observation)
        .collect();
    Ok(Filled {
        batch: Batch {
            key: want.key(),
            rows,
        },
        faults,
        too_late,
    })
}

fn fits(row: &Row, want: &Want, code: &str, choice: Option<&str>) -> bool {
    let statistic = want.series.statistic.as_deref();
    let same_statistic = match (want.cadence, statistic, row.statistic.as_deref()) {
        (Cadence::Daily, Some(wanted), Some(found)) => wanted == found,
        _ => true,
    };
    row.parameter == code
        && (row.station.is_empty() || row.station == want.series.station)
        && same_statistic
        && choice.is_none_or(|id| row.series_id == id)
}

fn one_sensor(rows: &[&Row], code: &str) -> Result<(), ReadError> {
    let mut ids: Vec<String> = rows.iter().map(|row| row.series_id.clone()).collect();
    ids.sort();
    ids.dedup();
    if ids.len() > 1 {
        Err(ReadError::SeveralSensors {
            parameter: code.to_owned(),
            ids,
        })
    } else {
        Ok(())
    }
}

/// Time of an observation, and when it can first be known: for a day, its end.
fn time_of(stamp: Stamp, cadence: Cadence, clock: LakeClock) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    match (stamp, cadence) {
        (Stamp::Day(day), Cadence::Daily) => Some((
            clock.standard_day_start(day),
            clock.standard_day_start(day.succ_opt()?),
        )),
        (Stamp::Instant(instant), Cadence::Continuous) => Some((instant, instant)),
        _ => None,
    }
}

fn misfit(row: &Row, cadence: Cadence) -> RowFault {
    let wanted = if cadence == Cadence::Daily {
        "a day"
    } else {
        "an instant"
    };
    RowFault {
        place: format!("time of parameter {}", row.parameter),
        found: row.stamp.to_string(),
        wanted,
    }
}

fn supersedes(new: &Row, held: &Row) -> bool {
    (new.approval, new.last_modified) > (held.approval, held.last_modified)
}

/// Conversions and provenance by unit, so that each is looked up and stored once.
struct Units<'a> {
    want: &'a Want,
    retrieved_at: DateTime<Utc>,
    known: BTreeMap<String, (Conversion, Arc<Provenance>)>,
    without_value: Option<Arc<Provenance>>,
}

impl<'a> Units<'a> {
    fn new(want: &'a Want, retrieved_at: DateTime<Utc>) -> Self {
        Units {
            want,
            retrieved_at,
            known: BTreeMap::new(),
            without_value: None,
        }
    }

    fn provenance(&self, unit: &str) -> Arc<Provenance> {
        Arc::new(Provenance {
            // The older service of the same agency has rows of the same kind.
            service: self.want.series.service.clone(),
            station: self.want.series.station.clone(),
            parameter: self.want.series.parameter.clone(),
            original_unit: unit.to_owned(),
            retrieved_at: self.retrieved_at,
        })
    }

    fn observation(&mut self, row: &Row, time: DateTime<Utc>) -> Result<Observation, ReadError> {
        let (value, provenance) = match row.value {
            Some(figure) => {
                if !self.known.contains_key(&row.unit) {
                    let what = format!("parameter {}", row.parameter);
                    let found = conversion(self.want.series.quantity, self.want.cadence, &row.unit, &what)?;
                    self.known
                        .insert(row.unit.clone(), (found, self.provenance(&row.unit)));
                }
                let (conversion, provenance) = &self.known[&row.unit];
                (
                    Some(self.want.to_lake(*conversion, figure)),
                    Arc::clone(provenance),
                )
            }
            None => {
                let provenance = self
                    .without_value
                    .take()
                    .unwrap_or_else(|| self.provenance(&row.unit));
                self.without_value = Some(Arc::clone(&provenance));
                (None, provenance)
            }
        };
        Ok(Observation {
            time,
            depth_m: self.want.series.depth_m,
            value,
            original_value: row.value,
            approval: row.approval,
            qualifier: row.qualifier.clone(),
            flag: if value.is_some() {
                Flag::NotEvaluated
            } else {
                Flag::Missing
            },
            provenance,
        })
    }
}
