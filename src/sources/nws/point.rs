//! What the service has for a position: its grid cell, and the stations near it.

use serde::Deserialize;

use super::problem::{Problem, said};
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Station};
use crate::sources::reply::read_json;

/// The grid cell of a position.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Point {
    /// Forecast office.
    pub office: String,
    /// Column of the cell.
    pub grid_x: u32,
    /// Row of the cell.
    pub grid_y: u32,
    /// IANA name of the time zone.
    pub time_zone: Option<String>,
    /// Public forecast zone, such as `FLZ015`.
    pub forecast_zone: Option<String>,
}

impl Point {
    /// Path of the raw grid on the service's host.
    pub fn grid_path(&self) -> String {
        format!("/gridpoints/{}/{},{}", self.office, self.grid_x, self.grid_y)
    }

    /// Path of the list of stations near the cell, the nearest first.
    pub fn stations_path(&self) -> String {
        format!("{}/stations", self.grid_path())
    }
}

#[derive(Deserialize)]
struct Body {
    properties: Option<Properties>,
    #[serde(flatten)]
    problem: Problem,
}

#[derive(Deserialize)]
struct Properties {
    #[serde(rename = "gridId")]
    grid_id: Option<String>,
    #[serde(rename = "gridX")]
    grid_x: Option<u32>,
    #[serde(rename = "gridY")]
    grid_y: Option<u32>,
    #[serde(rename = "timeZone")]
    time_zone: Option<String>,
    #[serde(rename = "forecastZone")]
    forecast_zone: Option<String>,
}

/// A reply of `points/{latitude},{longitude}`.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, a problem body, an office that is not of capital letters.
pub fn read_point(bytes: &[u8]) -> Result<Point, ReadError> {
    let body: Body = read_json(bytes, "the grid cell of a position")?;
    let Some(properties) = body.properties else {
        return Err(said(
            body.problem,
            "JSON without properties",
            "the grid cell of a position",
        ));
    };
    let (Some(office), Some(grid_x), Some(grid_y)) =
        (properties.grid_id, properties.grid_x, properties.grid_y)
    else {
        return Err(ReadError::Kind {
            found: "a position without gridId, gridX and gridY".to_owned(),
            wanted: "the grid cell of a position".to_owned(),
        });
    };
    // It becomes part of the next address.
    if office.is_empty() || !office.chars().all(|c| c.is_ascii_uppercase()) {
        return Err(ReadError::Kind {
            found: format!("the office {office:?}"),
            wanted: "an office of capital letters, such as TAE".to_owned(),
        });
    }
    let forecast_zone = properties
        .forecast_zone
        .as_deref()
        .and_then(|zone| zone.rsplit('/').next());
    Ok(Point {
        office,
        grid_x,
        grid_y,
        time_zone: properties.time_zone,
        forecast_zone: forecast_zone.map(str::to_owned),
    })
}

#[derive(Deserialize)]
struct StationsBody {
    features: Option<Vec<StationFeature>>,
    #[serde(flatten)]
    problem: Problem,
}

#[derive(Deserialize)]
struct StationFeature {
    geometry: Option<Geometry>,
    properties: Option<StationProperties>,
}

#[derive(Deserialize)]
struct Geometry {
    #[serde(default)]
    #[serde(rename = "coordinates")]
    lon_lat_deg: Vec<f64>,
}

#[derive(Deserialize)]
struct StationProperties {
    #[serde(rename = "stationIdentifier")]
    id: Option<String>,
    name: Option<String>,
    #[serde(rename = "timeZone")]
    time_zone: Option<String>,
}

/// A list of stations, in the service's order (nearest first); one without an identifier is left out and named.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, a problem body.
pub fn read_stations(bytes: &[u8]) -> Result<(Vec<Station>, Vec<RowFault>), ReadError> {
    let body: StationsBody = read_json(bytes, "stations near a position")?;
    let Some(features) = body.features else {
        return Err(said(
            body.problem,
            "JSON without features",
            "stations near a position",
        ));
    };
    let mut stations = Vec::with_capacity(features.len());
    let mut faults = Vec::new();
    for (k, feature) in features.into_iter().enumerate() {
        let at = |i: usize| {
            feature
                .geometry
                .as_ref()
                .and_then(|g| g.lon_lat_deg.get(i))
                .copied()
        };
        let (longitude_deg, latitude_deg) = (at(0), at(1));
        match feature
            .properties
            .and_then(|p| Some((p.id?, p.name, p.time_zone)))
        {
            Some((id, name, time_zone)) => stations.push(Station {
                id,
                name,
                latitude_deg,
                longitude_deg,
                vertical_datum: None,
                time_zone,
            }),
            None => faults.push(RowFault {
                place: format!("features[{k}].properties.stationIdentifier"),
                found: "nothing".to_owned(),
                wanted: "a station's identifier",
            }),
        }
    }
    Ok((stations, faults))
}
