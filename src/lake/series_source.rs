//! Where the series of a lake come from.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::model::{InflowId, SeriesId, ZoneId};
use crate::quantity::Quantity;

/// What a series is measured at.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SeriesPlace {
    /// The lake as a whole (level, storage, release, weather).
    Lake,
    /// A zone.
    Zone(ZoneId),
    /// An inflow.
    Inflow(InflowId),
}

/// How often a series has values.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Cadence {
    /// One value a day.
    Daily,
    /// Instants or steps within the day.
    Continuous,
    /// Forecast, with or without members.
    Forecast,
}

/// Where one series comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct SeriesSource {
    /// Id, unique in the file; names its files in the store.
    pub id: SeriesId,
    /// Quantity.
    pub quantity: Quantity,
    /// Place.
    pub place: SeriesPlace,
    /// Depth below the surface, for water temperature and oxygen at a fixed depth. A CSV column of
    /// depths takes its place.
    pub depth_m: Option<f64>,
    /// Service, by the name that `sources` registers (`usgs-ogc`, `open-meteo`, `csv`).
    pub service: String,
    /// Station at the service; empty where the service goes by position.
    pub station: String,
    /// The service's own name or code of the parameter.
    pub parameter: String,
    /// The service's statistic code of daily values, where it has several.
    pub statistic: Option<String>,
    /// Ensemble model to ask for, where the service offers several.
    pub ensemble_model: Option<String>,
    /// Cadences to fetch.
    pub cadences: Vec<Cadence>,
    /// First day to fetch for `Daily`.
    pub daily_from: Option<NaiveDate>,
    /// Last day to fetch for `Daily`, where another cadence takes over.
    pub daily_until: Option<NaiveDate>,
    /// First day to fetch for `Continuous`; without it, the last 60 days.
    pub continuous_from: Option<NaiveDate>,
    /// Unit of a CSV column; `None` where the service states it.
    pub unit: Option<String>,
    /// Metres to add to a reading to come to the lake's datum; needed for elevations.
    pub datum_offset_m: Option<f64>,
    /// Where the offset comes from.
    pub datum_source: Option<String>,
    /// Age at which the newest value counts as late.
    pub late_after_h: Option<f64>,
    /// File, absolute or relative to the lake file, for a service that reads one and needs no columns named.
    pub file: Option<std::path::PathBuf>,
    /// Time zone or fixed offset of the service's stamps, where it does not state one.
    pub stamp_zone: Option<String>,
    /// CSV file and columns, for service `csv`.
    pub csv: Option<CsvColumns>,
    /// The series of the same quantity and place that this one stands in for; see [`super::Lake::chain_of`].
    pub stands_in_for: Option<SeriesId>,
}

/// A CSV file and which of its columns mean what.
#[derive(Debug, Clone, PartialEq)]
pub struct CsvColumns {
    /// Path, absolute or relative to the lake file; `.gz` is unpacked.
    pub path: std::path::PathBuf,
    /// Column of the time.
    pub time: String,
    /// Column of the value.
    pub value: String,
    /// Column of the depth below the surface, in metres.
    pub depth: Option<String>,
    /// Time zone or fixed offset of stamps that carry none: an IANA name, `UTC`, or `-08:00`.
    pub stamp_zone: String,
    /// Texts that mean "no value".
    pub missing: Vec<String>,
}

impl SeriesSource {
    /// A series of the lake itself by a service's parameter, at no cadence yet and with nothing optional.
    pub fn of(id: &str, quantity: Quantity, service: &str, parameter: &str) -> SeriesSource {
        SeriesSource {
            id: SeriesId::new(id),
            quantity,
            place: SeriesPlace::Lake,
            depth_m: None,
            service: service.to_owned(),
            station: String::new(),
            parameter: parameter.to_owned(),
            statistic: None,
            ensemble_model: None,
            cadences: Vec::new(),
            daily_from: None,
            daily_until: None,
            continuous_from: None,
            unit: None,
            datum_offset_m: None,
            datum_source: None,
            late_after_h: None,
            file: None,
            stamp_zone: None,
            csv: None,
            stands_in_for: None,
        }
    }
}

/// Where official alerts come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlertSource {
    /// Service, which goes by the lake's position.
    pub service: String,
}
