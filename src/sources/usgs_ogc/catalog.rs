//! What there is: monitoring locations with their kind of site, and the time series of each.
//!
//! Fields of `time-series-metadata` and `monitoring-locations` as seen in recorded replies; that the words of
//! `computation_period_identifier` other than `Points` and `Daily` are longer periods: from memory.

use chrono::NaiveDate;
use serde::Deserialize;

use super::read::read_or_said;
use crate::lake::Cadence;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::stamp::{read_civil, read_rfc3339};

/// A page of a catalogue.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogPage<T> {
    /// Rows, in the order of the reply.
    pub rows: Vec<T>,
    /// Rows left out.
    pub faults: Vec<RowFault>,
    /// Link to the next page.
    pub next: Option<String>,
}

/// A monitoring location.
#[derive(Debug, Clone, PartialEq)]
pub struct Location {
    /// Identifier, such as `USGS-05427718`.
    pub id: String,
    /// Name.
    pub name: String,
    /// Latitude and longitude, degrees.
    pub position: Option<(f64, f64)>,
    /// Kind of site: `LK` a lake or reservoir, `ST` a stream, and others.
    pub site_type: Option<String>,
}

/// A time series of a location.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeSeries {
    /// Identifier.
    pub id: String,
    /// Location.
    pub station: String,
    /// Latitude and longitude, degrees.
    pub position: Option<(f64, f64)>,
    /// Parameter code.
    pub parameter: String,
    /// What it is, in the service's words.
    pub description: String,
    /// Statistic code, where it has one.
    pub statistic: Option<String>,
    /// Unit.
    pub unit: String,
    /// Daily values, or values within the day.
    pub cadence: Cadence,
    /// First day, UTC.
    pub since: Option<NaiveDate>,
    /// Last day, UTC.
    pub until: Option<NaiveDate>,
    /// Whether it is the primary one of its parameter.
    pub primary: bool,
    /// Where at the station.
    pub sublocation: Option<String>,
}

#[derive(Deserialize)]
struct Collection<P> {
    features: Vec<Feature<P>>,
    #[serde(default)]
    links: Vec<Link>,
}

#[derive(Deserialize)]
struct Link {
    #[serde(default)]
    rel: String,
    #[serde(default)]
    href: String,
}

#[derive(Deserialize)]
struct Feature<P> {
    id: Option<String>,
    geometry: Option<Geometry>,
    properties: P,
}

#[derive(Deserialize)]
struct Geometry {
    /// Longitude, then latitude (GeoJSON).
    #[serde(rename = "coordinates")]
    position_deg: Vec<f64>,
}

#[derive(Deserialize)]
struct LocationProperties {
    id: Option<String>,
    monitoring_location_name: Option<String>,
    site_type_code: Option<String>,
}

#[derive(Deserialize)]
struct SeriesProperties {
    id: Option<String>,
    monitoring_location_id: Option<String>,
    parameter_code: Option<String>,
    parameter_name: Option<String>,
    parameter_description: Option<String>,
    statistic_id: Option<String>,
    unit_of_measure: Option<String>,
    computation_period_identifier: Option<String>,
    begin: Option<String>,
    begin_utc: Option<String>,
    end: Option<String>,
    end_utc: Option<String>,
    primary: Option<String>,
    sublocation_identifier: Option<String>,
}

/// A page of `monitoring-locations`.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, or an error body.
pub fn read_locations(bytes: &[u8]) -> Result<CatalogPage<Location>, ReadError> {
    read_page(bytes, "a feature collection of stations", |feature| {
        let properties: LocationProperties = feature.properties;
        let id = needed("id", properties.id.or(feature.id))?;
        Ok(Location {
            name: properties.monitoring_location_name.unwrap_or_else(|| id.clone()),
            id,
            position: position(feature.geometry.as_ref()),
            site_type: properties.site_type_code,
        })
    })
}

/// A page of `time-series-metadata`. A series of another period than the day, or points within it, is left out
/// and named.
///
/// # Errors
/// As [`read_locations`].
pub fn read_time_series(bytes: &[u8]) -> Result<CatalogPage<TimeSeries>, ReadError> {
    read_page(bytes, "a feature collection of time series", |feature| {
        let properties: SeriesProperties = feature.properties;
        let period = properties.computation_period_identifier.as_deref();
        let cadence = match period.map(str::to_ascii_lowercase).as_deref() {
            Some("daily") => Cadence::Daily,
            Some("points") => Cadence::Continuous,
            _ => {
                return Err((
                    "computation_period_identifier",
                    format!("\"{}\"", period.unwrap_or_default()),
                    "Points or Daily",
                ));
            }
        };
        let filled = |text: Option<String>| text.filter(|t| !t.trim().is_empty());
        Ok(TimeSeries {
            id: needed("id", properties.id.or(feature.id))?,
            station: needed("monitoring_location_id", properties.monitoring_location_id)?,
            position: position(feature.geometry.as_ref()),
            parameter: needed("parameter_code", properties.parameter_code)?,
            description: filled(properties.parameter_description)
                .or(filled(properties.parameter_name))
                .unwrap_or_default(),
            statistic: filled(properties.statistic_id),
            unit: properties.unit_of_measure.unwrap_or_default(),
            cadence,
            since: day("begin_utc", properties.begin_utc, properties.begin)?,
            until: day("end_utc", properties.end_utc, properties.end)?,
            primary: properties
                .primary
                .is_some_and(|p| p.eq_ignore_ascii_case("primary")),
            sublocation: filled(properties.sublocation_identifier),
        })
    })
}

/// What cannot be read of a row: field, found, wanted.
type Refusal = (&'static str, String, &'static str);

fn read_page<P: serde::de::DeserializeOwned, T>(
    bytes: &[u8],
    wanted: &'static str,
    row: impl Fn(Feature<P>) -> Result<T, Refusal>,
) -> Result<CatalogPage<T>, ReadError> {
    let collection: Collection<P> = read_or_said(bytes, wanted)?;
    let mut page = CatalogPage {
        rows: Vec::with_capacity(collection.features.len()),
        faults: Vec::new(),
        next: None,
    };
    for (k, feature) in collection.features.into_iter().enumerate() {
        match row(feature) {
            Ok(row) => page.rows.push(row),
            Err((field, found, wanted)) => page.faults.push(RowFault {
                place: format!("features[{k}].properties.{field}"),
                found,
                wanted,
            }),
        }
    }
    page.next = collection
        .links
        .into_iter()
        .find(|link| link.rel == "next" && !link.href.is_empty())
        .map(|link| link.href);
    Ok(page)
}

fn needed(field: &'static str, text: Option<String>) -> Result<String, Refusal> {
    text.filter(|t| !t.trim().is_empty())
        .ok_or((field, "nothing".to_owned(), "a text"))
}

fn position(geometry: Option<&Geometry>) -> Option<(f64, f64)> {
    match geometry?.position_deg[..] {
        [longitude_deg, latitude_deg, ..] => Some((latitude_deg, longitude_deg)),
        _ => None,
    }
}

/// The day of an instant in UTC, or of a local one without zone where only that is there: it is a day of a long
/// record, and needs no hour.
fn day(
    field: &'static str,
    utc: Option<String>,
    local: Option<String>,
) -> Result<Option<NaiveDate>, Refusal> {
    let Some(text) = utc.or(local) else {
        return Ok(None);
    };
    read_rfc3339(&text)
        .map(|instant| instant.date_naive())
        .or_else(|| read_civil(&text, &["%Y-%m-%dT%H:%M:%S%.f"]).map(|civil| civil.date()))
        .map(Some)
        .ok_or((field, format!("\"{text}\""), "an instant"))
}
