//! How fast a long reply is read, against bare `serde_json` on the same bytes in the same run.
//!
//! `cargo bench --profile dev -- throughput` prints the ratios. The reference is `serde_json` into plain structs
//! that own their texts, one field for each field that the reader uses, and nothing understood: no time, no
//! number, no word for a missing value. The others are shown beside it.

use std::fmt::Write;
use std::hint::black_box;
use std::time::{Duration, Instant};

use plungeline::sources::usgs_ogc::read_observations;
use serde::Deserialize;

/// Rounds, of which the median counts; every way is timed once a round.
const ROUNDS: usize = 9;

/// A page of `continuous` of about so many bytes, as the service writes it: invented station, a value each 15
/// minutes in quotes, now and then a qualifier or a gap.
pub fn page(bytes: usize) -> Vec<u8> {
    let mut text = String::with_capacity(bytes + 1024);
    text.push_str(r#"{"type":"FeatureCollection","features":["#);
    let start: chrono::DateTime<chrono::Utc> = "2024-01-01T00:00:00Z".parse().expect("an instant");
    let mut k = 0_u32;
    while text.len() < bytes {
        if k > 0 {
            text.push(',');
        }
        let time = start + chrono::Duration::minutes(15 * i64::from(k));
        let value = match k % 97 {
            96 => "null".to_owned(),
            rest => format!("\"{}.{}\"", 300 + k % 400, rest % 10),
        };
        let qualifier = if k.is_multiple_of(50) {
            r#"["P","Ice"]"#
        } else {
            "null"
        };
        let time = time.format("%Y-%m-%dT%H:%M:%S+00:00");
        write!(
            text,
            r#"{{"type":"Feature","id":"{k:08x}-1111-4222-8333-444444444444","geometry":null,"properties":{{"id":"{k:08x}-1111-4222-8333-444444444444","time_series_id":"22222222222242228222222222222222","monitoring_location_id":"USGS-990000030","parameter_code":"00060","statistic_id":"00011","time":"{time}","value":{value},"unit_of_measure":"ft^3/s","approval_status":"Provisional","qualifier":{qualifier},"last_modified":"2026-01-05T10:00:00.000000+00:00"}}}}"#
        )
        .expect("texts grow");
        k += 1;
    }
    text.push_str(r#"],"links":[{"rel":"self","href":"https://api.waterdata.usgs.gov/ogcapi/v0/x"}]}"#);
    text.into_bytes()
}

#[derive(Deserialize)]
#[allow(dead_code)]
struct Plain {
    features: Vec<PlainFeature>,
    links: Vec<PlainLink>,
}

#[derive(Deserialize)]
#[allow(dead_code)]
struct PlainLink {
    rel: String,
    href: String,
}

#[derive(Deserialize)]
#[allow(dead_code)]
struct PlainFeature {
    properties: PlainProperties,
}

#[derive(Deserialize)]
#[allow(dead_code)]
struct PlainProperties {
    time: String,
    value: Option<String>,
    unit_of_measure: String,
    monitoring_location_id: String,
    parameter_code: String,
    statistic_id: String,
    time_series_id: String,
    approval_status: String,
    qualifier: Option<Vec<String>>,
    last_modified: String,
}

/// Prints the medians and the ratio of the reader to each of the others.
pub fn report() {
    let bytes = page(20_000_000);
    type Way<'a> = (&'a str, Box<dyn Fn() + 'a>);
    let ways: [Way<'_>; 4] = [
        (
            "read_observations",
            Box::new(|| drop(black_box(read_observations(&bytes).expect("a good page")))),
        ),
        (
            "serde_json, owned structs (reference)",
            Box::new(|| {
                drop(black_box(
                    serde_json::from_slice::<Plain>(&bytes).expect("a good page"),
                ))
            }),
        ),
        (
            "serde_json::Value",
            Box::new(|| {
                drop(black_box(
                    serde_json::from_slice::<serde_json::Value>(&bytes).expect("JSON"),
                ))
            }),
        ),
        (
            "serde_json, IgnoredAny",
            Box::new(|| {
                serde_json::from_slice::<serde::de::IgnoredAny>(&bytes).expect("JSON");
            }),
        ),
    ];
    let mut times = vec![Vec::with_capacity(ROUNDS); ways.len()];
    for _ in 0..ROUNDS {
        for ((_, way), times) in ways.iter().zip(&mut times) {
            let began = Instant::now();
            way();
            times.push(began.elapsed());
        }
    }
    let medians: Vec<Duration> = times
        .iter_mut()
        .map(|times| {
            times.sort();
            times[ROUNDS / 2]
        })
        .collect();
    println!("{} bytes, median of {ROUNDS} rounds", bytes.len());
    for ((name, _), median) in ways.iter().zip(&medians) {
        let megabytes_a_second = bytes.len() as f64 / 1e6 / median.as_secs_f64();
        let ratio = medians[0].as_secs_f64() / median.as_secs_f64();
        println!(
            "{name:<38} {median:>10.1?} {megabytes_a_second:>6.0} MB/s; the reader takes {ratio:.2} x its time"
        );
    }
}

/// The same as a plain bench.
#[divan::bench]
fn usgs_page_of_2_mb(bencher: divan::Bencher<'_, '_>) {
    let bytes = page(2_000_000);
    bencher
        .counter(divan::counter::BytesCount::of_slice(&bytes))
        .bench(|| read_observations(&bytes).expect("a good page"));
}
