//! The forecast in words, by periods of half a day or an hour: only for reading a saved reply, since series come from
//! the raw grid.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::Deserialize;
use serde_json::Value;

use super::observation::read_figure;
use super::problem::{Problem, said};
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::read_json;
use crate::sources::stamp::read_rfc3339;

/// One period of the forecast.
pub(super) struct Period {
    /// Its beginning.
    pub(super) from: DateTime<Utc>,
    /// Figures by name, with their units as served and without their vocabulary.
    pub(super) figures: BTreeMap<String, (Option<f64>, String)>,
    /// Name, end, wind and weather: what the service gives as words, such as "5 to 10 mph".
    pub(super) words: String,
}

#[derive(Deserialize)]
struct Body {
    properties: Option<Properties>,
    #[serde(flatten)]
    problem: Problem,
}

#[derive(Deserialize)]
struct Properties {
    periods: Option<Vec<BTreeMap<String, Value>>>,
}

/// The periods of a reply of `gridpoints/{cell}/forecast` or `.../forecast/hourly`, and what was left out.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, a problem body.
pub(super) fn periods(bytes: &[u8]) -> Result<(Vec<Period>, Vec<RowFault>), ReadError> {
    let wanted = "a forecast by periods";
    let body: Body = read_json(bytes, wanted)?;
    let Some(all) = body.properties.and_then(|properties| properties.periods) else {
        return Err(said(body.problem, "JSON without periods", wanted));
    };
    let mut found = Vec::new();
    let mut faults = Vec::new();
    for (k, raw) in all.iter().enumerate() {
        let place = format!("properties.periods[{k}]");
        match text(raw, "startTime").and_then(read_rfc3339) {
            Some(from) => found.push(Period {
                from,
                figures: figures(raw, &place, &mut faults),
                words: words(raw),
            }),
            None => faults.push(RowFault {
                place: format!("{place}.startTime"),
                found: raw
                    .get("startTime")
                    .map_or("nothing".to_owned(), Value::to_string),
                wanted: "an instant with its offset",
            }),
        }
    }
    Ok((found, faults))
}

fn figures(
    raw: &BTreeMap<String, Value>,
    place: &str,
    faults: &mut Vec<RowFault>,
) -> BTreeMap<String, (Option<f64>, String)> {
    let mut figures = BTreeMap::new();
    for (name, held) in raw {
        // The temperature has its unit beside it; where a reply has it as an object it is one like the others.
        let beside = (name == "temperature")
            .then(|| text(raw, "temperatureUnit"))
            .flatten();
        let figure = match (held, beside) {
            (Value::Number(_), Some(unit)) => number(held).map(|value| (value, format!("deg{unit}"))),
            (Value::Object(_), _) if held.get("value").is_some() => {
                read_figure(held).map(|figure| (figure.value, figure.unit))
            }
            (Value::Number(_), None) if name == "temperature" => {
                Err(format!("{held} without a temperatureUnit"))
            }
            _ => continue,
        };
        match figure {
            Ok(figure) => {
                figures.insert(name.clone(), figure);
            }
            Err(found) => faults.push(RowFault {
                place: format!("{place}.{name}"),
                found,
                wanted: "a number or null, and its unit",
            }),
        }
    }
    figures
}

fn number(held: &Value) -> Result<Option<f64>, String> {
    match Figure::deserialize(held) {
        Ok(Figure::Number(value)) => Ok(Some(value)),
        Ok(Figure::Nothing) => Ok(None),
        _ => Err(held.to_string()),
    }
}

fn words(raw: &BTreeMap<String, Value>) -> String {
    let end = text(raw, "endTime").and_then(read_rfc3339);
    let wind = [text(raw, "windSpeed"), text(raw, "windDirection")];
    let wind = wind.into_iter().flatten().collect::<Vec<_>>().join(" ");
    [
        text(raw, "name").unwrap_or_default().to_owned(),
        end.map_or(String::new(), |end| {
            format!("to {}", end.format("%Y-%m-%dT%H:%M:%SZ"))
        }),
        if wind.is_empty() {
            wind
        } else {
            format!("wind {wind}")
        },
        text(raw, "shortForecast").unwrap_or_default().to_owned(),
    ]
    .into_iter()
    .filter(|part| !part.is_empty())
    .collect::<Vec<_>>()
    .join(", ")
}

fn text<'a>(raw: &'a BTreeMap<String, Value>, name: &str) -> Option<&'a str> {
    raw.get(name).and_then(Value::as_str)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_read_in_a_period_is_named_and_the_rest_is_kept() {
        // Invented.
        let text = r#"{"properties":{"periods":[
            {"startTime":"2026-03-12T06:00:00-08:00","temperature":41,"windSpeed":"5 to 10 mph",
             "dewpoint":{"value":5},"relativeHumidity":{"unitCode":"wmoUnit:percent","value":null}},
            {"startTime":"2026-03-12 18:00","temperature":41,"temperatureUnit":"F"}]}}"#;
        let (found, faults) = periods(text.as_bytes()).unwrap();
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].from.to_rfc3339(), "2026-03-12T14:00:00+00:00");
        assert_eq!(found[0].figures["relativeHumidity"], (None, "percent".to_owned()));
        assert_eq!(found[0].figures.len(), 1);
        assert_eq!(found[0].words, "wind 5 to 10 mph");
        let told: Vec<_> = faults.iter().map(ToString::to_string).collect();
        let wanted = "wanted a number or null, and its unit";
        assert_eq!(
            told,
            [
                format!("properties.periods[0].dewpoint: found no unitCode, {wanted}"),
                format!("properties.periods[0].temperature: found 41 without a temperatureUnit, {wanted}"),
                "properties.periods[1].startTime: found \"2026-03-12 18:00\", wanted an instant with its offset"
                    .to_owned(),
            ]
        );
    }

    #[test]
    fn a_reply_without_periods_is_refused() {
        assert!(periods(br#"{"properties":{}}"#).is_err());
    }
}
