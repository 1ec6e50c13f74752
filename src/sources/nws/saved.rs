//! Saved replies of every kind the service has, told apart by what they hold.

use chrono::{DateTime, Utc};

use super::alert::read_alerts;
use super::grid::read_grid;
use super::observation::read_observations;
use super::period::periods;
use super::point::{read_point, read_stations};
use super::table::layer_of;
use crate::lake::Cadence;
use crate::series::Alert;
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Station};
use crate::sources::reply::begins_with_word;
use crate::sources::saved::{Saved, SavedRecord};

/// Whether bytes look like a reply of this service.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    begins_with_word(bytes, "api.weather.gov")
}

/// The records of a saved reply.
///
/// # Errors
/// [`ReadError`]: none of the kinds, or damaged.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    let has = |word: &str| begins_with_word(bytes, word);
    let (kind, (records, faults)) = if has("\"observationStations\"") && !has("\"stationIdentifier\"") {
        ("grid cell of a position", point(bytes)?)
    } else if has("\"stationIdentifier\"") {
        ("stations", stations(bytes)?)
    } else if has("wx:Alert") || has("/alerts/") || has("watches, warnings, and advisories") {
        ("alerts", alerts(bytes)?)
    } else if has("\"periods\"") {
        ("forecast in words", forecast(bytes)?)
    } else if has("wx:Gridpoint\"") || has("\"validTimes\"") {
        ("raw grid", grid(bytes)?)
    } else {
        // A problem body speaks for itself, whichever reader it meets.
        ("observations", observations(bytes)?)
    };
    Ok(Saved {
        service: super::NAME,
        kind: kind.to_owned(),
        records,
        faults,
    })
}

type Parts = (Vec<SavedRecord>, Vec<RowFault>);

fn point(bytes: &[u8]) -> Result<Parts, ReadError> {
    let point = read_point(bytes)?;
    let note = [
        point.time_zone.clone().map(|zone| format!("time zone {zone}")),
        point
            .forecast_zone
            .clone()
            .map(|zone| format!("forecast zone {zone}")),
    ];
    let record = SavedRecord {
        note: note.into_iter().flatten().collect::<Vec<_>>().join(", "),
        ..SavedRecord::of(&format!("{}/{},{}", point.office, point.grid_x, point.grid_y), "")
    };
    Ok((vec![record], Vec::new()))
}

fn stations(bytes: &[u8]) -> Result<Parts, ReadError> {
    let (stations, faults) = read_stations(bytes)?;
    let record = |station: Station| SavedRecord {
        note: station.name.unwrap_or_default(),
        ..SavedRecord::of(&station.id, "")
    };
    Ok((stations.into_iter().map(record).collect(), faults))
}

fn grid(bytes: &[u8]) -> Result<Parts, ReadError> {
    let grid = read_grid(bytes)?;
    let mut records = Vec::new();
    for (name, layer) in &grid.layers {
        let Some(row) = layer_of(name) else { continue };
        let unit = layer.unit.clone().unwrap_or_default();
        for (time, value) in layer.hourly(row.spread) {
            records.push(SavedRecord {
                time: stamp(time),
                note: format!("issued {}", stamp(grid.updated_at)),
                ..figure(&grid.cell, name, value, &unit, Cadence::Forecast)
            });
        }
    }
    Ok((records, grid.faults))
}

fn forecast(bytes: &[u8]) -> Result<Parts, ReadError> {
    let (periods, faults) = periods(bytes)?;
    let mut records = Vec::new();
    for period in periods {
        for (name, (value, unit)) in &period.figures {
            records.push(SavedRecord {
                time: stamp(period.from),
                note: period.words.clone(),
                ..figure("", name, *value, unit, Cadence::Forecast)
            });
        }
    }
    Ok((records, faults))
}

fn observations(bytes: &[u8]) -> Result<Parts, ReadError> {
    let observed = read_observations(bytes)?;
    let mut records = Vec::new();
    for row in &observed.rows {
        for (name, held) in &row.figures {
            let figure = figure(&row.station, name, held.value, &held.unit, Cadence::Continuous);
            records.push(SavedRecord {
                time: stamp(row.time),
                flag: held.flag(),
                qualifier: held
                    .quality
                    .as_ref()
                    .map_or(String::new(), |code| format!("quality {code}")),
                ..figure
            });
        }
    }
    Ok((records, observed.faults))
}

fn alerts(bytes: &[u8]) -> Result<Parts, ReadError> {
    let found = read_alerts(bytes)?;
    let record = |alert: Alert| {
        let ends = alert
            .ends_at()
            .map_or("without an end".to_owned(), |end| format!("to {}", stamp(end)));
        let words = [
            Some(alert.event),
            alert.severity,
            alert.sender,
            Some(ends),
            alert.headline,
        ];
        SavedRecord {
            time: stamp(alert.onset.unwrap_or(alert.sent_at)),
            note: words.into_iter().flatten().collect::<Vec<_>>().join(", "),
            ..SavedRecord::of(alert.area.as_deref().unwrap_or_default(), "")
        }
    };
    Ok((found.alerts.into_iter().map(record).collect(), found.faults))
}

fn figure(station: &str, name: &str, value: Option<f64>, unit: &str, cadence: Cadence) -> SavedRecord {
    let quantity = layer_of(name).map(|layer| layer.quantity);
    SavedRecord::of(station, name).with_value(value, unit, quantity, cadence)
}

fn stamp(instant: DateTime<Utc>) -> String {
    instant.format("%Y-%m-%dT%H:%M:%SZ").to_string()
}
