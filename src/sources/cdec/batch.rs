//! Rows of the service to observations of a lake's series: SI, UTC, datum, one value a time.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Utc};

use super::read::{Row, instant};
use super::table::{number_and_choice, step_of};
use crate::clock::LakeClock;
use crate::lake::Cadence;
use crate::series::{Approval, Batch, Flag, Observation, Provenance};
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Want};
use crate::sources::unit::{Conversion, conversion};

/// Observations of one series, and what was left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// Observations, time increasing.
    pub batch: Batch,
    /// Rows that contradict an earlier one.
    pub faults: Vec<RowFault>,
}

/// The rows that belong to `want`, sorted by time. Of two for one time one with a value goes before one without,
/// else the first stands, and a second that differs is named. Nothing later than `as_of` comes through, and no
/// daily value whose day, or whose reading, is not over by then.
///
/// # Errors
/// [`ReadError::Kind`] where the reply has rows and none of the station, sensor and step asked for;
/// [`ReadError::Unit`].
pub fn to_batch(
    rows: &[Row],
    want: &Want,
    clock: LakeClock,
    as_of: DateTime<Utc>,
    retrieved_at: DateTime<Utc>,
) -> Result<Filled, ReadError> {
    let asked = number_and_choice(&want.series.parameter)
        .and_then(|(number, choice)| Some((number, step_of(choice, want.cadence)?)));
    let Some((number, step)) = asked else {
        let wanted = format!("{} at no step", want.series.parameter);
        return Err(other_rows(rows, want, &wanted));
    };
    let fits = |row: &&Row| {
        row.sensor == number
            && row.step == step.letter()
            && row.station.eq_ignore_ascii_case(&want.series.station)
    };
    let fitting: Vec<&Row> = rows.iter().filter(fits).collect();
    if fitting.is_empty() && !rows.is_empty() {
        let wanted = format!("{number}/{}", step.letter());
        return Err(other_rows(rows, want, &wanted));
    }
    let mut units = Units::new(want, number, retrieved_at);
    let mut faults = Vec::new();
    let mut by_time: BTreeMap<DateTime<Utc>, (&Row, Observation)> = BTreeMap::new();
    for row in fitting {
        let Some((time, known_at)) = times_of(row, want.cadence, clock) else {
            faults.push(fault(
                row,
                "a time out of range",
                "a time of this age of the world",
            ));
            continue;
        };
        if known_at > as_of {
            continue;
        }
        if let Some((held, _)) = by_time.get(&time) {
            let fills = held.value.is_none() && row.value.is_some();
            if !fills {
                if row.value.is_some() && row.value != held.value {
                    faults.push(fault(
                        row,
                        "a second value",
                        "one value a time; the first was kept",
                    ));
                }
                continue;
            }
        }
        by_time.insert(time, (row, units.observation(row, time)?));
    }
    Ok(Filled {
        batch: Batch {
            key: want.key(),
            rows: by_time
                .into_values()
                .map(|(_, observation)| observation)
                .collect(),
        },
        faults,
    })
}

/// Time of an observation, and when it can first be known: a day is that of its date, on the lake's clock.
fn times_of(row: &Row, cadence: Cadence, clock: LakeClock) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let time = instant(row.civil)?;
    let taken = row.taken.map_or(Some(time), instant)?;
    if cadence != Cadence::Daily {
        return Some((time, time.max(taken)));
    }
    let day = row.civil.date();
    let ends = clock.standard_day_start(day.succ_opt()?);
    Some((clock.standard_day_start(day), ends.max(taken)))
}

fn fault(row: &Row, found: &str, wanted: &'static str) -> RowFault {
    RowFault {
        place: format!("{} {} at {} PST", row.station, row.sensor, row.civil),
        found: found.to_owned(),
        wanted,
    }
}

fn other_rows(rows: &[Row], want: &Want, wanted: &str) -> ReadError {
    let found = rows.first().map_or("no rows".to_owned(), |row| {
        format!("rows of {} {}/{}", row.station, row.sensor, row.step)
    });
    ReadError::Kind {
        found,
        wanted: format!("rows of {} {wanted}", want.series.station),
    }
}

/// Conversions and provenance by unit, so that each is looked up and stored once.
struct Units<'a> {
    want: &'a Want,
    number: u32,
    retrieved_at: DateTime<Utc>,
    known: BTreeMap<String, (Option<Conversion>, Arc<Provenance>)>,
}

impl<'a> Units<'a> {
    fn new(want: &'a Want, number: u32, retrieved_at: DateTime<Utc>) -> Self {
        Units {
            want,
            number,
            retrieved_at,
            known: BTreeMap::new(),
        }
    }

    fn observation(&mut self, row: &Row, time: DateTime<Utc>) -> Result<Observation, ReadError> {
        let found = || {
            conversion(
                self.want.series.quantity,
                self.want.cadence,
                &row.unit,
                &format!("sensor {}", self.number),
            )
        };
        if !self.known.contains_key(&row.unit) {
            let provenance = Provenance {
                service: super::NAME.to_owned(),
                station: self.want.series.station.clone(),
                parameter: self.want.series.parameter.clone(),
                original_unit: row.unit.clone(),
                retrieved_at: self.retrieved_at,
            };
            self.known
                .insert(row.unit.clone(), (found().ok(), Arc::new(provenance)));
        }
        let (conversion, provenance) = &self.known[&row.unit];
        let value = match (row.value, conversion) {
            (Some(figure), Some(conversion)) => Some(self.want.to_lake(*conversion, figure)),
            // Asked again, for its words: only a row with a value needs its unit.
            (Some(figure), None) => Some(self.want.to_lake(found()?, figure)),
            (None, _) => None,
        };
        Ok(Observation {
            time,
            depth_m: self.want.series.depth_m,
            value,
            original_value: row.value,
            approval: Approval::Unstated,
            qualifier: row.qualifier.clone(),
            flag: if value.is_some() {
                Flag::NotEvaluated
            } else {
                Flag::Missing
            },
            provenance: Arc::clone(provenance),
        })
    }
}
