//! The conditions of an invented lake: the lake, and series for it.

mod ahead;
mod choice;
mod level;
mod river;
mod water;
mod weather;
mod whole;

use std::sync::Arc;

use chrono::{DateTime, Duration, NaiveDate, TimeZone, Utc};

use super::*;
use crate::clock::LakeClock;
use crate::lake::*;
use crate::quantity::Quantity;
use crate::series::{
    Approval, Consequence, Flag, ForecastBatch, GapReason, Member, Observation, Provenance, SeriesKey,
    SeriesSet,
};

/// 04:30 in summer time at the lake (UTC-7) on 24 July 2025.
fn morning() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2025, 7, 24, 11, 30, 0).unwrap()
}

fn clock() -> LakeClock {
    LakeClock::new(chrono_tz::America::Los_Angeles)
}

fn source(id: &str, quantity: Quantity, place: SeriesPlace, cadences: &[Cadence]) -> SeriesSource {
    SeriesSource {
        place,
        cadences: cadences.to_vec(),
        ..SeriesSource::of(id, quantity, "csv", "")
    }
}

fn zone(id: &str, kind: ZoneKind) -> Zone {
    Zone {
        id: ZoneId::new(id),
        name: id.into(),
        kind,
        above: None,
        inflow: None,
        area_share: Vec::new(),
        thalweg: Vec::new(),
        orientation_deg: None,
        fetch: Vec::new(),
        outline: Vec::new(),
    }
}

/// A lake of one main body and one arm with one river: a box of 10 km2, 100 m deep.
fn lake() -> Lake {
    let both = [Cadence::Daily, Cadence::Continuous];
    let sorrel = SeriesPlace::Inflow(InflowId::new("sorrel"));
    let forecast = [Cadence::Forecast];
    Lake {
        id: "harrow-gap".into(),
        name: "Harrow Gap Reservoir".into(),
        note: None,
        latitude_deg: 42.2,
        longitude_deg: -119.6,
        time_zone: chrono_tz::America::Los_Angeles,
        contact: None,
        vertical_datum: "NAVD 88".into(),
        full_pool_elevation_m: 100.0,
        minimum_pool_elevation_m: 10.0,
        hypsography_table: None,
        hypsography: Some(Hypsography {
            elevation_m: vec![0.0, 100.0],
            area_m2: vec![1e7, 1e7],
            volume_m3: vec![0.0, 1e9],
            volume_given: true,
        }),
        zones: vec![zone("main", ZoneKind::MainBody), zone("arm", ZoneKind::Arm)],
        stretches: Vec::new(),
        ramps: Vec::new(),
        inflows: vec![Inflow {
            id: InflowId::new("sorrel"),
            name: "Sorrel River".into(),
            enters: ZoneId::new("arm"),
            flow: InflowFlow::Series,
            regulated: false,
            thermal_regime: ThermalRegime::SnowFed,
            mean_flow_m3s: None,
        }],
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
            running_depth_m: 1.0,
            run_speed_m_s: 8.0,
            slow_speed_m_s: None,
            trip_h: 6.0,
            ball_kg: None,
            cable_diameter_m: None,
            cable_kind: None,
        }),
        series: vec![
            source("pool", Quantity::PoolElevation, SeriesPlace::Lake, &both),
            source("release", Quantity::Release, SeriesPlace::Lake, &[Cadence::Daily]),
            source(
                "surface",
                Quantity::WaterTemp,
                SeriesPlace::Zone(ZoneId::new("main")),
                &both,
            ),
            source("sorrel-flow", Quantity::Inflow, sorrel.clone(), &both),
            source("sorrel-temp", Quantity::RiverTemp, sorrel, &both),
            source("wind_speed", Quantity::WindSpeed, SeriesPlace::Lake, &forecast),
            source("wind_gust", Quantity::WindGust, SeriesPlace::Lake, &forecast),
            source(
                "wind_direction",
                Quantity::WindDirection,
                SeriesPlace::Lake,
                &forecast,
            ),
            source("air_temp", Quantity::AirTemp, SeriesPlace::Lake, &forecast),
            source("dew_point", Quantity::DewPoint, SeriesPlace::Lake, &forecast),
        ],
        water_readings: None,
        official_alerts: None,
        model_factors: Vec::new(),
        turnover: None,
        notices: Vec::new(),
        horizon: Vec::new(),
        links: crate::lake::Links::default(),
        hindcast: None,
    }
}

fn provenance() -> Arc<Provenance> {
    Arc::new(Provenance {
        service: "csv".into(),
        station: String::new(),
        parameter: String::new(),
        original_unit: String::new(),
        retrieved_at: morning(),
    })
}

fn row(time: DateTime<Utc>, value: f64) -> Observation {
    Observation {
        time,
        depth_m: None,
        value: Some(value),
        original_value: None,
        approval: Approval::Provisional,
        qualifier: None,
        flag: Flag::Pass,
        provenance: provenance(),
    }
}

/// Daily values of the `days` days before the morning, by days back (1 is yesterday).
fn days_back(days: i64, value: impl Fn(i64) -> f64) -> Vec<Observation> {
    let today = clock().standard_day(morning());
    let at = |back| clock().standard_day_start(today - Duration::days(back));
    (1..=days).rev().map(|back| row(at(back), value(back))).collect()
}

fn set_of(rows: Vec<(&str, Cadence, Vec<Observation>)>) -> SeriesSet {
    let mut set = SeriesSet {
        as_of: morning(),
        ..SeriesSet::default()
    };
    for (id, cadence, rows) in rows {
        set.observations.insert(
            SeriesKey {
                id: SeriesId::new(id),
                cadence,
            },
            rows,
        );
    }
    set
}

fn forecast(set: &mut SeriesSet, id: &str, members: u16, value: impl Fn(u16, i64) -> Option<f64>) {
    let start = Utc.with_ymd_and_hms(2025, 7, 24, 6, 0, 0).unwrap();
    let id = SeriesId::new(id);
    let batch = ForecastBatch {
        key: SeriesKey {
            id: id.clone(),
            cadence: Cadence::Forecast,
        },
        issued_at: start,
        provenance: provenance(),
        time: (0..48).map(|h| start + Duration::hours(h)).collect(),
        members: (0..members).map(Member).collect(),
        value: (0..members)
            .map(|m| (0..48).map(|h| value(m, h)).collect())
            .collect(),
    };
    set.forecasts.insert(id, batch);
}

fn gap<'a>(conditions: &'a Conditions, what: &str) -> &'a crate::series::Gap {
    conditions
        .gaps
        .iter()
        .find(|g| g.what == what)
        .unwrap_or_else(|| panic!("no gap {what}: {:?}", conditions.gaps))
}
