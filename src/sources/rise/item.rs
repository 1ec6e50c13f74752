//! Items (one parameter at one place), parameters with their units, and locations.

use serde::Deserialize;
use serde_json::Value;

use super::page::{Thing, number_of, read_page};
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Station};

/// An item, or a parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its number.
    pub id: String,
    /// Number of the location, where it says so.
    pub location: Option<String>,
    /// Number of the parameter, where it says so.
    pub parameter: Option<String>,
    /// Name of the parameter.
    pub name: String,
    /// Unit.
    pub unit: Option<String>,
    /// Step, in the service's words (`daily`, `hourly`).
    pub time_step: Option<String>,
    /// First and last time, as the service writes them.
    pub extent: (Option<String>, Option<String>),
}

/// A location with what it has.
#[derive(Debug, Clone, PartialEq)]
pub struct RiseLocation {
    /// The location as a station.
    pub station: Station,
    /// Kind, such as `Lake/Reservoir`.
    pub kind: Option<String>,
    /// Numbers of its items.
    pub item_ids: Vec<String>,
    /// Items that came with it.
    pub items: Vec<Item>,
}

/// A reply of locations.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Locations {
    /// Locations, each with its items.
    pub locations: Vec<RiseLocation>,
    /// Items that could not be read.
    pub faults: Vec<RowFault>,
    /// Link to the next page.
    pub next: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct RawItem {
    #[serde(rename = "_id")]
    number: Option<i64>,
    item_title: Option<String>,
    location_id: Option<i64>,
    parameter_id: Option<i64>,
    parameter_name: Option<String>,
    parameter_unit: Option<String>,
    parameter_timestep: Option<String>,
    temporal_start_date: Option<String>,
    temporal_end_date: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct RawLocation {
    #[serde(rename = "_id")]
    number: Option<i64>,
    location_name: String,
    location_coordinates: Option<Coordinates>,
    vertical_datum: Option<Datum>,
    timezone_name: Option<String>,
    location_type_name: Option<String>,
}

#[derive(Deserialize)]
struct Coordinates {
    /// Longitude, then latitude (GeoJSON); one of a polygon is not read.
    #[serde(rename = "coordinates")]
    position_deg: Value,
}

#[derive(Deserialize)]
struct Datum {
    #[serde(rename = "_id")]
    id: Option<String>,
}

fn item(id: &str, raw: RawItem) -> Item {
    Item {
        id: raw
            .number
            .map_or_else(|| number_of(id).to_owned(), |number| number.to_string()),
        location: raw.location_id.map(|number| number.to_string()),
        parameter: raw.parameter_id.map(|number| number.to_string()),
        name: raw.parameter_name.or(raw.item_title).unwrap_or_default(),
        unit: raw.parameter_unit.filter(|unit| !unit.trim().is_empty()),
        time_step: raw.parameter_timestep,
        extent: (raw.temporal_start_date, raw.temporal_end_date),
    }
}

/// Items or parameters of a reply of `catalog-item` or `parameter`, and the mark of the next page.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, or an error body.
pub fn read_items(bytes: &[u8]) -> Result<(Vec<Item>, Option<String>), ReadError> {
    let page = read_page::<RawItem>(bytes, "items of RISE")?;
    let items = page
        .data
        .into_list()
        .into_iter()
        .map(|thing| item(&thing.id, thing.attributes));
    Ok((items.collect(), page.links.next))
}

/// Locations of a reply of `location`, with the items that were asked for with them. An item belongs to the location that
/// it names, or that names it. One that cannot be read is left out and named; the others stand.
///
/// # Errors
/// As of [`read_items`].
pub fn read_locations(bytes: &[u8]) -> Result<Locations, ReadError> {
    let page = read_page::<RawLocation>(bytes, "locations of RISE")?;
    let (mut included, mut faults) = (Vec::new(), Vec::new());
    for (k, value) in page.included.iter().enumerate() {
        if value.get("type").and_then(Value::as_str) != Some("CatalogItem") {
            continue;
        }
        let attributes = value.get("attributes").cloned().unwrap_or(Value::Null);
        match serde_json::from_value::<RawItem>(attributes) {
            Ok(raw) => included.push(item(
                value.get("id").and_then(Value::as_str).unwrap_or_default(),
                raw,
            )),
            Err(fault) => faults.push(RowFault {
                place: format!("included[{k}].attributes"),
                found: fault.to_string(),
                wanted: "the attributes of an item",
            }),
        }
    }
    let things = page.data.into_list().into_iter();
    Ok(Locations {
        locations: things.map(|thing| location(thing, &included)).collect(),
        faults,
        next: page.links.next.filter(|link| !link.is_empty()),
    })
}

fn location(thing: Thing<RawLocation>, included: &[Item]) -> RiseLocation {
    let raw = thing.attributes;
    let id = raw
        .number
        .map_or_else(|| number_of(&thing.id).to_owned(), |number| number.to_string());
    let degree = |k: usize| raw.location_coordinates.as_ref()?.position_deg.get(k)?.as_f64();
    let item_ids = item_ids(&thing.relationships);
    let is_own = |item: &&Item| match &item.location {
        Some(location) => *location == id,
        None => item_ids.contains(&item.id),
    };
    RiseLocation {
        items: included.iter().filter(is_own).cloned().collect(),
        item_ids: item_ids.clone(),
        kind: raw.location_type_name.clone(),
        station: Station {
            longitude_deg: degree(0),
            latitude_deg: degree(1),
            id,
            name: Some(raw.location_name),
            vertical_datum: raw.vertical_datum.and_then(|datum| datum.id),
            time_zone: raw.timezone_name,
        },
    }
}

fn item_ids(relationships: &Value) -> Vec<String> {
    let list = relationships
        .pointer("/catalogItems/data")
        .and_then(Value::as_array);
    list.into_iter()
        .flatten()
        .filter_map(|entry| Some(number_of(entry.get("id")?.as_str()?).to_owned()))
        .collect()
}
