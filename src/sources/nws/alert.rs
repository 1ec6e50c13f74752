//! Official alerts, to be quoted as they are: nothing here is reworded or judged.

use serde::Deserialize;

use super::problem::{Problem, said};
use crate::series::Alert;
use crate::sources::error::ReadError;
use crate::sources::job::RowFault;
use crate::sources::reply::read_json;
use crate::sources::stamp::read_rfc3339;

/// What a reply of alerts holds.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Alerts {
    /// Alerts in force or to come, in the service's order; cancelled ones and tests are not among them.
    pub alerts: Vec<Alert>,
    /// Alerts that could not be read, and times of others. They are named, since a warning may be among them.
    pub faults: Vec<RowFault>,
    /// Alerts that could not be read.
    pub unread: usize,
}

#[derive(Deserialize)]
struct Body {
    features: Option<Vec<Feature>>,
    #[serde(flatten)]
    problem: Problem,
}

#[derive(Deserialize)]
struct Feature {
    id: Option<String>,
    properties: Option<Properties>,
}

#[derive(Deserialize)]
struct Properties {
    id: Option<String>,
    event: Option<String>,
    headline: Option<String>,
    description: Option<String>,
    instruction: Option<String>,
    #[serde(rename = "areaDesc")]
    area_desc: Option<String>,
    #[serde(rename = "senderName")]
    sender_name: Option<String>,
    severity: Option<String>,
    status: Option<String>,
    #[serde(rename = "messageType")]
    message_type: Option<String>,
    sent: Option<String>,
    onset: Option<String>,
    ends: Option<String>,
    expires: Option<String>,
}

/// A reply of `alerts/active`. Only messages with the status `Actual` count, and cancellations do not.
///
/// # Errors
/// [`ReadError`]: no JSON, cut short, another shape, a problem body.
pub fn read_alerts(bytes: &[u8]) -> Result<Alerts, ReadError> {
    let body: Body = read_json(bytes, "active alerts")?;
    let Some(features) = body.features else {
        return Err(said(body.problem, "JSON without features", "active alerts"));
    };
    let mut found = Alerts::default();
    for (k, feature) in features.into_iter().enumerate() {
        let place = format!("features[{k}]");
        let Some(properties) = feature.properties else {
            found.faults.push(RowFault {
                place,
                found: "no properties".to_owned(),
                wanted: "an alert",
            });
            found.unread += 1;
            continue;
        };
        let counts = properties
            .status
            .as_deref()
            .is_none_or(|status| status == "Actual")
            && properties.message_type.as_deref() != Some("Cancel");
        if !counts {
            continue;
        }
        let faults = found.faults.len();
        let read = read_one(feature.id, properties, &place, &mut found.faults);
        // One with a time that could not be read is quoted, and counts as not read whole.
        found.unread += usize::from(found.faults.len() > faults);
        found.alerts.extend(read);
    }
    Ok(found)
}

/// One alert; `None`, with a fault, where it has no name or no time. A further time that cannot be read is
/// named and taken as not given, which keeps the alert in force.
fn read_one(
    url: Option<String>,
    properties: Properties,
    place: &str,
    faults: &mut Vec<RowFault>,
) -> Option<Alert> {
    let mut time = |key: &str, text: Option<String>| {
        let text = text?;
        let time = read_rfc3339(&text);
        if time.is_none() {
            faults.push(RowFault {
                place: format!("{place}.properties.{key}"),
                found: format!("\"{text}\""),
                wanted: "an instant with its offset",
            });
        }
        time
    };
    let sent_at = time("sent", properties.sent);
    let (onset, ends, expires) = (
        time("onset", properties.onset),
        time("ends", properties.ends),
        time("expires", properties.expires),
    );
    let (Some(event), Some(sent_at)) = (properties.event, sent_at) else {
        faults.push(RowFault {
            place: format!("{place}.properties"),
            found: "an alert without event or time".to_owned(),
            wanted: "event and sent",
        });
        return None;
    };
    Some(Alert {
        id: properties.id.or_else(|| url.clone()).unwrap_or_default(),
        url,
        event,
        headline: properties.headline,
        description: properties.description,
        instruction: properties.instruction,
        area: properties.area_desc,
        sender: properties.sender_name,
        severity: properties.severity,
        sent_at,
        onset,
        ends,
        expires,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{DateTime, Utc};

    fn alerts(features: &str) -> Alerts {
        read_alerts(format!(r#"{{"features":[{features}]}}"#).as_bytes()).unwrap()
    }

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    #[test]
    fn an_alert_without_an_end_lasts_even_when_its_message_expires() {
        let of = |times: &str| {
            let feature = format!(
                r#"{{"properties":{{"event":"Wind Advisory","sent":"2026-03-12T10:00:00Z",{times}"status":"Actual"}}}}"#
            );
            alerts(&feature).alerts.remove(0)
        };
        let (from, to) = (at("2026-03-12T13:00:00Z"), at("2026-03-12T21:00:00Z"));
        assert!(of("").touches(from, to));
        assert!(
            of(r#""expires":"2026-03-12T12:59:00Z","#).touches(from, to),
            "a message that expires is renewed"
        );
        assert!(!of(r#""ends":"2026-03-12T12:59:00Z","#).touches(from, to));
        assert!(of(r#""expires":"2026-03-12T12:59:00Z","ends":"2026-03-12T18:00:00Z","#).touches(from, to));
        assert!(
            !of(r#""onset":"2026-03-12T21:01:00Z","#).touches(from, to),
            "it begins after the trip"
        );
        assert!(
            of(r#""ends":"later","#).touches(from, to),
            "an end that cannot be read ends nothing"
        );
    }

    #[test]
    fn tests_and_cancellations_are_none_and_what_cannot_be_read_is_named() {
        let found = alerts(
            r#"{"properties":{"event":"Wind Advisory","sent":"2026-03-12T10:00:00Z","status":"Test"}},
               {"properties":{"event":"Wind Advisory","sent":"2026-03-12T10:00:00Z","messageType":"Cancel"}},
               {"properties":{"event":"Wind Advisory","sent":"this morning"}}, {"id":"x"}"#,
        );
        assert_eq!(found.alerts, []);
        assert_eq!(found.unread, 2);
        let places: Vec<&str> = found.faults.iter().map(|f| f.place.as_str()).collect();
        assert_eq!(
            places,
            [
                "features[2].properties.sent",
                "features[2].properties",
                "features[3]"
            ]
        );
    }
}
