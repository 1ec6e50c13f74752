//! Slopes against scipy and pymannkendall (fixtures/published/fish-series-checks.csv, rows S-TS .. S-MKt).

use plungeline::math::slopes::{mann_kendall, theil_sen};

use crate::published::row;

/// Table S1 of series-and-skill 4: daily surface temperature, degC.
const S1: [f64; 20] = [
    24.6, 24.8, 24.5, 24.1, 24.3, 23.9, 23.4, 23.6, 23.1, 22.7, 22.9, 22.4, 21.9, 22.1, 21.6, 21.0, 21.3,
    20.7, 20.2, 20.4,
];

fn days() -> Vec<f64> {
    (0..S1.len()).map(|i| i as f64).collect()
}

#[test]
fn the_theil_sen_slope_and_its_95_percent_interval_are_scipys() {
    let line = theil_sen(&days(), &S1, 0.95).expect("twenty finite points");
    row("S-TS").assert(&[line.slope, line.slope_low, line.slope_high]);
}

#[test]
fn both_theil_sen_intercepts_are_scipys() {
    let line = theil_sen(&days(), &S1, 0.95).expect("twenty finite points");
    row("S-TSi").assert(&[line.intercept_separate]);
    row("S-TSj").assert(&[line.intercept_joint]);
}

#[test]
fn the_mann_kendall_statistic_and_its_variance_are_pymannkendalls() {
    let found = mann_kendall(&S1).expect("twenty finite values");
    row("S-MK").assert(&[found.s, found.variance, found.z, found.tau]);
}

#[test]
fn ties_lessen_the_variance_of_mann_kendall() {
    let found = mann_kendall(&[3.0, 1.0, 4.0, 1.0, 5.0, 9.0, 2.0, 6.0, 5.0, 3.0]).expect("ten finite values");
    let wanted = row("S-MKt").numbers();
    // The row's last number is a two-sided p, which this program does not use; its tolerance is 1e-6.
    for (found, wanted) in [found.s, found.variance, found.z].iter().zip(&wanted) {
        assert!(
            (found - wanted).abs() <= 1e-6,
            "S-MKt: wanted {wanted}, found {found}"
        );
    }
}
