//! An invented lake with an invented year of weather, one river and one outlet.

use chrono::{DateTime, Utc};
use plungeline::column::assimilate::{
    AssimilationOptions, FactorSpread, Localisation, WaterField, WaterObservation, draw_factors,
};
use plungeline::column::forcing::{Forcing, RiverFlow, Weather};
use plungeline::column::layered::{ModelFactors, OxygenDemand};
use plungeline::column::reservoir::{Ensemble, LakeSetup, Reservoir};
use plungeline::lake::Hypsography;
use plungeline::math::streams::{normal, stream};

pub const STEPS_A_DAY: usize = 8;

pub fn setup() -> LakeSetup {
    LakeSetup {
        start_degc: Vec::new(),
        hypsography: Hypsography::from_areas(
            vec![160.0, 175.0, 190.0, 205.0],
            vec![0.0, 1.5e6, 4.0e6, 8.0e6],
        ),
        start_elevation_m: 200.2,
        lowest_elevation_m: 198.0,
        extinction_per_m: [0.5; 12],
        demand: OxygenDemand {
            bed_g_m2_day: 0.8,
            water_mg_l_day: 0.03,
        },
        outlet_elevation_m: vec![170.0],
    }
}

fn start() -> DateTime<Utc> {
    DateTime::parse_from_rfc3339("2023-02-01T00:00:00Z")
        .unwrap()
        .with_timezone(&Utc)
}

/// Weather of the 42nd parallel or so, warm and cold spells from a seed.
pub fn forcing(days: usize) -> Forcing {
    let mut numbers = stream(5, "weather");
    let mut spell = 0.0;
    let (mut weather, mut river) = (Vec::new(), Vec::new());
    for step in 0..days * STEPS_A_DAY {
        let day = 31.0 + step as f64 / STEPS_A_DAY as f64;
        let season = (std::f64::consts::TAU * (day - 110.0) / 365.0).sin();
        let hour = (std::f64::consts::TAU * (day.fract() - 0.25)).sin();
        if step % STEPS_A_DAY == 0 {
            spell = 0.7 * spell + normal(&mut numbers);
        }
        let air_temp_degc = 10.0 + 10.0 * season + 4.0 * hour + 2.0 * spell;
        weather.push(Weather {
            air_temp_degc,
            vapour_pressure_pa: 900.0 + 400.0 * season,
            pressure_pa: 9.7e4,
            wind_speed_m_s: (3.0 + 1.5 * spell.sin() + hour).max(0.5),
            wind_from_deg: None,
            sunlight_w_m2: (420.0 + 230.0 * season) * hour.max(0.0) * 1.4,
            sun_height_frac: 0.6 * hour.max(0.0),
            sky_longwave_w_m2: 290.0 + 50.0 * season + 8.0 * spell,
            precipitation_m_s: Some(1e-8),
        });
        river.push(RiverFlow {
            discharge_m3s: 6.0,
            temp_degc: 8.0 + 5.0 * season,
            oxygen_mg_l: None,
        });
    }
    Forcing {
        start: start(),
        step_s: 86_400.0 / STEPS_A_DAY as f64,
        release_m3s: vec![vec![6.0; weather.len()]],
        rivers: vec![river],
        weather,
        level_m: Vec::new(),
    }
}

/// Drawn factors of `blocks` blocks.
pub fn draws<const L: usize>(blocks: usize) -> Vec<[ModelFactors; L]> {
    let spread = FactorSpread::default();
    (0..blocks)
        .map(|b| std::array::from_fn(|lane| draw_factors(11, b * L + lane, &spread)))
        .collect()
}

pub fn cold<const L: usize>(blocks: usize, days: usize) -> (Ensemble<L>, Forcing) {
    let forcing = forcing(days);
    (
        Ensemble::cold(&setup(), &forcing, &draws(blocks)).unwrap(),
        forcing,
    )
}

pub fn options() -> AssimilationOptions {
    AssimilationOptions::of(Localisation::of_one(8.0))
}

pub fn observed(field: WaterField, depth_m: f64, value: f64, error: f64) -> WaterObservation {
    WaterObservation {
        time: start(),
        place: 0,
        depth_m,
        field,
        value,
        error,
    }
}

/// A lake's volume, heat, oxygen and river water are those that it began with and what has been booked.
pub fn assert_budget<const L: usize>(lake: &Reservoir<L>) {
    let left = lake.relative_residual();
    // The bound of a run of thirty years, of what the lake holds.
    assert!(left.iter().all(|left| *left < 1e-10), "{left:?}");
}
