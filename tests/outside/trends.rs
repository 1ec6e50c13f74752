//! Slopes, smoothing, changes and analogs against other implementations
//! (fixtures/published/fish-series-checks.csv, rows S-TS .. S-CP and S-AN).

use plungeline::conditions::degree_days::{degree_days_degc, sine_degree_days_degc};
use plungeline::math::analogs::{weighted_mean, weighted_median, weights};
use plungeline::math::change_point::{least_squares_split, pettitt};
use plungeline::math::kendall::{hamed_rao, trend_free_prewhitened};
use plungeline::math::least_squares::line_hac;
use plungeline::math::slopes::{mann_kendall, theil_sen};
use plungeline::math::smooth::{ewma_recursive, ewma_weighted, loess};

use crate::published::row;

/// Table S1 of series-and-skill 4: daily surface temperature, degC.
const S1: [f64; 20] = [
    24.6, 24.8, 24.5, 24.1, 24.3, 23.9, 23.4, 23.6, 23.1, 22.7, 22.9, 22.4, 21.9, 22.1, 21.6, 21.0, 21.3,
    20.7, 20.2, 20.4,
];

/// Table Z1 of series-and-skill 4.
const Z1: [f64; 14] = [
    15.1, 15.3, 14.9, 15.2, 15.0, 15.1, 14.8, 13.2, 13.0, 13.3, 12.9, 13.1, 13.2, 12.8,
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

#[test]
fn serial_correlation_widens_the_variance_as_hamed_and_rao_have_it() {
    let found = hamed_rao(&S1).expect("a variance above 0");
    row("S-MKhr").assert(&[
        found.kendall.variance,
        found.kendall.z,
        found.p.expect("twenty values"),
    ]);
}

#[test]
fn prewhitening_around_the_trend_keeps_the_trend() {
    let found = trend_free_prewhitened(&S1).expect("twenty values");
    row("S-MKtf").assert(&[found.kendall.s, found.kendall.z]);
}

#[test]
fn the_least_squares_line_and_both_its_errors_are_statsmodels() {
    let line = line_hac(&days(), &S1, 3).expect("twenty points");
    row("S-OLS").assert(&[line.slope, line.slope_se, line.slope_hac_se]);
}

#[test]
fn loess_is_that_of_statsmodels_plain_and_robust() {
    let at = |iterations| {
        let smooth = loess(&days(), &S1, 0.5, iterations).expect("twenty points");
        [smooth[0], smooth[10], smooth[19]]
    };
    row("S-LW").assert(&at(0));
    row("S-LW3").assert(&at(3));
}

#[test]
fn the_exponentially_weighted_means_are_those_of_pandas() {
    row("S-EW").assert(&[ewma_recursive(&S1, 0.3)[19], ewma_weighted(&S1, 0.3)[19]]);
}

#[test]
fn degree_days_are_sums_above_the_base_and_the_sine_counts_warm_afternoons() {
    row("S-DD").assert(&[degree_days_degc(&S1, 10.0)]);
    let days = [(5.0, 18.0), (2.0, 12.0), (8.0, 25.0), (11.0, 28.0)];
    let simple = days.map(|(min, max)| degree_days_degc(&[f64::midpoint(min, max)], 10.0));
    let sine = days.map(|(min, max)| sine_degree_days_degc(min, max, 10.0).expect("a day"));
    row("S-DDs").assert(&[simple, sine].concat());
}

#[test]
fn the_change_of_the_worked_series_is_found_by_ranks_and_by_squares() {
    let ranks = pettitt(&Z1).expect("fourteen values");
    row("S-PT").assert(&[ranks.k, ranks.last_before as f64, ranks.p]);
    let split = least_squares_split(&Z1, 3).expect("fourteen values");
    row("S-CP").assert(&[split.first_after as f64, split.square_before, split.square_after]);
}

#[test]
fn analogs_are_weighted_by_their_distance() {
    let found = weights(&[0.2, 0.5, 0.9, 1.4, 2.0]).expect("five distances");
    row("S-AN").assert(&found);
    let date = [310.0, 298.0, 322.0, 305.0, 290.0];
    row("S-ANm").assert(&[
        weighted_mean(&date, &found).expect("five"),
        weighted_median(&date, &found).expect("five"),
    ]);
}
