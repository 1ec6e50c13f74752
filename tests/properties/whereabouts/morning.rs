//! Invented mornings: a main body 60 m deep and some arms, each with a river above it.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use plungeline::column::{ProfileBasis, RiverWater, Water, ZoneWater};
use plungeline::conditions::*;
use plungeline::lake::*;
use plungeline::species::{Species, builtin};
use plungeline::whereabouts::*;

/// One invented arm with its river.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arm {
    pub surface_degc: f64,
    pub depth_m: f64,
    pub area_m2: f64,
    pub river_degc: f64,
    pub ratio: f64,
    pub days_since_peak: Option<f64>,
    pub closed: bool,
}

pub const ARM: Arm = Arm {
    surface_degc: 12.0,
    depth_m: 20.0,
    area_m2: 2e6,
    river_degc: 8.0,
    ratio: 1.1,
    days_since_peak: None,
    closed: false,
};

/// An invented morning: a main body 60 m deep and some arms, each with a river above it.
#[derive(Debug, Clone)]
pub struct Morning {
    pub lake: Lake,
    pub conditions: Conditions,
    pub water: Water,
    pub options: CallOptions,
}

pub fn morning(date: &str, main_degc: f64, arms: &[(&str, Arm)]) -> Morning {
    let date: NaiveDate = date.parse().unwrap();
    let as_of = date.and_hms_opt(12, 30, 0).unwrap().and_utc();
    let mut made = Morning {
        lake: lake(),
        conditions: conditions(as_of),
        water: Water {
            members: 10,
            zones: vec![standing("main", main_degc, 60.0, 1e7, false)],
            rivers: Vec::new(),
            river_ways: Vec::new(),
            columns: None,
            surface_outlook: Vec::new(),
            days_ahead: Vec::new(),
            surface_fit: None,
            seams: Vec::new(),
            gaps: Vec::new(),
        },
        options: CallOptions {
            draws: 2000,
            seed: 7,
            date,
        },
    };
    for (name, arm) in arms {
        made.lake.zones.push(zone(name, ZoneKind::Arm, None));
        made.lake
            .zones
            .push(zone(&format!("{name}-river"), ZoneKind::River, Some(name)));
        made.lake.inflows.push(inflow(name));
        made.conditions.inflows.push(flow(name, *arm, as_of));
        made.conditions.turbidities.push(TurbidityCondition {
            zone: None,
            inflow: Some(InflowId::new(*name)),
            turbidity_ntu: 5.0,
            observed_at: as_of,
        });
        made.water.zones.push(standing(
            name,
            arm.surface_degc,
            arm.depth_m,
            arm.area_m2,
            arm.closed,
        ));
        let temp_degc = (0..10)
            .map(|m| arm.river_degc + 0.1 * (f64::from(m) - 4.5))
            .collect();
        made.water.rivers.push(RiverWater {
            inflow: InflowId::new(*name),
            temp_degc,
            measured: true,
        });
    }
    made
}

impl Morning {
    pub fn call(&self, species: &Species) -> SpeciesCall {
        call_species(&self.lake, species, &self.conditions, &self.water, &self.options)
    }

    pub fn rainbow(&self) -> SpeciesCall {
        self.call(&builtin("rainbow-trout").unwrap())
    }

    pub fn kings(&self) -> SpeciesCall {
        self.call(&builtin("landlocked-chinook").unwrap())
    }
}

pub fn share(call: &SpeciesCall, zone: &str) -> f64 {
    call.zones[&ZoneId::new(zone)].share
}

pub fn by_zone(call: &SpeciesCall) -> BTreeMap<String, f64> {
    call.zones
        .iter()
        .map(|(id, z)| (id.to_string(), z.share))
        .collect()
}

/// Cold at the bottom, warm at the surface; members half a degree apart at most.
fn standing(name: &str, surface_degc: f64, depth_m: f64, area_m2: f64, closed: bool) -> ZoneWater {
    let part = [0.0, 0.2, 0.4, 1.0];
    let bottom_degc = surface_degc.min(8.0);
    let profile = |m: i32| -> Vec<f64> {
        let surface = surface_degc + 0.1 * (f64::from(m) - 4.5);
        vec![
            surface,
            surface,
            bottom_degc + 0.4 * (surface - bottom_degc),
            bottom_degc,
        ]
    };
    ZoneWater {
        zone: ZoneId::new(name),
        depth_m: part.map(|p| p * depth_m).to_vec(),
        area_m2: Some(part.map(|p| area_m2 * (1.0 - p)).to_vec()),
        temp_degc: (0..10).map(profile).collect(),
        oxygen_mg_l: None,
        parts: Vec::new(),
        max_depth_m: Some(depth_m),
        volume_m3: Some(0.5 * area_m2 * depth_m),
        basis: ProfileBasis::SurfaceModelled,
        closed,
    }
}

pub fn zone(name: &str, kind: ZoneKind, above: Option<&str>) -> Zone {
    Zone {
        id: ZoneId::new(name),
        name: format!("the {name}"),
        kind,
        above: above.map(ZoneId::new),
        inflow: None,
        area_share: Vec::new(),
        thalweg: Vec::new(),
        orientation_deg: None,
        fetch: Vec::new(),
        outline: Vec::new(),
    }
}

pub fn inflow(name: &str) -> Inflow {
    Inflow {
        id: InflowId::new(name),
        name: format!("{name} river"),
        enters: ZoneId::new(name),
        flow: InflowFlow::Series,
        regulated: false,
        thermal_regime: ThermalRegime::Lowland,
        mean_flow_m3s: None,
    }
}

pub fn flow(name: &str, arm: Arm, as_of: DateTime<Utc>) -> InflowCondition {
    let day = as_of.date_naive();
    InflowCondition {
        inflow: InflowId::new(name),
        zone: ZoneId::new(name),
        discharge_m3s: 10.0 * arm.ratio,
        observed_at: as_of,
        baseflow_m3s: Some(10.0),
        ratio: Some(arm.ratio),
        ratio_basis: RatioBasis::EckhardtBaseflow,
        pulse: arm.days_since_peak.map(|days_since_peak| Pulse {
            onset: day,
            peak: day,
            peaked: days_since_peak > 0.0,
            peak_ratio: arm.ratio,
            end: None,
            days_since_peak,
            rise_days: 1,
            quickflow_volume_m3: 1e6,
            recession_per_day: None,
        }),
        highest_10d: None,
        mean_m3s: None,
        change_7d_m3s: None,
        flashiness_frac: None,
        step: None,
    }
}

fn conditions(as_of: DateTime<Utc>) -> Conditions {
    let change = |change_m| Some(Change { change_m, sd_m: 0.01 });
    Conditions {
        as_of,
        pool: Some(PoolCondition {
            elevation_m: 250.0,
            observed_at: as_of,
            change_1d: change(0.0),
            change_7d: change(0.0),
            change_30d: change(0.0),
            slope_7d_m_per_day: Some(0.0),
            highest_60d_m: Some(251.0),
            percentile_for_date_frac: Some(0.5),
        }),
        storage_m3: None,
        storage_observed_at: None,
        level_projection: None,
        balance: BalanceCondition::default(),
        inflows: Vec::new(),
        surface: None,
        river_temps: Vec::new(),
        turbidities: Vec::new(),
        wind: None,
        light: None,
        sky: None,
        forage: Vec::new(),
        inputs: Vec::new(),
        source_choices: Vec::new(),
        gaps: Vec::new(),
    }
}

fn lake() -> Lake {
    let depth = Hypsography {
        elevation_m: vec![190.0, 250.0],
        area_m2: vec![0.0, 1.4e7],
        volume_m3: vec![0.0, 4.2e8],
        volume_given: false,
    };
    Lake {
        id: "invented".to_owned(),
        name: "Invented Reservoir".to_owned(),
        note: None,
        latitude_deg: 42.2,
        longitude_deg: -119.6,
        time_zone: chrono_tz::America::Los_Angeles,
        contact: None,
        vertical_datum: "NAVD 88".to_owned(),
        full_pool_elevation_m: 257.0,
        minimum_pool_elevation_m: 222.0,
        hypsography_table: None,
        hypsography: Some(depth),
        zones: vec![zone("main", ZoneKind::MainBody, None)],
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
            launch_depth_m: 0.9,
            running_depth_m: 0.9,
            run_speed_m_s: 8.0,
            slow_speed_m_s: None,
            trip_h: 6.0,
            ball_kg: None,
            cable_diameter_m: None,
            cable_kind: None,
        }),
        series: Vec::new(),
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
