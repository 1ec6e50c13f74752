//! The raw grid of one cell: layers of figures by interval, equal neighbours merged.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};
use serde::Deserialize;
use serde_json::Value;

use super::interval::{Interval, read_interval};
use super::problem::{Problem, said};
use super::table::{LAYERS, Layer, Spread, plain_unit};
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::read_json;
use crate::sources::stamp::read_rfc3339;

/// The forecast of one cell of the grid.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Office and cell, such as `TAE/58,65`.
    pub cell: String,
    /// When the forecast was last updated.
    pub updated_at: DateTime<Utc>,
    /// Layers of [`LAYERS`] that the reply holds, by name.
    pub layers: BTreeMap<&'static str, GridLayer>,
    /// Intervals left out.
    pub faults: Vec<RowFault>,
}

/// One layer.
#[derive(Debug, Clone, PartialEq)]
pub struct GridLayer {
    /// Unit, without its vocabulary; `None` where neither the layer nor the table states one.
    pub unit: Option<String>,
    /// Figures by interval, in order, without overlap; `None` for null.
    pub figures: Vec<(Interval, Option<f64>)>,
}

#[derive(Deserialize)]
struct Body {
    properties: Option<BTreeMap<String, Value>>,
    #[serde(flatten)]
    problem: Problem,
}

#[derive(Deserialize)]
struct RawLayer {
    #[serde(alias = "unitCode")]
    uom: Option<String>,
    #[serde(default)]
    values: Vec<RawFigure>,
}

#[derive(Deserialize)]
struct RawFigure {
    #[serde(rename = "validTime")]
    valid_time: Option<String>,
    value: Option<Figure>,
}

/// A raw grid reply. A layer that is absent or empty is simply not there; an interval that cannot be read, or
/// that overlaps one before it, is left out and named. Layers without a meaning here are passed over.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, a problem body.
pub fn read_grid(bytes: &[u8]) -> Result<Grid, ReadError> {
    let body: Body = read_json(bytes, "a raw grid reply")?;
    let Some(properties) = body.properties else {
        return Err(said(body.problem, "JSON without properties", "a raw grid reply"));
    };
    let text = |key: &str| properties.get(key).and_then(Value::as_str);
    let updated_at = text("updateTime")
        .and_then(read_rfc3339)
        .ok_or_else(|| ReadError::Kind {
            found: "a reply without a readable updateTime".to_owned(),
            wanted: "a raw grid reply".to_owned(),
        })?;
    let mut faults = Vec::new();
    let mut layers = BTreeMap::new();
    for layer in LAYERS {
        let Some(value) = properties.get(layer.name) else {
            continue;
        };
        match RawLayer::deserialize(value) {
            Ok(raw) if raw.values.is_empty() => {}
            Ok(raw) => {
                layers.insert(layer.name, read_layer(layer, raw, &mut faults));
            }
            Err(fault) => faults.push(RowFault {
                place: format!("properties.{}", layer.name),
                found: fault.to_string(),
                wanted: "uom and values by interval",
            }),
        }
    }
    Ok(Grid {
        cell: cell(&properties),
        updated_at,
        layers,
        faults,
    })
}

/// Office and cell; the service sends the coordinates as numbers or in quotes.
fn cell(properties: &BTreeMap<String, Value>) -> String {
    let shown = |key: &str| match properties.get(key) {
        Some(Value::String(text)) => text.clone(),
        Some(Value::Number(number)) => number.to_string(),
        _ => "?".to_owned(),
    };
    format!("{}/{},{}", shown("gridId"), shown("gridX"), shown("gridY"))
}

fn read_layer(layer: &Layer, raw: RawLayer, faults: &mut Vec<RowFault>) -> GridLayer {
    let unit = raw.uom.as_deref().map(plain_unit).or(layer.unit_if_unstated);
    let mut figures: Vec<(Interval, Option<f64>)> = Vec::with_capacity(raw.values.len());
    for (k, figure) in raw.values.iter().enumerate() {
        let place = |part: &str| format!("properties.{}.values[{k}].{part}", layer.name);
        let text = figure.valid_time.as_deref().unwrap_or("nothing");
        let Some(interval) = read_interval(text) else {
            faults.push(RowFault {
                place: place("validTime"),
                found: format!("\"{text}\""),
                wanted: "an ISO 8601 instant and duration",
            });
            continue;
        };
        let value = match &figure.value {
            Some(Figure::Number(number)) => Some(*number),
            Some(Figure::Nothing) | None => None,
            Some(Figure::Word(word)) => {
                faults.push(RowFault {
                    place: place("value"),
                    found: format!("\"{word}\""),
                    wanted: "a number or null",
                });
                continue;
            }
        };
        figures.push((interval, value));
    }
    figures.sort_by_key(|(interval, _)| interval.from);
    let mut end = DateTime::<Utc>::MIN_UTC;
    figures.retain(|(interval, _)| {
        let apart = interval.from >= end;
        if apart {
            end = interval.to;
        } else {
            faults.push(RowFault {
                place: format!("properties.{}", layer.name),
                found: format!(
                    "an interval from {} within the one before",
                    interval.from.format("%Y-%m-%dT%H:%MZ")
                ),
                wanted: "intervals that do not overlap",
            });
        }
        apart
    });
    GridLayer {
        unit: unit.map(str::to_owned),
        figures,
    }
}

impl GridLayer {
    /// The figures hour by hour, merged intervals expanded; `None` where the service says null. Hours that no
    /// interval holds are left out.
    ///
    /// The figure of an interval [`Spread::Holds`] in each hour that begins within it, and is stamped with
    /// the beginning. A sum is [`Spread::Shared`] by the hours in equal parts, and each part is stamped
    /// with the hour's **end**, as rain is elsewhere here. An interval shorter than an hour, or not of whole
    /// hours, counts by the hours that begin within it; a sum over it is shared by its true length.
    pub fn hourly(&self, spread: Spread) -> Vec<(DateTime<Utc>, Option<f64>)> {
        let hour = Duration::hours(1);
        let mut steps = Vec::new();
        for (interval, figure) in &self.figures {
            let length_h = (interval.to - interval.from).num_seconds() as f64 / 3600.0;
            let mut from = interval.from;
            while from < interval.to {
                let to = (from + hour).min(interval.to);
                let part = (to - from).num_seconds() as f64 / 3600.0 / length_h;
                steps.push(match spread {
                    Spread::Holds => (from, *figure),
                    Spread::Shared => (to, figure.map(|sum| sum * part)),
                });
                from = to;
            }
        }
        steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(layers: &str) -> Grid {
        let json = format!(
            r#"{{"properties":{{"updateTime":"2022-02-04T03:15:41+00:00","gridId":"TAE","gridX":"58","gridY":65,{layers}}}}}"#
        );
        read_grid(json.as_bytes()).unwrap()
    }

    fn figures(layer: &GridLayer, spread: Spread) -> Vec<(String, Option<f64>)> {
        let shown = |(t, v): (DateTime<Utc>, Option<f64>)| (t.format("%dT%H:%M").to_string(), v);
        layer.hourly(spread).into_iter().map(shown).collect()
    }

    #[test]
    fn a_merged_interval_holds_in_each_of_its_hours_and_null_stays_null() {
        let grid = grid(
            r#""windSpeed":{"uom":"wmoUnit:km_h-1","values":[
               {"validTime":"2022-02-03T21:00:00+00:00/PT2H","value":20.372},
               {"validTime":"2022-02-03T23:00:00+00:00/PT1H","value":null}]}"#,
        );
        let layer = &grid.layers["windSpeed"];
        let wanted = [
            ("03T21:00", Some(20.372)),
            ("03T22:00", Some(20.372)),
            ("03T23:00", None),
        ];
        assert_eq!(
            figures(layer, Spread::Holds),
            wanted.map(|(t, v)| (t.to_owned(), v))
        );
        assert_eq!(
            (grid.cell.as_str(), layer.unit.as_deref()),
            ("TAE/58,65", Some("km_h-1"))
        );
    }

    #[test]
    fn a_sum_is_shared_and_none_of_it_is_lost() {
        let grid = grid(
            r#""quantitativePrecipitation":{"uom":"wmoUnit:mm","values":[
               {"validTime":"2022-02-03T21:00:00+00:00/PT3H","value":6.0},
               {"validTime":"2022-02-04T00:00:00+00:00/PT1H30M","value":3.0}]}"#,
        );
        let found = figures(&grid.layers["quantitativePrecipitation"], Spread::Shared);
        let wanted = [
            ("03T22:00", 2.0),
            ("03T23:00", 2.0),
            ("04T00:00", 2.0),
            ("04T01:00", 2.0),
            ("04T01:30", 1.0),
        ];
        assert_eq!(found, wanted.map(|(t, v)| (t.to_owned(), Some(v))));
    }

    #[test]
    fn what_cannot_be_read_is_named_and_the_rest_stands() {
        let grid = grid(
            r#""temperature":{"uom":"wmoUnit:degC","values":[
               {"validTime":"2022-02-03T22:00:00+00:00/PT1H","value":2},
               {"validTime":"2022-02-03T21:00:00+00:00/PT1H","value":"1.5"},
               {"validTime":"2022-02-03T21:00:00+00:00/PT2H","value":9},
               {"validTime":"soon","value":3},
               {"validTime":"2022-02-03T23:00:00+00:00/PT1H","value":"mild"}]},
               "dewpoint":{"values":[]},"visibility":[1,2],"snowLevel":{"values":[]}"#,
        );
        let layer = &grid.layers["temperature"];
        let wanted = [("03T21:00", Some(1.5)), ("03T22:00", Some(2.0))];
        assert_eq!(
            figures(layer, Spread::Holds),
            wanted.map(|(t, v)| (t.to_owned(), v))
        );
        assert_eq!(grid.layers.len(), 1);
        let places: Vec<&str> = grid.faults.iter().map(|f| f.place.as_str()).collect();
        assert_eq!(
            places,
            [
                "properties.temperature.values[3].validTime",
                "properties.temperature.values[4].value",
                "properties.temperature",
                "properties.visibility"
            ]
        );
    }
}
