//! A block of the service to observations and forecasts of a lake's series.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Utc};

use super::read::{Block, Point};
use crate::series::{Approval, Batch, Flag, ForecastBatch, Member, Observation, Provenance};
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Want};
use crate::sources::unit::{Conversion, conversion};

/// What a block filled, and what was left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled<T> {
    /// Observations, or the forecast; `None` where the gauge has none.
    pub filled: T,
    /// Points that contradict an earlier one.
    pub faults: Vec<RowFault>,
}

/// The points of a block as observations up to the clock of the run, sorted by time. Of two for one time the
/// one made later stands, then the one with a value, then the first.
///
/// # Errors
/// [`ReadError::Kind`] where the reply has points and none of its figures has the name of the parameter;
/// [`ReadError::Unit`].
pub fn to_batch(
    block: &Block,
    want: &Want,
    as_of: DateTime<Utc>,
    retrieved_at: DateTime<Utc>,
) -> Result<Filled<Batch>, ReadError> {
    let mut batch = Batch {
        key: want.key(),
        rows: Vec::new(),
    };
    if block.points.is_empty() {
        let faults = Vec::new();
        return Ok(Filled {
            filled: batch,
            faults,
        });
    }
    let figure = Chosen::of(block, want, retrieved_at)?;
    let (points, faults) = figure.in_order(block);
    let known = points.into_iter().filter(|point| point.time <= as_of);
    batch.rows = known.map(|point| figure.observation(point)).collect();
    Ok(Filled {
        filled: batch,
        faults,
    })
}

/// The points of a block as a forecast without members. `None` where it has no figure: many gauges are forecast at
/// high water only.
///
/// # Errors
/// As of [`to_batch`], and [`ReadError::Kind`] for points without the time of issue.
pub fn to_forecast(
    block: &Block,
    want: &Want,
    retrieved_at: DateTime<Utc>,
) -> Result<Filled<Option<ForecastBatch>>, ReadError> {
    let nothing = |faults| Filled { filled: None, faults };
    if block.points.is_empty() {
        return Ok(nothing(Vec::new()));
    }
    let figure = Chosen::of(block, want, retrieved_at)?;
    let (points, faults) = figure.in_order(block);
    if points.iter().all(|point| figure.value(point).is_none()) {
        return Ok(nothing(faults));
    }
    let issued_at = block.issued_at.ok_or_else(|| ReadError::Kind {
        found: "a forecast without its issuedTime".to_owned(),
        wanted: "one that says when it was issued".to_owned(),
    })?;
    let forecast = ForecastBatch {
        key: want.key(),
        issued_at,
        provenance: Arc::clone(&figure.provenance),
        time: points.iter().map(|point| point.time).collect(),
        members: vec![Member(0)],
        value: vec![points.iter().map(|point| figure.value(point)).collect()],
    };
    Ok(Filled {
        filled: Some(forecast),
        faults,
    })
}

/// The figure of the points that a series wants.
struct Chosen<'a> {
    want: &'a Want,
    which: usize,
    conversion: Conversion,
    provenance: Arc<Provenance>,
}

impl<'a> Chosen<'a> {
    fn of(block: &Block, want: &'a Want, retrieved_at: DateTime<Utc>) -> Result<Chosen<'a>, ReadError> {
        let name = want.series.parameter.trim();
        let named: Vec<usize> = (0..block.columns.len())
            .filter(|k| block.columns[*k].name.eq_ignore_ascii_case(name))
            .collect();
        let &[which] = named.as_slice() else {
            let [first, second] = &block.columns;
            return Err(ReadError::Kind {
                found: format!(
                    "primary \"{}\" in {}, secondary \"{}\" in {}",
                    first.name, first.unit, second.name, second.unit
                ),
                wanted: format!("one of them named \"{name}\""),
            });
        };
        let unit = &block.columns[which].unit;
        Ok(Chosen {
            want,
            which,
            conversion: conversion(want.series.quantity, want.cadence, unit, name)?,
            provenance: Arc::new(Provenance {
                service: super::NAME.to_owned(),
                station: want.series.station.clone(),
                parameter: name.to_owned(),
                original_unit: unit.clone(),
                retrieved_at,
            }),
        })
    }

    /// The points by time, each time once.
    fn in_order<'b>(&self, block: &'b Block) -> (Vec<&'b Point>, Vec<RowFault>) {
        let mut by_time: BTreeMap<DateTime<Utc>, &Point> = BTreeMap::new();
        let mut faults = Vec::new();
        for point in &block.points {
            let Some(held) = by_time.get(&point.time) else {
                by_time.insert(point.time, point);
                continue;
            };
            let (old, new) = (held.figures[self.which], point.figures[self.which]);
            let supersedes = point.generated_at > held.generated_at || old.is_none() && new.is_some();
            if supersedes && new.is_some() {
                by_time.insert(point.time, point);
            } else if new.is_some() && new != old && point.generated_at == held.generated_at {
                faults.push(RowFault {
                    place: format!("{}", point.time.format("%Y-%m-%dT%H:%M:%SZ")),
                    found: "a second value".to_owned(),
                    wanted: "one value a time; the first was kept",
                });
            }
        }
        (by_time.into_values().collect(), faults)
    }

    fn value(&self, point: &Point) -> Option<f64> {
        point.figures[self.which].map(|figure| self.want.to_lake(self.conversion, figure))
    }

    fn observation(&self, point: &Point) -> Observation {
        let value = self.value(point);
        Observation {
            time: point.time,
            depth_m: None,
            value,
            original_value: point.figures[self.which],
            // What a gauge sends by the hour is never the reviewed record.
            approval: Approval::Provisional,
            qualifier: point.missing[self.which].clone(),
            flag: if value.is_some() {
                Flag::NotEvaluated
            } else {
                Flag::Missing
            },
            provenance: Arc::clone(&self.provenance),
        }
    }
}
