//! Surface and river temperature from air temperature against the published equations and sets.

use std::f64::consts::TAU;

use plungeline::physics::air_water::*;
use plungeline::physics::river_temp::{
    LOGISTIC_LOWLAND, LOGISTIC_REGULATED, LOGISTIC_SNOW_FED, LOWLAND, RiverDay, SNOW_FED,
};
use plungeline::physics::water::{MAX_DENSITY_TEMP_DEGC, water_density_kg_m3};

use crate::published::row;

#[test]
fn water_density_agrees_with_iapws_and_unesco() {
    for (id, temp_degc) in [
        ("P1-RHO-0", 0.0),
        ("P1-RHO-4", 4.0),
        ("P1-RHO-10", 10.0),
        ("P1-RHO-15", 15.0),
        ("P1-RHO-20", 20.0),
        ("P1-RHO-25", 25.0),
        ("P1-RHO-30", 30.0),
        ("P1-EOS-5", 5.0),
        ("P1-EOS-25", 25.0),
    ] {
        row(id).assert(&[water_density_kg_m3(temp_degc)]);
    }
}

#[test]
fn water_is_densest_at_the_published_temperature() {
    row("P1-TMD").assert(&[MAX_DENSITY_TEMP_DEGC]);
    let slope = |t: f64| water_density_kg_m3(t + 1e-3) - water_density_kg_m3(t - 1e-3);
    let densest = plungeline::math::roots::bisect(slope, 1.0, 8.0, 1e-6).unwrap();
    row("P1-TMD").assert(&[densest]);
}

fn moment(air_temp_degc: f64, water_temp_degc: f64, year_frac: f64) -> Moment {
    Moment {
        air_temp_degc,
        water_temp_degc,
        year_frac,
    }
}

#[test]
fn the_lake_equation_has_the_published_right_side() {
    row("P7-Z8-RATE").assert(&[ZURICH_8.slope_degc_per_day(moment(20.0, 18.0, 0.5))]);
    row("P7-C8-RATE").assert(&[CONSTANCE_8.slope_degc_per_day(moment(5.0, 10.0, 0.85))]);
    row("P7-Z4-RATE").assert(&[ZURICH_4.slope_degc_per_day(moment(20.0, 18.0, 0.5))]);
}

#[test]
fn the_notation_of_2013_is_understood() {
    // Piccolroaz et al. 2013, Table 2, satellite set.
    let set = AirWater::from_2013_notation(
        &[0.0175, 0.467, 0.0230, 0.00655, -0.00257, 3.50, 13.32, 0.44],
        4.0,
    );
    row("P7-HESS").assert(&[set.slope_degc_per_day(moment(18.0, 12.0, 0.6))]);
    row("P7-MAP").assert(&[set.a3_per_day]);
}

#[test]
fn the_depth_regression_gives_the_published_first_guess() {
    let guess = AirWater::first_guess_4(20.0, 4.0);
    row("P7-REG20-a1").assert(&[guess.a1_degc_per_day]);
    row("P7-REG20-a2").assert(&[guess.a2_per_day]);
    row("P7-REG20-a3").assert(&[guess.a3_per_day]);
    row("P7-REG20-a4").assert(&[guess.a4_degc]);
}

/// Days and their share of a 365-day year, for the periodic runs.
fn periodic_days(years: usize, mean_degc: f64) -> (Vec<f64>, Vec<f64>) {
    (0..years * 365)
        .map(|day| {
            let t = day as f64;
            (mean_degc - 10.0 * (TAU * (t - 20.0) / 365.0).cos(), t / 365.0)
        })
        .unzip()
}

#[test]
fn periodic_air_leads_to_the_published_extremes_of_the_lake() {
    let (air, year) = periodic_days(6, 10.0);
    for (name, set) in [
        ("Zurich8", ZURICH_8),
        ("Sparkling8", SPARKLING_8),
        ("Constance8", CONSTANCE_8),
        ("Zurich4", ZURICH_4),
    ] {
        let sixth = &set.run_degc(8.0, &air, &year)[5 * 365..];
        row(&format!("P7-{name}-MAX")).assert(&[sixth.iter().copied().fold(f64::MIN, f64::max)]);
        row(&format!("P7-{name}-MIN")).assert(&[sixth.iter().copied().fold(f64::MAX, f64::min)]);
    }
}

#[test]
fn the_river_equation_has_the_published_right_side_and_equilibria() {
    let day = |air_temp_degc, discharge_ratio, year_frac| RiverDay {
        air_temp_degc,
        discharge_ratio,
        year_frac,
    };
    row("P6-RIV-RATE").assert(&[LOWLAND.slope_degc_per_day(day(15.0, 0.8, 0.5), 12.0)]);
    row("P6-RIV-EQ").assert(&[LOWLAND.equilibrium_degc(day(15.0, 1.0, 0.55))]);
    row("P6-RIV-EQS").assert(&[SNOW_FED.equilibrium_degc(day(15.0, 1.0, 0.55))]);
}

#[test]
fn periodic_air_leads_to_the_published_extreme_of_the_river() {
    let (air, year) = periodic_days(3, 9.0);
    let days: Vec<RiverDay> = air
        .iter()
        .zip(&year)
        .map(|(&air_temp_degc, &year_frac)| RiverDay {
            air_temp_degc,
            discharge_ratio: 1.0,
            year_frac,
        })
        .collect();
    let third = &LOWLAND.run_degc(8.0, &days)[2 * 365..];
    row("P6-RIV-CYC").assert(&[third.iter().copied().fold(f64::MIN, f64::max)]);
}

#[test]
fn the_logistic_river_has_the_published_values() {
    row("P6-MOH-N").assert(&[LOGISTIC_LOWLAND.river_temp_degc(10.0)]);
    row("P6-MOH-N2").assert(&[LOGISTIC_LOWLAND.river_temp_degc(20.0)]);
    row("P6-MOH-R").assert(&[LOGISTIC_REGULATED.river_temp_degc(10.0)]);
    row("P6-MOH-S").assert(&[LOGISTIC_SNOW_FED.river_temp_degc(20.0)]);
}
