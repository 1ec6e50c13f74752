//! A page of observations: bytes to rows, still in the service's unit and without a lake.

use chrono::{DateTime, Utc};
use serde::Deserialize;
use serde_json::Value;

use crate::series::Approval;
use crate::sources::client::error_words;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::number::Figure;
use crate::sources::reply::{begins_with_word, read_json};
use crate::sources::stamp::{Stamp, read_civil, read_day, read_rfc3339};
use crate::sources::text::Text;

/// Number that means "no value".
const SENTINEL: f64 = -999_999.0;

/// Words that mean "no value", compared without case: ice, equipment, backwater, discontinued,
/// maintenance, rating, seasonal, unavailable, blanked (from memory, unverified, but for `Eqp`).
const GAP_WORDS: [&str; 14] = [
    "ice", "eqp", "bkw", "dis", "mnt", "rat", "ssn", "fld", "zfl", "pr", "***", "--", "---", "null",
];

/// Whether a word stands for "no value".
pub(in crate::sources) fn is_gap_word(word: &str) -> bool {
    GAP_WORDS.contains(&word.to_ascii_lowercase().as_str())
}

/// One value as the service gave it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Station.
    pub station: String,
    /// Parameter code.
    pub parameter: String,
    /// Statistic code.
    pub statistic: Option<String>,
    /// Which of the station's time series.
    pub series_id: String,
    /// Day or instant.
    pub stamp: Stamp,
    /// Value; `None` for none.
    pub value: Option<f64>,
    /// Unit.
    pub unit: String,
    /// Provisional or approved.
    pub approval: Approval,
    /// Qualifiers, and the sentinel where one stood for the value.
    pub qualifier: Option<String>,
    /// When the service last touched it.
    pub last_modified: Option<DateTime<Utc>>,
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Rows, in the order of the reply.
    pub rows: Vec<Row>,
    /// Rows left out.
    pub faults: Vec<RowFault>,
    /// Link to the next page.
    pub next: Option<String>,
}

#[derive(Deserialize)]
struct Collection<'a> {
    #[serde(borrow)]
    features: Vec<Feature<'a>>,
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
struct Feature<'a> {
    #[serde(borrow)]
    properties: Properties<'a>,
}

#[derive(Deserialize)]
struct Properties<'a> {
    #[serde(borrow)]
    time: Option<Text<'a>>,
    #[serde(default = "nothing")]
    value: Figure,
    unit_of_measure: Option<Text<'a>>,
    monitoring_location_id: Option<Text<'a>>,
    parameter_code: Option<Text<'a>>,
    statistic_id: Option<Text<'a>>,
    time_series_id: Option<Text<'a>>,
    approval_status: Option<Text<'a>>,
    qualifier: Option<Qualifier>,
    last_modified: Option<Text<'a>>,
}

fn nothing() -> Figure {
    Figure::Nothing
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Qualifier {
    One(String),
    Several(Vec<String>),
}

/// Whether bytes look like a feature collection.
pub(super) fn recognises(bytes: &[u8]) -> bool {
    // Another service that sends features names itself at the beginning.
    begins_with_word(bytes, "\"FeatureCollection\"") && !begins_with_word(bytes, "api.weather.gov")
        || begins_with_word(bytes, "\"features\"") && begins_with_word(bytes, "\"monitoring_location")
}

/// JSON of shape `T`, or the service's own words where the body is an error body.
pub(in crate::sources) fn read_or_said<'de, T: Deserialize<'de>>(
    bytes: &'de [u8],
    wanted: &'static str,
) -> Result<T, ReadError> {
    read_json(bytes, wanted).map_err(|fault| match &fault {
        ReadError::Json { .. } => match read_json::<Value>(bytes, wanted)
            .ok()
            .as_ref()
            .and_then(error_words)
        {
            Some(reason) => ReadError::Said { reason },
            None => fault,
        },
        _ => fault,
    })
}

/// The rows of a page of `daily`, `continuous`, `latest-daily` or `latest-continuous`. A row that
/// cannot be read is left out and named; the others stand.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, or an error body.
pub fn read_observations(bytes: &[u8]) -> Result<Page, ReadError> {
    let collection: Collection<'_> = read_or_said(bytes, "a feature collection")?;
    let mut page = Page {
        rows: Vec::with_capacity(collection.features.len()),
        faults: Vec::new(),
        next: None,
    };
    for (k, feature) in collection.features.into_iter().enumerate() {
        match row(feature.properties) {
            Ok(row) => page.rows.push(row),
            Err((field, found, wanted)) => {
                page.faults.push(RowFault {
                    place: format!("features[{k}].properties.{field}"),
                    found,
                    wanted,
                });
            }
        }
    }
    page.next = collection
        .links
        .into_iter()
        .find(|link| link.rel == "next" && !link.href.is_empty())
        .map(|l| l.href);
    Ok(page)
}

/// What cannot be read of a row: field, found, wanted.
type Refusal = (&'static str, String, &'static str);

fn row(properties: Properties<'_>) -> Result<Row, Refusal> {
    fn needed<'a>(field: &'static str, text: Option<Text<'a>>) -> Result<Text<'a>, Refusal> {
        text.filter(|t| !t.trim().is_empty())
            .ok_or_else(|| (field, "nothing".to_owned(), "a text"))
    }
    let owned = |text: Option<Text<'_>>| text.map(Text::into_owned);
    let stamp = stamp(&needed("time", properties.time)?)?;
    let (value, sentinel) = value(properties.value)?;
    let qualifier = match properties.qualifier {
        Some(Qualifier::One(text)) => Some(text).filter(|t| !t.trim().is_empty()),
        Some(Qualifier::Several(texts)) => Some(texts.join(", ")).filter(|t| !t.is_empty()),
        None => None,
    };
    Ok(Row {
        station: owned(properties.monitoring_location_id).unwrap_or_default(),
        parameter: needed("parameter_code", properties.parameter_code)?.into_owned(),
        statistic: owned(properties.statistic_id),
        series_id: owned(properties.time_series_id).unwrap_or_default(),
        stamp,
        value,
        unit: owned(properties.unit_of_measure).unwrap_or_default(),
        approval: approval(properties.approval_status.as_deref()),
        qualifier: match (qualifier, sentinel) {
            (Some(qualifier), Some(sentinel)) => Some(format!("{qualifier}, {sentinel}")),
            (qualifier, sentinel) => qualifier.or(sentinel),
        },
        last_modified: properties.last_modified.as_deref().and_then(modified),
    })
}

fn stamp(text: &str) -> Result<Stamp, Refusal> {
    // No text is both; the more common one of long replies goes first.
    let instant = read_rfc3339(text).map(Stamp::Instant);
    instant
        .or_else(|| read_day(text, &["%Y-%m-%d"]).map(Stamp::Day))
        .ok_or_else(|| {
            (
                "time",
                format!("\"{text}\""),
                "a day, or an RFC 3339 instant with its offset",
            )
        })
}

/// The value, and the sentinel that stood for a missing one.
fn value(figure: Figure) -> Result<(Option<f64>, Option<String>), Refusal> {
    match figure {
        Figure::Number(SENTINEL) => Ok((None, Some("-999999".to_owned()))),
        Figure::Number(number) => Ok((Some(number), None)),
        Figure::Nothing => Ok((None, None)),
        Figure::Word(word) if is_gap_word(&word) => Ok((None, Some(word))),
        Figure::Word(word) => Err(("value", format!("\"{word}\""), "a number")),
    }
}

fn approval(text: Option<&str>) -> Approval {
    match text {
        Some(word) if word.eq_ignore_ascii_case("approved") => Approval::Approved,
        // Anything that is not approved may still change, whatever the service calls it.
        Some(word) if !word.is_empty() => Approval::Provisional,
        _ => Approval::Unstated,
    }
}

fn modified(text: &str) -> Option<DateTime<Utc>> {
    read_rfc3339(text).or_else(|| read_civil(text, &["%Y-%m-%dT%H:%M:%S%.f"]).map(|civil| civil.and_utc()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(properties: &str) -> Page {
        let json = format!(r#"{{"type":"FeatureCollection","features":[{{"properties":{properties}}}]}}"#);
        read_observations(json.as_bytes()).unwrap()
    }

    #[test]
    fn a_value_in_quotes_and_a_bare_one_are_the_same() {
        for value in ["\"20.2\"", "20.2"] {
            let page = page(&format!(
                r#"{{"time":"2025-12-26","parameter_code":"00060","value":{value}}}"#
            ));
            assert_eq!(page.rows[0].value, Some(20.2));
            assert_eq!(page.rows[0].stamp, Stamp::Day("2025-12-26".parse().unwrap()));
        }
    }

    #[test]
    fn sentinels_are_gaps_and_are_named() {
        for (value, note) in [
            ("\"-999999\"", Some("-999999")),
            ("-999999.0", Some("-999999")),
            ("\"Ice\"", Some("Ice")),
            ("\"Eqp\"", Some("Eqp")),
            ("\"***\"", Some("***")),
            ("\"\"", None),
            ("null", None),
        ] {
            let page = page(&format!(
                r#"{{"time":"2025-12-26","parameter_code":"00060","value":{value}}}"#
            ));
            assert_eq!(
                (page.rows[0].value, page.rows[0].qualifier.as_deref()),
                (None, note),
                "{value}"
            );
        }
    }

    #[test]
    fn minus_999_is_a_flow_and_no_sentinel() {
        // A tidal or computed flow may be so: only -999999 means missing here.
        let page = page(r#"{"time":"2025-12-26","parameter_code":"00060","value":"-999"}"#);
        assert_eq!(page.rows[0].value, Some(-999.0));
    }

    #[test]
    fn a_row_that_cannot_be_read_is_named_and_the_next_stands() {
        let json = br#"{"features":[
            {"properties":{"time":"26.12.2025","parameter_code":"00060","value":"1"}},
            {"properties":{"time":"2025-12-27","parameter_code":"00060","value":"two"}},
            {"properties":{"time":"2025-12-28T00:00:00","parameter_code":"00060","value":"3"}},
            {"properties":{"time":"2025-12-29","parameter_code":"00060","value":"4","qualifier":["e","Ice"]}}]}"#;
        let page = read_observations(json).unwrap();
        assert_eq!(page.rows.len(), 1);
        assert_eq!(page.rows[0].qualifier.as_deref(), Some("e, Ice"));
        let places: Vec<&str> = page.faults.iter().map(|f| f.place.as_str()).collect();
        assert_eq!(
            places,
            [
                "features[0].properties.time",
                "features[1].properties.value",
                "features[2].properties.time"
            ]
        );
    }

    #[test]
    fn both_shapes_of_error_body_speak() {
        for body in [
            r#"{"code":"InvalidParameterValue","description":"unknown station"}"#,
            r#"{"error":{"code":"X","message":"unknown station"}}"#,
        ] {
            let fault = read_observations(body.as_bytes()).unwrap_err();
            assert!(
                matches!(&fault, ReadError::Said { reason } if reason == "unknown station"),
                "{fault}"
            );
        }
    }
}
