//! Monitoring locations, and the records of any saved reply.

use serde::Deserialize;

use super::catalog::{TimeSeries, read_time_series};
use super::read::{Row, read_observations, read_or_said};
use super::table::parameter;
use crate::lake::Cadence;
use crate::sources::error::ReadError;
use crate::sources::job::Station;
use crate::sources::reply::begins_with_word;
use crate::sources::saved::{Saved, SavedRecord};
use crate::sources::stamp::Stamp;

#[derive(Deserialize)]
struct Collection {
    features: Vec<Feature>,
}

#[derive(Deserialize)]
struct Feature {
    id: Option<String>,
    geometry: Option<Geometry>,
    properties: Properties,
}

#[derive(Deserialize)]
struct Geometry {
    /// Longitude, then latitude (GeoJSON).
    #[serde(rename = "coordinates")]
    position_deg: Vec<f64>,
}

#[derive(Deserialize)]
struct Properties {
    id: Option<String>,
    monitoring_location_name: Option<String>,
    vertical_datum: Option<String>,
    time_zone_abbreviation: Option<String>,
}

/// The stations of a reply of `monitoring-locations`.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, or an error body.
pub fn read_stations(bytes: &[u8]) -> Result<Vec<Station>, ReadError> {
    let collection: Collection = read_or_said(bytes, "a feature collection of stations")?;
    let station = |feature: Feature| {
        let coordinate = |k: usize| {
            feature
                .geometry
                .as_ref()
                .and_then(|g| g.position_deg.get(k).copied())
        };
        Station {
            longitude_deg: coordinate(0),
            latitude_deg: coordinate(1),
            id: feature.properties.id.or(feature.id).unwrap_or_default(),
            name: feature.properties.monitoring_location_name,
            vertical_datum: feature.properties.vertical_datum,
            time_zone: feature.properties.time_zone_abbreviation,
        }
    };
    Ok(collection.features.into_iter().map(station).collect())
}

/// The records of a saved reply, stations or observations.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    if begins_with_word(bytes, "\"monitoring_location_name\"") {
        let records = read_stations(bytes)?.into_iter().map(station_record).collect();
        return Ok(Saved {
            service: super::NAME,
            kind: "stations".to_owned(),
            records,
            faults: Vec::new(),
        });
    }
    if begins_with_word(bytes, "\"computation_period_identifier\"") {
        let page = read_time_series(bytes)?;
        return Ok(Saved {
            service: super::NAME,
            kind: "time series".to_owned(),
            records: page.rows.into_iter().map(series_record).collect(),
            faults: page.faults,
        });
    }
    let page = read_observations(bytes)?;
    Ok(Saved {
        service: super::NAME,
        kind: "observations".to_owned(),
        records: page.rows.into_iter().map(row_record).collect(),
        faults: page.faults,
    })
}

/// A value as a record.
pub(in crate::sources) fn row_record(row: Row) -> SavedRecord {
    let cadence = if matches!(row.stamp, Stamp::Day(_)) {
        Cadence::Daily
    } else {
        Cadence::Continuous
    };
    let quantity = parameter(&row.parameter).and_then(|p| p.quantities.first().copied());
    SavedRecord {
        time: row.stamp.to_string(),
        series: row.series_id,
        approval: row.approval,
        qualifier: row.qualifier.unwrap_or_default(),
        note: row
            .statistic
            .map_or(String::new(), |code| format!("statistic {code}")),
        ..SavedRecord::of(&row.station, &row.parameter).with_value(row.value, &row.unit, quantity, cadence)
    }
}

fn series_record(series: TimeSeries) -> SavedRecord {
    let day = |what: &str, day: Option<chrono::NaiveDate>| day.map(|day| format!("{what} {day}"));
    let known = [
        Some(series.description),
        series.statistic.map(|code| format!("statistic {code}")),
        day("since", series.since),
        day("until", series.until),
        series.primary.then(|| "primary".to_owned()),
        series.sublocation,
    ];
    SavedRecord {
        series: series.id,
        unit: series.unit,
        note: known.into_iter().flatten().collect::<Vec<_>>().join(", "),
        ..SavedRecord::of(&series.station, &series.parameter)
    }
}

/// A station as a record.
pub(in crate::sources) fn station_record(station: Station) -> SavedRecord {
    let known = [
        station.name,
        station
            .vertical_datum
            .map(|datum| format!("vertical datum {datum}")),
        station.time_zone.map(|zone| format!("time zone {zone}")),
        station
            .latitude_deg
            .zip(station.longitude_deg)
            .map(|(lat, lon)| format!("{lat:.5} N {lon:.5} E")),
    ];
    SavedRecord {
        note: known.into_iter().flatten().collect::<Vec<_>>().join(", "),
        ..SavedRecord::of(&station.id, "")
    }
}
