//! The lake and river equations for any input.

use std::f64::consts::TAU;

use plungeline::math::streams::{normal, stream};
use plungeline::physics::air_water::{AirWater, Season};
use plungeline::physics::river_temp::{LOWLAND, REGULATED, RiverDay, RiverTemp, SNOW_FED};
use proptest::prelude::*;

proptest! {
    #[test]
    fn surface_water_never_freezes_nor_blows_up(
        a in (-1.0f64..1.0, -0.3f64..0.3, 1e-4f64..2.0, 0.05f64..60.0, -1.0f64..1.0, 0.0f64..1.0),
        threshold_degc in 0.0f64..12.0,
        start_degc in -5.0f64..40.0,
        air in prop::collection::vec(-60.0f64..60.0, 1..60),
    ) {
        let set = AirWater {
            a1_degc_per_day: a.0,
            a2_per_day: a.1,
            a3_per_day: a.2,
            a4_degc: a.3,
            season: Some(Season { a5_degc_per_day: a.4, a6_frac: a.5 }),
            cold: None,
            threshold_degc,
        };
        let year: Vec<f64> = (0..air.len()).map(|i| i as f64 / 365.0).collect();
        let run = set.run_degc(start_degc, &air, &year);
        prop_assert_eq!(run.len(), air.len());
        // No further than the start or the warmest equilibrium there is.
        let most = (a.0.abs() + a.1.abs() * 60.0 + a.4.abs()) / a.2;
        prop_assert!(run.iter().all(|t| *t >= 0.0 && *t <= most.max(start_degc) + 1e-9), "{:?}", run);
    }

    #[test]
    fn constant_air_leads_to_the_equilibrium(
        air_temp_degc in -10.0f64..35.0,
        mean_depth_m in 3.0f64..100.0,
        start_degc in 0.0f64..35.0,
    ) {
        let set = AirWater { season: None, ..AirWater::first_guess_6(mean_depth_m, 4.0) };
        // The slowest rate is a3, reached without stratification: thirty of its times.
        let days = (30.0 / set.a3_per_day) as usize;
        let run = set.run_degc(start_degc, &vec![air_temp_degc; days], &vec![0.5; days]);
        let wanted = set.equilibrium_degc(air_temp_degc, 0.5);
        prop_assert!((run.last().unwrap() - wanted).abs() < 1e-6, "{:?} {}", run.last(), wanted);
    }

    #[test]
    fn halving_the_substep_changes_the_surface_by_less_than_a_hundredth(
        seed in 0u64..1000,
        mean_depth_m in 3.0f64..100.0,
    ) {
        let mut numbers = stream(seed, "halving");
        let mut anomaly_degc = 0.0;
        let (air, year): (Vec<f64>, Vec<f64>) = (0..730)
            .map(|day| {
                anomaly_degc = 0.75 * anomaly_degc + 2.6 * normal(&mut numbers);
                let t = f64::from(day) / 365.0;
                (12.0 - 12.0 * (TAU * (t - 0.05)).cos() + anomaly_degc, t)
            })
            .unzip();
        let set = AirWater::first_guess_6(mean_depth_m, 4.0);
        let (once, twice) = (set.run_degc(5.0, &air, &year), set.run_fine_degc(5.0, &air, &year, 2));
        let worst = once.iter().zip(&twice).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        prop_assert!(worst < 0.01, "{worst}");
    }

    #[test]
    fn rivers_never_freeze_solid_and_halving_their_substep_changes_little(
        seed in 0u64..1000,
        set in prop::sample::select(vec![LOWLAND, REGULATED, SNOW_FED]),
    ) {
        let mut numbers = stream(seed, "river");
        let mut log_ratio = 0.0;
        let days: Vec<RiverDay> = (0..400)
            .map(|day| {
                let t = f64::from(day) / 365.0;
                let air_temp_degc = 10.0 - 14.0 * (TAU * (t - 0.05)).cos() + 3.0 * normal(&mut numbers);
                // From day to day by a third, at times by a factor of two and a half: a flashy river.
                log_ratio = 0.9 * log_ratio + 0.3 * normal(&mut numbers);
                RiverDay { air_temp_degc, discharge_ratio: f64::exp(log_ratio), year_frac: t }
            })
            .collect();
        let (once, twice) = (set.run_degc(5.0, &days), set.run_fine_degc(5.0, &days, 2));
        for (a, b) in once.iter().zip(&twice) {
            // Near freezing the corner at 0 degC is met to a twenty-fourth of a day only.
            let allowed = if *a < 1.0 { 0.05 } else { 0.01 };
            prop_assert!(*a >= 0.0 && (a - b).abs() < allowed, "{} {}", a, b);
        }
    }
}

#[test]
fn a_dead_river_keeps_its_equilibrium() {
    let day = RiverDay {
        air_temp_degc: 15.0,
        discharge_ratio: 1e-12,
        year_frac: 0.5,
    };
    let run = RiverTemp {
        a4_power: 1.0,
        ..LOWLAND
    }
    .run_degc(0.0, &[day; 30]);
    assert!(
        (run[29] - (0.889 + 0.649 * 15.0) / 0.765).abs() < 1e-6,
        "{}",
        run[29]
    );
}
