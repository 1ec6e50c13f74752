//! Rivers and releases of which only the long-term mean is known: they flow at it, or the deep water of a reservoir would
//! stand still that in truth is drawn off and replaced within a year or so.

use chrono::{Datelike, Duration};

use crate::column::forcing::{Forcing, RiverFlow};
use crate::lake::{Inflow, Lake, ThermalRegime};
use crate::physics::river_temp::{LOWLAND, REGULATED, RiverDay, RiverTemp, SNOW_FED};
use crate::units::S_PER_DAY;

/// Adds to a forcing without rivers those of the lake file whose mean flow it names, with the temperature of the river
/// equation by their thermal regime; and, where there are no releases, lets as much out through the lake's outlets, each an
/// equal part, with the level held at `level_m` unless one is known. Returns the sum of the mean flows, m3/s; 0 where
/// nothing was added.
pub fn add_mean_flows(lake: &Lake, forcing: &mut Forcing, level_m: f64) -> f64 {
    let means: Vec<(&Inflow, f64)> = lake
        .inflows
        .iter()
        .filter_map(|inflow| Some((inflow, inflow.mean_flow_m3s?)))
        .collect();
    if !forcing.rivers.is_empty() || means.is_empty() {
        return 0.0;
    }
    let steps = forcing.weather.len();
    let a_day = (S_PER_DAY / forcing.step_s).round().max(1.0) as usize;
    for (inflow, mean_m3s) in &means {
        let daily_degc = river_degc(regime(inflow.thermal_regime), forcing, a_day);
        let flow = (0..steps).map(|step| RiverFlow {
            discharge_m3s: *mean_m3s,
            temp_degc: daily_degc[step / a_day],
            oxygen_mg_l: None,
        });
        forcing.rivers.push(flow.collect());
    }
    let sum_m3s: f64 = means.iter().map(|(_, mean)| mean).sum();
    if forcing.release_m3s.is_empty() {
        let each_m3s = sum_m3s / lake.outlets.len().max(1) as f64;
        forcing.release_m3s = vec![vec![each_m3s; steps]; lake.outlets.len()];
        if forcing.level_m.is_empty() {
            forcing.level_m = vec![level_m; steps];
        }
    }
    sum_m3s
}

fn regime(regime: ThermalRegime) -> RiverTemp {
    match regime {
        ThermalRegime::Lowland => LOWLAND,
        ThermalRegime::Regulated => REGULATED,
        ThermalRegime::SnowFed => SNOW_FED,
    }
}

/// Temperature of a river at its mean flow, day by day of the forcing.
fn river_degc(model: RiverTemp, forcing: &Forcing, a_day: usize) -> Vec<f64> {
    let days: Vec<RiverDay> = forcing
        .weather
        .chunks(a_day)
        .enumerate()
        .map(|(k, steps)| RiverDay {
            air_temp_degc: steps.iter().map(|w| w.air_temp_degc).sum::<f64>() / steps.len() as f64,
            discharge_ratio: 1.0,
            year_frac: f64::from((forcing.start + Duration::days(k as i64)).ordinal0()) / 365.25,
        })
        .collect();
    let start_degc = days.first().map_or(0.0, |day| model.equilibrium_degc(*day));
    model.run_degc(start_degc, &days)
}
