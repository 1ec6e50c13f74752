//! Observations of a station: one reply of many, or the latest alone.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::Deserialize;
use serde_json::Value;

use super::problem::{Problem, said};
use super::table::{LAYERS, plain_unit};
use crate::series::Flag;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::read_json;
use crate::sources::stamp::read_rfc3339;

/// One observation.
#[derive(Debug, Clone, PartialEq)]
pub struct Observed {
    /// Station, such as `KFLG`.
    pub station: String,
    /// When it was taken.
    pub time: DateTime<Utc>,
    /// Figures by name in the reply; a figure that the service sends as null is there, without a value.
    pub figures: BTreeMap<&'static str, ObservedFigure>,
}

/// One figure of an observation.
#[derive(Debug, Clone, PartialEq)]
pub struct ObservedFigure {
    /// Value; `None` for null.
    pub value: Option<f64>,
    /// Unit, without its vocabulary.
    pub unit: String,
    /// The service's own quality code: V verified, Z none, C coarse, S screened, X rejected (part from
    /// memory).
    pub quality: Option<String>,
}

impl ObservedFigure {
    /// Missing without a value, failed where the service itself rejects it (code X); no other code is judged.
    pub fn flag(&self) -> Flag {
        match (self.value, self.quality.as_deref()) {
            (None, _) => Flag::Missing,
            (Some(_), Some("X")) => Flag::Fail,
            (Some(_), _) => Flag::NotEvaluated,
        }
    }
}

/// What a reply of observations holds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Observations {
    /// Observations in the order of time, each time of a station once.
    pub rows: Vec<Observed>,
    /// What was left out.
    pub faults: Vec<RowFault>,
}

#[derive(Deserialize)]
struct Body {
    features: Option<Vec<Feature>>,
    properties: Option<Properties>,
    #[serde(flatten)]
    problem: Problem,
}

#[derive(Deserialize)]
struct Feature {
    properties: Option<Properties>,
}

type Properties = BTreeMap<String, Value>;

#[derive(Deserialize)]
struct RawFigure {
    #[serde(rename = "unitCode")]
    unit_code: Option<String>,
    value: Option<Figure>,
    #[serde(rename = "qualityControl")]
    quality_control: Option<String>,
}

/// A reply of `stations/{id}/observations` or `.../latest`. The service does not promise their order, so
/// they are sorted; one without a time is left out and named, and a second one of the same time is named and only
/// fills what the first lacks.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, a problem body.
pub fn read_observations(bytes: &[u8]) -> Result<Observations, ReadError> {
    let body: Body = read_json(bytes, "observations of a station")?;
    let (place, all): (&str, Vec<Option<Properties>>) = match (body.features, body.properties) {
        (Some(features), _) => ("features", features.into_iter().map(|f| f.properties).collect()),
        (None, Some(properties)) => ("properties", vec![Some(properties)]),
        (None, None) => {
            return Err(said(
                body.problem,
                "JSON without features",
                "observations of a station",
            ));
        }
    };
    let mut found = Observations::default();
    for (k, properties) in all.into_iter().enumerate() {
        let place = format!("{place}[{k}]");
        match properties {
            Some(properties) => read_one(&properties, &place, &mut found),
            None => found.faults.push(RowFault {
                place,
                found: "no properties".to_owned(),
                wanted: "an observation",
            }),
        }
    }
    found
        .rows
        .sort_by(|a, b| (a.time, &a.station).cmp(&(b.time, &b.station)));
    let faults = &mut found.faults;
    found.rows.dedup_by(|later, kept| {
        let same = later.time == kept.time && later.station == kept.station;
        if same {
            faults.push(RowFault {
                place: format!("{} {}", later.station, later.time.format("%Y-%m-%dT%H:%M:%SZ")),
                found: "a second observation".to_owned(),
                wanted: "each time once",
            });
            fill_from(kept, later);
        }
        same
    });
    Ok(found)
}

/// Figures that `kept` lacks or has as null, from a second observation of the same time: the service sends a
/// report again when it is complete. Where both have a value the first stands.
fn fill_from(kept: &mut Observed, second: &mut Observed) {
    for (name, figure) in std::mem::take(&mut second.figures) {
        let place = kept.figures.entry(name).or_insert_with(|| figure.clone());
        if place.value.is_none() {
            *place = figure;
        }
    }
}

fn read_one(properties: &Properties, place: &str, found: &mut Observations) {
    let text = |key: &str| properties.get(key).and_then(Value::as_str);
    let stamp = text("timestamp");
    let Some(time) = stamp.and_then(read_rfc3339) else {
        found.faults.push(RowFault {
            place: format!("{place}.timestamp"),
            found: stamp.map_or("nothing".to_owned(), |t| format!("\"{t}\"")),
            wanted: "an instant with its offset",
        });
        return;
    };
    let station = text("station").or_else(|| text("stationId")).unwrap_or_default();
    let mut figures = BTreeMap::new();
    for name in LAYERS.iter().filter_map(|layer| layer.observed) {
        let Some(value) = properties.get(name).filter(|v| !v.is_null()) else {
            continue;
        };
        match read_figure(value) {
            Ok(figure) => {
                figures.insert(name, figure);
            }
            Err(what) => found.faults.push(RowFault {
                place: format!("{place}.{name}"),
                found: what,
                wanted: "unitCode and a value or null",
            }),
        }
    }
    found.rows.push(Observed {
        station: station.rsplit('/').next().unwrap_or_default().to_owned(),
        time,
        figures,
    });
}

pub(super) fn read_figure(value: &Value) -> Result<ObservedFigure, String> {
    let raw = RawFigure::deserialize(value).map_err(|fault| fault.to_string())?;
    let unit = raw.unit_code.ok_or_else(|| "no unitCode".to_owned())?;
    let value = match raw.value {
        Some(Figure::Number(number)) => Some(number),
        Some(Figure::Nothing) | None => None,
        Some(Figure::Word(word)) => return Err(format!("the value \"{word}\"")),
    };
    let quality = raw
        .quality_control
        .map(|code| code.trim_start_matches("qc:").to_owned());
    Ok(ObservedFigure {
        value,
        unit: plain_unit(&unit).to_owned(),
        quality,
    })
}
