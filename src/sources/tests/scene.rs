//! The lake, the clock and the client of these tests.

use std::path::PathBuf;
use std::time::Duration;

use chrono::{DateTime, Utc};

use crate::lake::{
    Boat, Cadence, CsvColumns, Inflow, InflowFlow, InflowId, Lake, SeriesSource, ThermalRegime, Zone, ZoneId,
    ZoneKind,
};
use crate::quantity::Quantity;
use crate::sources::{Client, Endpoints, Fetched, Job, Mode, Need, Patience, Settings, jobs, run};

/// 2025-10-09 04:30 in Los Angeles.
pub fn clock() -> DateTime<Utc> {
    at("2025-10-09T11:30:00Z")
}

pub fn at(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().with_timezone(&Utc)
}

pub fn fixture(relative: &str) -> Vec<u8> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures")
        .join(relative);
    std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

pub fn series(id: &str, quantity: Quantity, service: &str, station: &str, parameter: &str) -> SeriesSource {
    SeriesSource {
        station: station.to_owned(),
        cadences: vec![Cadence::Daily, Cadence::Continuous],
        ..SeriesSource::of(id, quantity, service, parameter)
    }
}

pub fn pool() -> SeriesSource {
    SeriesSource {
        // 3.42 ft, as the demonstration lake's file gives it.
        datum_offset_m: Some(3.42 * 0.3048),
        statistic: Some("00003".to_owned()),
        ..series(
            "pool",
            Quantity::PoolElevation,
            "usgs-ogc",
            "USGS-990000010",
            "62614",
        )
    }
}

pub fn weather(id: &str, quantity: Quantity, parameter: &str) -> SeriesSource {
    SeriesSource {
        ensemble_model: Some("gfs_seamless".to_owned()),
        cadences: vec![Cadence::Continuous, Cadence::Forecast],
        ..series(id, quantity, "open-meteo", "", parameter)
    }
}

pub fn table(id: &str, quantity: Quantity, file: &str, time: &str, value: &str, unit: &str) -> SeriesSource {
    SeriesSource {
        unit: Some(unit.to_owned()),
        cadences: vec![Cadence::Daily],
        csv: Some(CsvColumns {
            path: file.into(),
            time: time.to_owned(),
            value: value.to_owned(),
            depth: None,
            stamp_zone: "-08:00".to_owned(),
            missing: vec!["NA".to_owned()],
        }),
        ..series(id, quantity, "csv", "", value)
    }
}

pub fn lake(series: Vec<SeriesSource>) -> Lake {
    Lake {
        id: "harrow-gap".to_owned(),
        name: "Harrow Gap Reservoir".to_owned(),
        note: Some("invented".to_owned()),
        latitude_deg: 42.20,
        longitude_deg: -119.60,
        time_zone: chrono_tz::America::Los_Angeles,
        contact: Some("angler@example.org".to_owned()),
        vertical_datum: "NAVD 88".to_owned(),
        full_pool_elevation_m: 257.556,
        minimum_pool_elevation_m: 222.8,
        hypsography: None,
        hypsography_table: None,
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
        inflows: vec![Inflow {
            id: InflowId::new("sorrel"),
            name: "Sorrel River".to_owned(),
            enters: ZoneId::new("main"),
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
            launch_depth_m: 1.2,
            running_depth_m: 0.9,
            run_speed_m_s: 8.0,
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
        links: crate::lake::Links::default(),
        hindcast: None,
    }
}

/// Needs of every series at every cadence, all of it.
pub fn all_needs(lake: &Lake, to: DateTime<Utc>) -> Vec<Need<'_>> {
    let needs = lake.series.iter().flat_map(|series| {
        series.cadences.iter().map(move |cadence| Need {
            series,
            cadence: *cadence,
            from: None,
            to,
        })
    });
    needs.collect()
}

/// The jobs of everything that a lake's series need.
pub fn all_jobs(lake: &Lake, to: DateTime<Utc>) -> Vec<Job> {
    jobs(lake, &all_needs(lake, to))
}

/// Retries that take milliseconds.
pub fn hasty() -> Patience {
    Patience {
        connect: Duration::from_millis(500),
        total: Duration::from_millis(500),
        tries: 3,
        connect_tries: 2,
        first_pause: Duration::from_millis(1),
        longest_pause: Duration::from_millis(4),
        retry_after_cap: Duration::from_secs(2),
    }
}

pub fn settings(root: &str) -> Settings {
    Settings {
        patience: hasty(),
        endpoints: Endpoints::below(root),
        files_from: PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures"),
        ..Settings::default()
    }
}

pub async fn client(root: &str) -> Client {
    Client::new(Mode::Live, settings(root)).await.unwrap()
}

/// All that all jobs of a lake bring.
pub async fn fetch_all(client: &Client, lake: &Lake) -> Vec<Fetched> {
    let mut fetched = Vec::new();
    for job in all_jobs(lake, clock()) {
        fetched.extend(
            run(client, lake, &job)
                .await
                .unwrap_or_else(|error| panic!("{}: {error}", job.label())),
        );
    }
    fetched
}
