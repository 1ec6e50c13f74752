//! Layers and observations of the service to forecasts and observations of a lake's series.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Duration, DurationRound as _, Utc};

use super::grid::Grid;
use super::observation::Observations;
use super::table::{Layer, layer_of};
use crate::series::{Approval, Batch, ForecastBatch, Member, Observation, Provenance};
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Want};
use crate::sources::unit::{Conversion, conversion};

/// Observations of one series, and what was left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// Observations, time increasing.
    pub batch: Batch,
    /// Figures that cannot be used.
    pub faults: Vec<RowFault>,
}

/// A layer of the raw grid as a forecast without members, hour by hour. It was issued when the service updated
/// the grid, and begins with that hour, whenever it is fetched, or with that of the clock if it is earlier.
///
/// # Errors
/// [`ReadError::NoVariable`] where the grid has no such layer or the layer no figure, [`ReadError::Unit`].
pub fn to_forecast(
    grid: &Grid,
    want: &Want,
    as_of: DateTime<Utc>,
    retrieved_at: DateTime<Utc>,
    position: &str,
) -> Result<ForecastBatch, ReadError> {
    let place = "the raw grid";
    let layer = layer_for(want, place)?;
    let held = grid
        .layers
        .get(layer.name)
        .filter(|held| held.figures.iter().any(|(_, figure)| figure.is_some()))
        .ok_or_else(|| no_variable(layer.name, place))?;
    let unit = held.unit.as_deref().unwrap_or_default();
    let conversion = conversion(want.series.quantity, want.cadence, unit, layer.name)?;
    let first = grid.updated_at.min(as_of);
    let first_hour = first.duration_trunc(Duration::hours(1)).unwrap_or(first);
    let steps: Vec<(DateTime<Utc>, Option<f64>)> = held
        .hourly(layer.spread)
        .into_iter()
        .filter(|(time, _)| *time >= first_hour)
        .map(|(time, figure)| (time, figure.map(|figure| want.to_lake(conversion, figure))))
        .collect();
    Ok(ForecastBatch {
        key: want.key(),
        issued_at: grid.updated_at,
        provenance: provenance(layer, unit, position, retrieved_at),
        time: steps.iter().map(|(time, _)| *time).collect(),
        members: vec![Member(0)],
        value: vec![steps.into_iter().map(|(_, value)| value).collect()],
    })
}

/// The figures of one layer as observations up to the clock of the run. A figure that the service sends as
/// null is a row without value, one whose unit is not known is left out and named. One that the service has
/// rejected (code X) is marked as failed; no other code is judged here.
///
/// # Errors
/// [`ReadError::NoVariable`] where stations do not report it.
pub fn to_batch(
    observed: &Observations,
    want: &Want,
    as_of: DateTime<Utc>,
    retrieved_at: DateTime<Utc>,
) -> Result<Filled, ReadError> {
    let place = "observations";
    let layer = layer_for(want, place)?;
    let name = layer.observed.ok_or_else(|| no_variable(layer.name, place))?;
    let mut units: BTreeMap<&str, (Conversion, Arc<Provenance>)> = BTreeMap::new();
    let mut rows = Vec::new();
    let mut faults = Vec::new();
    let known = observed.rows.iter().filter(|row| row.time <= as_of);
    for row in known.filter(|row| row.station.is_empty() || row.station == want.series.station) {
        let Some(figure) = row.figures.get(name) else {
            continue;
        };
        if !units.contains_key(figure.unit.as_str()) {
            match conversion(want.series.quantity, want.cadence, &figure.unit, name) {
                Ok(conversion) => {
                    let provenance = provenance(layer, &figure.unit, &want.series.station, retrieved_at);
                    units.insert(&figure.unit, (conversion, provenance));
                }
                Err(_) => {
                    faults.push(RowFault {
                        place: format!("{name} at {}", row.time.format("%Y-%m-%dT%H:%M:%SZ")),
                        found: format!("the unit \"{}\"", figure.unit),
                        wanted: "a unit of its quantity",
                    });
                    continue;
                }
            }
        }
        let (conversion, provenance) = &units[figure.unit.as_str()];
        rows.push(Observation {
            time: row.time,
            depth_m: None,
            value: figure.value.map(|value| want.to_lake(*conversion, value)),
            original_value: figure.value,
            approval: Approval::Provisional,
            qualifier: figure.quality.clone(),
            flag: figure.flag(),
            provenance: Arc::clone(provenance),
        });
    }
    // Stations beside each other cannot be here: one time of one station is one row.
    rows.dedup_by_key(|row| row.time);
    Ok(Filled {
        batch: Batch {
            key: want.key(),
            rows,
        },
        faults,
    })
}

fn layer_for(want: &Want, place: &'static str) -> Result<&'static Layer, ReadError> {
    layer_of(&want.series.parameter).ok_or_else(|| no_variable(&want.series.parameter, place))
}

fn no_variable(name: &str, place: &'static str) -> ReadError {
    ReadError::NoVariable {
        variable: name.to_owned(),
        place,
    }
}

fn provenance(layer: &Layer, unit: &str, station: &str, retrieved_at: DateTime<Utc>) -> Arc<Provenance> {
    Arc::new(Provenance {
        service: super::NAME.to_owned(),
        station: station.to_owned(),
        parameter: layer.name.to_owned(),
        original_unit: unit.to_owned(),
        retrieved_at,
    })
}
