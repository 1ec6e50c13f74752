//! Replies of the gauge service: daily, continuous and newest values.

use std::fmt::Write as _;

use chrono::{DateTime, Datelike, Duration, NaiveDate, Timelike, Utc};

use super::faults::{Fault, continuous_fault, daily_fault};
use super::gauges::{Gauge, Readings};
use crate::hours::{hour_of, midnight_utc};

/// Days after which a value is approved.
const APPROVED_AFTER_DAYS: i64 = 150;

/// One feature's changing parts.
struct Feature {
    number: u64,
    time: String,
    value: Option<String>,
    qualifier: Option<&'static str>,
    approved: bool,
}

/// A link to the next page.
pub struct NextPage {
    pub href: String,
}

fn feature_of(
    gauge: Gauge,
    number: u64,
    time: String,
    reading: f64,
    fault: Option<Fault>,
    approved: bool,
) -> Option<Feature> {
    let text = |value: f64| Some(gauge.text(value));
    let (value, qualifier) = match fault {
        Some(Fault::Absent) => return None,
        Some(Fault::Null(word)) => (None, Some(word)),
        Some(Fault::Sentinel(word)) => (Some("-999999".to_owned()), Some(word)),
        Some(Fault::Marked(word)) => (text(reading), Some(word)),
        Some(Fault::Plus(more)) => (text(reading + more), None),
        Some(Fault::Times(factor)) => (text(factor * reading), None),
        Some(Fault::Revised(factor, word)) => (text(factor * reading), Some(word)),
        Some(Fault::Stuck) | None => (text(reading), None),
    };
    Some(Feature {
        number,
        time,
        value,
        qualifier,
        approved,
    })
}

/// Text of a collection. Ids are made from the series and the time, so that they compress.
fn collection(
    gauge: Gauge,
    statistic: &str,
    modified: &str,
    features: &[Feature],
    next: Option<&NextPage>,
) -> Vec<u8> {
    let mut text = String::from("{\"features\":[");
    for (k, feature) in features.iter().enumerate() {
        if k > 0 {
            text.push(',');
        }
        let series = series_id(gauge, statistic);
        let quoted =
            |value: &Option<String>| value.as_ref().map_or("null".to_owned(), |v| format!("\"{v}\""));
        let qualifier = feature
            .qualifier
            .map_or("null".to_owned(), |word| format!("[\"{word}\"]"));
        let _ = write!(
            text,
            "{{\"geometry\":null,\"id\":\"{}-0000-4000-8000-{:012}\",\"properties\":{{\"approval_status\":\"{}\",\
             \"last_modified\":\"{modified}\",\"monitoring_location_id\":\"USGS-{}\",\"parameter_code\":\"{}\",\
             \"qualifier\":{qualifier},\"statistic_id\":\"{statistic}\",\"time\":\"{}\",\"time_series_id\":\"{series}\",\
             \"unit_of_measure\":\"{}\",\"value\":{}}},\"type\":\"Feature\"}}",
            &series[..8],
            feature.number,
            if feature.approved {
                "Approved"
            } else {
                "Provisional"
            },
            gauge.station(),
            gauge.parameter(),
            feature.time,
            gauge.unit(),
            quoted(&feature.value),
        );
    }
    text.push(']');
    if let Some(next) = next {
        let _ = write!(
            text,
            ",\"links\":[{{\"href\":\"{}\",\"rel\":\"next\",\"title\":\"Items (next)\",\"type\":\"application/geo+json\"}}]",
            next.href
        );
    }
    let _ = write!(
        text,
        ",\"numberReturned\":{},\"type\":\"FeatureCollection\"}}",
        features.len()
    );
    text.into_bytes()
}

fn series_id(gauge: Gauge, statistic: &str) -> String {
    let kind = if statistic == "00003" { 0xd } else { 0xc };
    format!("9900{:02}{kind:x}0a1b24c3d8e4f5a6b7c8d9e0f", gauge.number())
}

/// Daily values of a calendar year, up to and with `last`, as they stood at `known_at` (`None`: in the end,
/// all approved).
pub fn daily(
    readings: &Readings,
    gauge: Gauge,
    first: NaiveDate,
    last: NaiveDate,
    known_at: Option<DateTime<Utc>>,
) -> Vec<u8> {
    let mut features: Vec<Feature> = first
        .iter_days()
        .take_while(|day| *day <= last)
        .filter_map(|day| {
            let approved =
                known_at.is_none_or(|now| now.date_naive() - day > Duration::days(APPROVED_AFTER_DAYS));
            let number =
                u64::from(day.year_ce().1) * 10_000 + u64::from(day.month()) * 100 + u64::from(day.day());
            let fault = daily_fault(gauge, day, known_at);
            feature_of(
                gauge,
                number * 10_000,
                day.to_string(),
                readings.day(gauge, day),
                fault,
                approved,
            )
        })
        .collect();
    // The service promises no order: some years come in three pieces, the last first.
    if (first.year() as usize + gauge.number()).is_multiple_of(5) {
        let third = features.len() / 3;
        features.rotate_right(third);
        features[third..].rotate_right(third / 2);
    }
    let touched = known_at.unwrap_or_else(|| midnight_utc(last) + Duration::days(200));
    let modified = touched.format("%Y-%m-%dT02:17:43.081355+00:00").to_string();
    collection(gauge, "00003", &modified, &features, None)
}

/// Values within the day over `(as_of - 60 days, as_of - 45 min)`, in the order of time.
fn within_day(readings: &Readings, gauge: Gauge, as_of: DateTime<Utc>, days: i64) -> Vec<Feature> {
    let Some(step_min) = gauge.step_min() else {
        return Vec::new();
    };
    let from = midnight_utc((as_of - Duration::days(days)).date_naive())
        + Duration::hours(i64::from(as_of.hour()) + 1);
    let last = as_of - Duration::minutes(45);
    let mut features = Vec::new();
    let mut instant = from;
    while instant <= last {
        let fault = continuous_fault(gauge, instant);
        let read_at = match fault {
            Some((Fault::Stuck, from)) => from,
            _ => instant,
        };
        let reading = readings.at(gauge, hour_of(read_at), read_at.minute() as usize / 15);
        let time = instant.format("%Y-%m-%dT%H:%M:%S+00:00").to_string();
        let number: u64 = instant
            .format("%Y%m%d%H%M")
            .to_string()
            .parse()
            .expect("a time in digits is a number");
        features.extend(feature_of(
            gauge,
            number,
            time,
            reading,
            fault.map(|(fault, _)| fault),
            false,
        ));
        instant += Duration::minutes(step_min);
    }
    features
}

/// Values within the day of the last 60 days; `scattered`: in two pieces, the later first.
pub fn continuous(readings: &Readings, gauge: Gauge, as_of: DateTime<Utc>, scattered: bool) -> Vec<u8> {
    let mut features = within_day(readings, gauge, as_of, 60);
    if scattered {
        let half = features.len() / 2;
        features.rotate_left(half);
    }
    collection(gauge, "00011", &modified_of(as_of), &features, None)
}

/// The same in two pages; the second begins with the last feature of the first.
pub fn continuous_pages(
    readings: &Readings,
    gauge: Gauge,
    as_of: DateTime<Utc>,
    split: usize,
    next: &NextPage,
) -> [Vec<u8>; 2] {
    let features = within_day(readings, gauge, as_of, 60);
    let modified = modified_of(as_of);
    [
        collection(gauge, "00011", &modified, &features[..split], Some(next)),
        collection(gauge, "00011", &modified, &features[split - 1..], None),
    ]
}

/// The newest value.
pub fn latest(readings: &Readings, gauge: Gauge, as_of: DateTime<Utc>) -> Vec<u8> {
    let features = within_day(readings, gauge, as_of, 2);
    let newest = features.len().saturating_sub(1);
    collection(gauge, "00011", &modified_of(as_of), &features[newest..], None)
}

fn modified_of(as_of: DateTime<Utc>) -> String {
    (as_of - Duration::minutes(20))
        .format("%Y-%m-%dT%H:%M:12.604711+00:00")
        .to_string()
}
