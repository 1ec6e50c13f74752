//! Catalogues of series and of locations, and one location.

use chrono::{DateTime, Utc};
use serde::Deserialize;

use super::saved::read_or_said;
use crate::sources::error::ReadError;
use crate::sources::job::Station;
use crate::sources::stamp::read_rfc3339;

/// A series of the catalogue.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogSeries {
    /// Office.
    pub office: String,
    /// Name of six parts.
    pub name: String,
    /// Unit.
    pub unit: String,
    /// First and last value there is, where the catalogue says so.
    pub extent: Option<(DateTime<Utc>, DateTime<Utc>)>,
}

/// A location of the catalogue.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogLocation {
    /// Office.
    pub office: String,
    /// The location as a station: id, public name, position, datum, zone.
    pub station: Station,
    /// Kind: `PROJECT`, `STREAM_LOCATION`, `SITE`, ...
    pub kind: Option<String>,
}

/// A page of a catalogue.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Catalogue {
    /// Series.
    pub series: Vec<CatalogSeries>,
    /// Locations.
    pub locations: Vec<CatalogLocation>,
    /// Mark of the next page.
    pub next: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Page {
    next_page: Option<String>,
    entries: Vec<Entry>,
}

/// An entry of either catalogue: one of series has an interval, one of locations a kind or a position.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Entry {
    office: String,
    name: String,
    units: Option<String>,
    interval: Option<String>,
    #[serde(default)]
    extents: Vec<Extent>,
    kind: Option<String>,
    public_name: Option<String>,
    time_zone: Option<String>,
    #[serde(rename = "latitude")]
    latitude_deg: Option<f64>,
    #[serde(rename = "longitude")]
    longitude_deg: Option<f64>,
    vertical_datum: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Extent {
    earliest_time: Option<String>,
    latest_time: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Location {
    office_id: String,
    name: String,
    public_name: Option<String>,
    #[serde(rename = "latitude")]
    latitude_deg: Option<f64>,
    #[serde(rename = "longitude")]
    longitude_deg: Option<f64>,
    vertical_datum: Option<String>,
    timezone_name: Option<String>,
    location_kind: Option<String>,
}

/// A page of the catalogue of series or of locations.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, or an error body.
pub fn read_catalogue(bytes: &[u8]) -> Result<Catalogue, ReadError> {
    let page: Page = read_or_said(bytes, "a catalogue of CWMS")?;
    let mut catalogue = Catalogue {
        next: page.next_page.filter(|mark| !mark.is_empty()),
        ..Catalogue::default()
    };
    for entry in page.entries {
        if entry.interval.is_some() || entry.units.is_some() {
            catalogue.series.push(CatalogSeries {
                extent: extent(&entry.extents),
                office: entry.office,
                name: entry.name,
                unit: entry.units.unwrap_or_default(),
            });
        } else {
            catalogue.locations.push(CatalogLocation {
                office: entry.office,
                kind: entry.kind,
                station: Station {
                    id: entry.name,
                    name: entry.public_name,
                    latitude_deg: entry.latitude_deg,
                    longitude_deg: entry.longitude_deg,
                    vertical_datum: entry.vertical_datum,
                    time_zone: entry.time_zone,
                },
            });
        }
    }
    Ok(catalogue)
}

/// First and last time over all versions.
fn extent(extents: &[Extent]) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let first = extents
        .iter()
        .filter_map(|e| read_rfc3339(e.earliest_time.as_deref()?))
        .min()?;
    let last = extents
        .iter()
        .filter_map(|e| read_rfc3339(e.latest_time.as_deref()?))
        .max()?;
    Some((first, last))
}

/// One location.
///
/// # Errors
/// As of [`read_catalogue`].
pub fn read_location(bytes: &[u8]) -> Result<CatalogLocation, ReadError> {
    let location: Location = read_or_said(bytes, "a location of CWMS")?;
    Ok(CatalogLocation {
        office: location.office_id,
        kind: location.location_kind,
        station: Station {
            id: location.name,
            name: location.public_name,
            latitude_deg: location.latitude_deg,
            longitude_deg: location.longitude_deg,
            vertical_datum: location.vertical_datum,
            time_zone: location.timezone_name,
        },
    })
}
