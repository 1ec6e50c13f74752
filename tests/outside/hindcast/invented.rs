//! An invented lake: a surface that warms and cools, a thermocline that deepens, a level that is drawn down, ice.

use std::f64::consts::TAU;

use chrono::{Datelike, NaiveDate};
use plungeline::hindcast::{ModelledDay, Observed, Pair};

/// Temperature on a day of the year at a depth.
fn temp_degc(ordinal: f64, depth_m: f64) -> f64 {
    let season = (TAU * (ordinal - 215.0) / 365.0).cos();
    let surface = 13.0 + 11.5 * season;
    let thermocline_m = 6.0 + 0.05 * (ordinal - 120.0).max(0.0);
    let deep = 5.0 + 0.4 * season;
    let share = 1.0 / (1.0 + ((depth_m - thermocline_m) / 1.8).exp());
    if surface < deep {
        surface + (deep - surface) * (depth_m / 10.0).min(1.0)
    } else {
        deep + (surface - deep) * share
    }
}

/// Days from 1 January of `year` on.
pub fn days(year: i32, years: i32) -> Vec<ModelledDay> {
    let first = NaiveDate::from_ymd_opt(year, 1, 1).unwrap();
    let last = NaiveDate::from_ymd_opt(year + years, 1, 1).unwrap();
    first.iter_days().take_while(|d| *d < last).map(day).collect()
}

fn day(day: NaiveDate) -> ModelledDay {
    let ordinal = f64::from(day.ordinal());
    let drawn_down_m = 9.0 * (0.5 - 0.5 * (TAU * (ordinal - 140.0) / 365.0).cos());
    let bed_m = 42.0 - drawn_down_m;
    let mut depth_m: Vec<f64> = (0..)
        .map(f64::from)
        .map(|z| z + 0.5)
        .take_while(|z| *z < bed_m)
        .collect();
    depth_m.push(bed_m);
    ModelledDay {
        day,
        temp_degc: depth_m.iter().map(|z| temp_degc(ordinal, *z)).collect(),
        depth_m,
        oxygen_mg_l: None,
        surface_elevation_m: 512.0 - drawn_down_m,
        ice_m: if ordinal < 50.0 { 0.2 } else { 0.0 },
    }
}

/// Profiles every three weeks of 2018 and 2019 to 30 m, a degree warmer at the thermocline than the model.
pub fn pairs() -> Vec<Pair> {
    let mut found = Vec::new();
    for day in days(2018, 2).iter().step_by(21) {
        for depth_m in [0.0, 2.0, 5.0, 8.0, 12.0, 16.0, 20.0, 30.0] {
            let ordinal = f64::from(day.day.ordinal());
            let modelled = temp_degc(ordinal, depth_m);
            found.push(Pair {
                day: day.day,
                time: day.day.and_hms_opt(12, 0, 0).unwrap().and_utc(),
                depth_m,
                observed: modelled + 2.5 * (-((depth_m - 10.0) / 4.0).powi(2)).exp(),
                modelled,
                ice: day.ice_m > 0.0,
            });
        }
    }
    found
}

/// Observations every `every` days of the modelled ones, half a degree colder, at whole depths.
pub fn observed(days: &[ModelledDay], every: usize) -> Vec<Observed> {
    let mut found = Vec::new();
    for day in days.iter().step_by(every) {
        let time = day.day.and_hms_opt(12, 0, 0).unwrap().and_utc();
        for i in (0..day.depth_m.len()).step_by(2) {
            let (depth_m, value) = (day.depth_m[i], (day.temp_degc[i] - 0.5).max(0.0));
            found.push(Observed { time, depth_m, value });
        }
    }
    found
}
