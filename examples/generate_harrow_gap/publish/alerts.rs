//! Official alerts of a demonstration morning, as the weather service's list of active ones: none, or one that
//! fits what the morning's forecast shows. Its office is invented like the lake.

use chrono::{DateTime, Utc};
use chrono_tz::America::Los_Angeles;
use serde_json::{Value, json};

use crate::forecast::{MemberWeather, first_hour};
use crate::hours::{LATITUDE_DEG, LONGITUDE_DEG, hour_of};
use crate::mornings::DemoMorning;

const ADDRESS: &str = "https://api.weather.gov/alerts/";
const ONTOLOGY: &str = "https://api.weather.gov/ontology#";
const OFFICE: &str = "NWS Harrow Gap (invented)";
const INVENTED: &str = "This product is invented, like the lake that it speaks of.";

/// Local hours of an alert: sent, onset, end of the message, end of the event, each on a day counted from the
/// morning's.
struct Times {
    sent: (i64, u32, u32),
    onset: (i64, u32, u32),
    expires: (i64, u32, u32),
    ends: (i64, u32, u32),
}

/// The reply of a morning; `control` is its control forecast.
pub fn active(morning: &DemoMorning, control: &MemberWeather) -> Vec<u8> {
    let features = match morning.stream {
        3 => vec![fog(morning)],
        4 => vec![wind(morning, control)],
        _ => Vec::new(),
    };
    let reply = json!({
        "@context": [
            "https://geojson.org/geojson-ld/geojson-context.jsonld",
            {"@version": "1.1", "wx": ONTOLOGY, "@vocab": ONTOLOGY},
        ],
        "type": "FeatureCollection",
        "features": features,
        "title": format!("Current watches, warnings, and advisories for {LATITUDE_DEG} N, {} W", -LONGITUDE_DEG),
        "updated": stamp(morning.as_of()),
    });
    let mut text = serde_json::to_string_pretty(&reply).expect("texts always become JSON");
    text.push('\n');
    text.into_bytes()
}

/// An advisory of the wind of the afternoon that begins the wet morning's trip; its figures are those of the
/// control forecast, to the next 5 mph.
fn wind(morning: &DemoMorning, control: &MemberWeather) -> Value {
    let times = Times {
        sent: (0, 2, 41),
        onset: (0, 10, 0),
        expires: (0, 13, 0),
        ends: (0, 20, 0),
    };
    let step = |time| hour_of(local(morning, time)) - first_hour(morning);
    let hours = step(times.onset)..=step(times.ends);
    let highest = |m_s: &[f64]| m_s[hours.clone()].iter().copied().fold(0.0, f64::max);
    // To the next 5 mph; 0.44704 m/s a mile an hour.
    let fives = |m_s: f64| 5 * (m_s / 0.44704 / 5.0).ceil() as i64;
    let (steady, gust) = (
        fives(highest(&control.wind_m_s)),
        fives(highest(&control.gust_m_s)),
    );
    let middle = (hours.start() + hours.end()) / 2;
    let from = compass(control.direction_deg[middle]);
    let description = format!(
        "* WHAT...{from} winds {} to {steady} mph with gusts up to {gust} mph\nexpected.\n\n\
         * WHERE...Harrow Gap Reservoir.\n\n\
         * WHEN...From 10 AM to 8 PM PDT Thursday.\n\n\
         * IMPACTS...Strong winds and rough waves on area lakes will create\nhazardous conditions for small craft.\n\n\
         * ADDITIONAL DETAILS...{INVENTED}",
        steady - 5
    );
    let instruction = "Boaters on area lakes should use extra caution since strong winds\nand rough waves can overturn \
                       small craft.";
    alert(
        morning,
        "Lake Wind Advisory",
        "Moderate",
        &times,
        &description,
        instruction,
    )
}

/// An advisory of the winter morning's fog.
fn fog(morning: &DemoMorning) -> Value {
    let times = Times {
        sent: (-1, 20, 12),
        onset: (-1, 22, 0),
        expires: (0, 6, 0),
        ends: (0, 11, 0),
    };
    let description = format!(
        "* WHAT...Visibility one quarter mile or less in dense fog.\n\n\
         * WHERE...Harrow Gap and the valleys around it.\n\n\
         * WHEN...Until 11 AM PST Saturday.\n\n\
         * IMPACTS...Low visibility could make travel on roads and water\nhazardous.\n\n\
         * ADDITIONAL DETAILS...{INVENTED}"
    );
    let instruction =
        "If you must go out, slow down, use your lights, and leave plenty\nof distance ahead of you.";
    alert(
        morning,
        "Dense Fog Advisory",
        "Minor",
        &times,
        &description,
        instruction,
    )
}

fn alert(
    morning: &DemoMorning,
    event: &str,
    severity: &str,
    times: &Times,
    description: &str,
    instruction: &str,
) -> Value {
    let at = |time| local(morning, time);
    let id = format!("INVENTED-HARROW-GAP-{}", morning.day);
    let said = |time| {
        at(time)
            .with_timezone(&Los_Angeles)
            .format("%B %-d at %-I:%M%p %Z")
            .to_string()
    };
    json!({
        "id": format!("{ADDRESS}{id}"),
        "type": "Feature",
        "geometry": null,
        "properties": {
            "@id": format!("{ADDRESS}{id}"),
            "@type": "wx:Alert",
            "id": id,
            "areaDesc": "Harrow Gap",
            "sent": stamp(at(times.sent)),
            "effective": stamp(at(times.sent)),
            "onset": stamp(at(times.onset)),
            "expires": stamp(at(times.expires)),
            "ends": stamp(at(times.ends)),
            "status": "Actual",
            "messageType": "Alert",
            "category": "Met",
            "severity": severity,
            "certainty": "Likely",
            "urgency": "Expected",
            "event": event,
            "sender": "invented@example.org",
            "senderName": OFFICE,
            "headline": format!("{event} issued {} until {} by {OFFICE}", said(times.sent), said(times.ends)),
            "description": description,
            "instruction": instruction,
            "response": "Execute",
        },
    })
}

/// Instant of a local hour and minute, so many days from the morning's.
fn local(morning: &DemoMorning, (days, hour, minute): (i64, u32, u32)) -> DateTime<Utc> {
    let day = morning.day + chrono::Duration::days(days);
    let civil = day
        .and_hms_opt(hour, minute, 0)
        .expect("the hours above are times of day");
    let local = civil.and_local_timezone(Los_Angeles).single();
    local
        .expect("no clock change happens on these days")
        .with_timezone(&Utc)
}

/// A time with the lake's offset, as the service writes it.
fn stamp(instant: DateTime<Utc>) -> String {
    instant
        .with_timezone(&Los_Angeles)
        .format("%Y-%m-%dT%H:%M:%S%:z")
        .to_string()
}

/// Where the wind comes from, of eight.
fn compass(direction_deg: f64) -> &'static str {
    const POINTS: [&str; 8] = [
        "North",
        "Northeast",
        "East",
        "Southeast",
        "South",
        "Southwest",
        "West",
        "Northwest",
    ];
    POINTS[(direction_deg.rem_euclid(360.0) / 45.0).round() as usize % 8]
}
