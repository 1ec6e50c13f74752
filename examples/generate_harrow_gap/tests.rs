//! Tests of the generator: `cargo test --features generator --example generate_harrow_gap`.

use std::io::Read as _;
use std::path::Path;

use super::bowl::Bowl;
use super::dice::Dice;
use super::mornings::mornings;
use super::publish::{fixed, gzip, three_digits};
use super::sun::cos_zenith;
use super::truth::Truth;

fn bowl() -> Bowl {
    Bowl::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml")).unwrap()
}

#[test]
fn the_water_balance_closes_before_faults_are_put_in() {
    let bowl = bowl();
    let balance = Truth::make(&bowl).balance(&bowl);
    // 5e8 m3 of storage in f64 resolve 6e-8 m3; a day adds some hundred roundings.
    assert!(balance.worst_day_m3 < 0.05, "{} m3", balance.worst_day_m3);
    assert!(balance.all_days_m3.abs() / balance.inflow_m3 < 1e-10);
}

#[test]
fn elevation_and_volume_are_each_others_inverse() {
    let bowl = bowl();
    for step in 1..200 {
        let elevation_m = bowl.bed_m() + 0.325 * f64::from(step);
        let back_m = bowl.elevation_m(bowl.volume_m3(elevation_m));
        assert!(
            (back_m - elevation_m).abs() < 1e-9,
            "{elevation_m} came back as {back_m}"
        );
    }
}

#[test]
fn volume_is_the_integral_of_area() {
    let bowl = bowl();
    // Midpoint rule in steps of 1 mm.
    let (low_m, high_m, steps) = (bowl.bed_m(), bowl.bed_m() + 60.0, 60_000);
    let width_m = (high_m - low_m) / f64::from(steps);
    let sum_m3: f64 = (0..steps)
        .map(|k| width_m * bowl.area_m2(low_m + (f64::from(k) + 0.5) * width_m))
        .sum();
    assert!((sum_m3 / bowl.volume_m3(high_m) - 1.0).abs() < 1e-6);
}

#[test]
fn mornings_are_at_half_past_four_at_the_lake() {
    // Daylight time is UTC-7, from 8 March 2026 too; standard time is UTC-8 (rules of the US since 2007).
    let instants = mornings().map(|morning| morning.as_of().format("%Y-%m-%dT%H:%MZ").to_string());
    assert_eq!(
        instants,
        [
            "2025-07-24T11:30Z",
            "2025-10-09T11:30Z",
            "2026-01-17T12:30Z",
            "2026-03-12T11:30Z"
        ]
    );
}

#[test]
fn what_is_compressed_unpacks_to_itself() {
    let text = b"Harrow Gap ".repeat(1000);
    let mut unpacked = Vec::new();
    flate2::read::GzDecoder::new(gzip(&text).as_slice())
        .read_to_end(&mut unpacked)
        .unwrap();
    assert_eq!(unpacked, text);
}

#[test]
fn streams_of_random_numbers_differ_and_have_the_right_moments() {
    let mut dice = Dice::new(7);
    let draws: Vec<f64> = (0..40_000).map(|_| dice.normal()).collect();
    let mean = draws.iter().sum::<f64>() / 40_000.0;
    let variance = draws.iter().map(|z| z * z).sum::<f64>() / 40_000.0;
    // Four standard errors: 1/sqrt(n) and sqrt(2/n).
    assert!(mean.abs() < 4.0 * 0.005, "{mean}");
    assert!((variance - 1.0).abs() < 4.0 * 0.0071, "{variance}");
    assert_ne!(Dice::new(8).uniform().to_bits(), Dice::new(7).uniform().to_bits());
}

#[test]
fn figures_are_written_as_the_services_write_them() {
    assert_eq!(fixed(-0.04, 1), "0.0");
    assert_eq!(fixed(-12.345, 2), "-12.35");
    let written = [0.456, 8.349, 9.996, 45.67, 99.96, 612.4, 2756.0, 31_249.0].map(three_digits);
    assert_eq!(
        written,
        ["0.46", "8.35", "10.0", "45.7", "100", "612", "2760", "31200"]
    );
}

#[test]
fn the_sun_stands_highest_at_noon_of_midsummer() {
    // Zenith distance at noon = latitude - declination: 42.20 - 23.45 = 18.75 degrees (Cooper 1969).
    assert!((cos_zenith(171.0, 12.0) - 18.75f64.to_radians().cos()).abs() < 1e-4);
    assert!(cos_zenith(171.0, 0.0) < 0.0);
}
