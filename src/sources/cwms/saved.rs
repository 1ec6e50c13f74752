//! The records of any saved reply of the service.

use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::catalog::{Catalogue, read_catalogue, read_location};
use super::levels::{Level, read_levels};
use super::name::SeriesName;
use super::rating::{Rating, read_rating};
use super::series::{TimeSeries, read_series};
use crate::lake::Cadence;
use crate::quantity::Quantity;
use crate::series::Flag;
use crate::sources::error::ReadError;
use crate::sources::reply::{begins_with_word, read_json};
use crate::sources::saved::{Saved, SavedRecord};
use crate::sources::usgs_ogc::station_record;

/// Whether bytes look like a reply of this service.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    let has = |word: &str| begins_with_word(bytes, word);
    has("\"value-columns\"")
        || has("\"office-id\"")
        || has("\"incidentIdentifier\"")
        || has("\"entries\"") && has("\"office\"")
        || has("xmlSchema/cwms")
        || has("\"reports-to\"")
}

/// The error body.
#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Problem {
    message: String,
    incident_identifier: Option<String>,
}

/// JSON of shape `T`, or the service's own words where the body is its error body.
pub(super) fn read_or_said<T: DeserializeOwned>(bytes: &[u8], wanted: &'static str) -> Result<T, ReadError> {
    read_json::<T>(bytes, wanted).map_err(|fault| match &fault {
        ReadError::Json { .. } => match read_json::<Problem>(bytes, wanted) {
            Ok(Problem {
                message,
                incident_identifier: Some(incident),
            }) => ReadError::Said {
                reason: format!("{message} (incident {incident})"),
            },
            _ => fault,
        },
        _ => fault,
    })
}

/// The records of a saved reply.
pub(super) fn read_saved(bytes: &[u8]) -> Result<Saved, ReadError> {
    if bytes.iter().find(|b| !b.is_ascii_whitespace()) == Some(&b'<') && begins_with_word(bytes, "<ratings") {
        return Ok(of_rating(&read_rating(bytes)?));
    }
    let has = |word: &str| begins_with_word(bytes, word);
    if has("\"levels\"") {
        let records = read_levels(bytes)?.iter().flat_map(of_level).collect();
        return Ok(saved("levels", records));
    }
    if has("\"entries\"") {
        return Ok(saved("catalogue", of_catalogue(read_catalogue(bytes)?)));
    }
    if has("\"location-kind\"") {
        let location = read_location(bytes)?;
        let mut record = station_record(location.station);
        record.series = location.office;
        return Ok(saved("location", vec![record]));
    }
    let list = [
        ("\"pools\"", "pools"),
        ("\"reports-to\"", "offices"),
        ("\"description\"", "names of levels"),
    ];
    if let Some((_, what)) = list.into_iter().find(|(word, _)| has(word) && !has("\"values\"")) {
        return Ok(saved(what, names(bytes)?));
    }
    let series = read_series(bytes)?;
    Ok(Saved {
        service: super::NAME,
        kind: "time series".to_owned(),
        records: of_series(&series),
        faults: series.faults,
    })
}

fn saved(kind: &str, records: Vec<SavedRecord>) -> Saved {
    Saved {
        service: super::NAME,
        kind: kind.to_owned(),
        records,
        faults: Vec::new(),
    }
}

/// The quantity of a parameter that has only one.
fn only(parameter: &str) -> Option<Quantity> {
    let quantities = SeriesName::read(parameter).map_or(&[][..], |name| name.quantities());
    quantities.first().copied()
}

fn of_series(series: &TimeSeries) -> Vec<SavedRecord> {
    let cadence = SeriesName::read(&series.name)
        .and_then(|name| name.cadence())
        .unwrap_or(Cadence::Continuous);
    let datum = series
        .datum
        .as_ref()
        .map_or(String::new(), |datum| format!("datum {}", datum.native));
    let record = |reading: &super::Reading| {
        let plain = SavedRecord::of(&series.office, &series.name).with_value(
            reading.value,
            &series.unit,
            only(&series.name),
            cadence,
        );
        SavedRecord {
            time: reading.time.format("%Y-%m-%dT%H:%M:%SZ").to_string(),
            flag: if reading.is_rejected() && reading.value.is_some() {
                Flag::Fail
            } else {
                plain.flag
            },
            qualifier: match reading.qualifier() {
                Some(word) => format!("{} {word}", reading.quality),
                None => reading.quality.to_string(),
            },
            note: datum.clone(),
            ..plain
        }
    };
    series.readings.iter().map(record).collect()
}

fn of_catalogue(catalogue: Catalogue) -> Vec<SavedRecord> {
    let series = catalogue.series.into_iter().map(|series| {
        let extent = series.extent.map_or(String::new(), |(first, last)| {
            format!("{} to {}", first.format("%Y-%m-%d"), last.format("%Y-%m-%d"))
        });
        SavedRecord {
            unit: series.unit,
            quantity: only(&series.name),
            note: extent,
            ..SavedRecord::of(&series.office, &series.name)
        }
    });
    let locations = catalogue.locations.into_iter().map(|location| SavedRecord {
        series: location.office,
        ..station_record(location.station)
    });
    series.chain(locations).collect()
}

fn of_level(level: &Level) -> Vec<SavedRecord> {
    let quantity = level
        .name
        .split('.')
        .nth(1)
        .and_then(|parameter| match parameter {
            "Elev" => Some(Quantity::PoolElevation),
            "Stor" => Some(Quantity::Storage),
            _ => None,
        });
    let record = |value: Option<f64>, note: String| SavedRecord {
        time: level.since.clone(),
        note,
        ..SavedRecord::of(&level.office, &level.name).with_value(
            value,
            &level.unit,
            quantity,
            Cadence::Continuous,
        )
    };
    if level.seasonal.is_empty() {
        let note = if level.constant.is_some() {
            "constant"
        } else {
            "not a constant: follows a series or other levels"
        };
        return vec![record(level.constant, note.to_owned())];
    }
    let seasonal = level.seasonal.iter();
    seasonal
        .map(|(offset, value)| record(Some(*value), format!("from {offset} into its year")))
        .collect()
}

fn of_rating(rating: &Rating) -> Saved {
    let record = |(by, gives): &(f64, f64)| SavedRecord {
        time: rating.effective_at.format("%Y-%m-%dT%H:%M:%SZ").to_string(),
        note: format!(
            "at {} {by} {}{}",
            rating.parameters.0,
            rating.units.0,
            rating
                .datum
                .as_ref()
                .map_or(String::new(), |datum| format!(", {datum}"))
        ),
        ..SavedRecord::of(&rating.office, &rating.name).with_value(
            Some(*gives),
            &rating.units.1,
            (rating.parameters.1 == "Stor").then_some(Quantity::Storage),
            Cadence::Continuous,
        )
    };
    saved("rating", rating.points.iter().map(record).collect())
}

/// Lists of offices, pools and names of levels: their names alone.
fn names(bytes: &[u8]) -> Result<Vec<SavedRecord>, ReadError> {
    let value: Value = read_or_said(bytes, "a list of CWMS")?;
    let list = value
        .get("pools")
        .unwrap_or(&value)
        .as_array()
        .cloned()
        .unwrap_or_default();
    let text = |value: &Value, keys: &[&str]| {
        keys.iter()
            .find_map(|key| value.get(key)?.as_str())
            .unwrap_or_default()
            .to_owned()
    };
    let record = |entry: &Value| {
        let inner = entry.get("pool-name").unwrap_or(entry);
        SavedRecord {
            note: text(entry, &["long-name", "description"]),
            ..SavedRecord::of(&text(inner, &["office-id", "name"]), "")
        }
        .named(&text(inner, &["pool-name", "id"]))
    };
    Ok(list.iter().map(record).collect())
}
