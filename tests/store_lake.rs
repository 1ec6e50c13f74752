//! An invented lake with invented values, for tests of the store and of quality.

use std::sync::Arc;

use chrono::{DateTime, Duration, Utc};
use plungeline::lake::{Boat, Cadence, Lake, SeriesId, SeriesSource, Zone, ZoneId, ZoneKind};
use plungeline::quantity::Quantity;
use plungeline::series::{Approval, Batch, Flag, Observation, Provenance, SeriesKey};

/// A lake with these series and nothing else.
pub fn lake(series: Vec<SeriesSource>) -> Lake {
    Lake {
        id: "harrow-gap".to_owned(),
        name: "Harrow Gap Reservoir".to_owned(),
        note: None,
        latitude_deg: 42.2,
        longitude_deg: -119.6,
        time_zone: chrono_tz::America::Los_Angeles,
        contact: None,
        vertical_datum: "NAVD 88".to_owned(),
        full_pool_elevation_m: 845.0 * 0.3048,
        minimum_pool_elevation_m: 731.0 * 0.3048,
        hypsography_table: None,
        hypsography: None,
        zones: vec![Zone {
            id: ZoneId::new("main"),
            name: "Main body".to_owned(),
            kind: ZoneKind::MainBody,
            above: None,
            inflow: None,
            area_share: Vec::new(),
            thalweg: Vec::new(),
            orientation_deg: None,
            fetch: Vec::new(),
            outline: Vec::new(),
        }],
        stretches: Vec::new(),
        ramps: Vec::new(),
        inflows: Vec::new(),
        outlets: Vec::new(),
        hazards: Vec::new(),
        clarity: None,
        oxygen: None,
        species: Vec::new(),
        stocking: Vec::new(),
        planned_release: Vec::new(),
        ladder: Vec::new(),
        boat: Some(Boat {
            launch_depth_m: 1.0,
            running_depth_m: 0.6,
            run_speed_m_s: 9.0,
            slow_speed_m_s: None,
            trip_h: 6.0,
            ball_kg: None,
            cable_diameter_m: None,
            cable_kind: None,
        }),
        series,
        water_readings: None,
        official_alerts: None,
        model_factors: Vec::new(),
        turnover: None,
        notices: Vec::new(),
        horizon: Vec::new(),
        links: plungeline::lake::Links::default(),
        hindcast: None,
    }
}

/// A series of that lake.
pub fn source(id: &str, quantity: Quantity, cadences: &[Cadence]) -> SeriesSource {
    SeriesSource {
        cadences: cadences.to_vec(),
        ..SeriesSource::of(id, quantity, "open-meteo", id)
    }
}

/// The key of a series.
pub fn key(id: &str, cadence: Cadence) -> SeriesKey {
    SeriesKey {
        id: SeriesId::new(id),
        cadence,
    }
}

/// An instant from its RFC 3339 text.
pub fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

/// Provenance of values received at `retrieved_at`.
pub fn provenance(retrieved_at: DateTime<Utc>) -> Arc<Provenance> {
    Arc::new(Provenance {
        service: "open-meteo".to_owned(),
        station: "42.2,-119.6".to_owned(),
        parameter: "temperature_2m".to_owned(),
        original_unit: "°C".to_owned(),
        retrieved_at,
    })
}

/// A provisional value.
pub fn observation(time: DateTime<Utc>, value: Option<f64>, provenance: &Arc<Provenance>) -> Observation {
    Observation {
        time,
        depth_m: None,
        value,
        original_value: value,
        approval: Approval::Provisional,
        qualifier: None,
        flag: if value.is_some() {
            Flag::NotEvaluated
        } else {
            Flag::Missing
        },
        provenance: Arc::clone(provenance),
    }
}

/// `values` from `first` on, `step` apart.
pub fn batch(
    key: SeriesKey,
    first: DateTime<Utc>,
    step: Duration,
    values: impl Iterator<Item = f64>,
) -> Batch {
    let provenance = provenance(at("2026-03-12T12:30:00Z"));
    let row = |(i, v)| observation(first + step * i as i32, Some(v), &provenance);
    Batch {
        key,
        rows: values.enumerate().map(row).collect(),
    }
}
