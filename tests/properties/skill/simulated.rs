//! Scores of forecasts of a known world: the truth must win, and small ensembles must not be punished twice.
//!
//! Every seed is fixed. Bounds are four standard errors of the simulation, found from its own spread.

use plungeline::math::streams::{normal, stream, uniform};
use plungeline::skill::brier::brier_score;
use plungeline::skill::crps::{EnsembleCase, normal_scores};
use plungeline::skill::dates::DayForecast;
use plungeline::skill::differences::{Resampling, block_bootstrap};
use plungeline::skill::emos::{MomentCase, fit_emos, fit_shift_and_stretch};
use plungeline::skill::log_score::mean_log_score;
use plungeline::skill::ranks::{flatness, ranks, spread_error_ratio};
use plungeline::skill::rps::ranked_probability_score;

/// Mean and its standard error.
fn mean_and_error(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0);
    (mean, (variance / count).sqrt())
}

/// Ensembles of `members` from the distribution that the observed value comes from.
fn perfect(members: usize, cases: usize, sd: f64) -> Vec<EnsembleCase> {
    let mut numbers = stream(11, &format!("perfect/{members}"));
    (0..cases)
        .map(|_| EnsembleCase {
            members: (0..members).map(|_| sd * normal(&mut numbers)).collect(),
            observed: normal(&mut numbers),
        })
        .collect()
}

#[test]
fn the_fair_score_does_not_depend_on_the_number_of_members_and_the_standard_one_does() {
    // E CRPS of the true N(0, 1) is 1/sqrt(pi); of m of its members 1/m of that more (Ferro 2014).
    let truth = 1.0 / std::f64::consts::PI.sqrt();
    for members in [2, 5, 20] {
        let cases = perfect(members, 20_000, 1.0);
        let fair: Vec<f64> = cases.iter().map(|c| c.crps_fair().unwrap()).collect();
        let (mean, error) = mean_and_error(&fair);
        assert!((mean - truth).abs() < 4.0 * error, "{members}: {mean} +- {error}");
        let standard: Vec<f64> = cases.iter().map(|c| c.crps().unwrap()).collect();
        let (mean, error) = mean_and_error(&standard);
        let wanted = truth * (1.0 + 1.0 / members as f64);
        assert!(
            (mean - wanted).abs() < 4.0 * error,
            "{members}: {mean} +- {error}"
        );
    }
}

#[test]
fn no_normal_forecast_beats_the_true_one() {
    let mut numbers = stream(12, "truth");
    let observed: Vec<f64> = (0..20_000).map(|_| normal(&mut numbers)).collect();
    for (mean, sd) in [(0.3, 1.0), (-0.3, 1.0), (0.0, 0.7), (0.0, 1.4)] {
        let extra = |score: fn(f64, f64, f64) -> f64| {
            let differences: Vec<f64> = observed
                .iter()
                .map(|y| score(mean, sd, *y) - score(0.0, 1.0, *y))
                .collect();
            mean_and_error(&differences)
        };
        for (found, error) in [
            extra(|m, s, y| normal_scores(m, s, y).unwrap().crps),
            extra(|m, s, y| normal_scores(m, s, y).unwrap().log_score),
        ] {
            assert!(found > 4.0 * error, "N({mean}, {sd}): {found} +- {error}");
        }
    }
}

#[test]
fn no_probability_beats_the_true_one() {
    // Exact expectations instead of draws: an event of probability 0.3, as 3 cases of 10.
    let happened: Vec<bool> = (0..10).map(|i| i < 3).collect();
    let brier = |p: f64| brier_score(&[p; 10], &happened).unwrap();
    let log = |p: f64| mean_log_score(&[p; 10], &happened).unwrap().log_score;
    for p in (1..100)
        .map(|i| f64::from(i) / 100.0)
        .filter(|p| (p - 0.3).abs() > 1e-9)
    {
        assert!(brier(p) > brier(0.3) && log(p) > log(0.3), "{p}");
    }
}

#[test]
fn no_distribution_of_days_or_categories_beats_the_true_one() {
    // Exact expectations: the truth's own probabilities weigh the scores.
    let truth = [0.1, 0.2, 0.4, 0.2, 0.1];
    let expected = |forecast: &[f64]| {
        let dates = DayForecast::new(300, forecast.to_vec()).unwrap();
        let mut sums = [0.0; 4];
        for (k, weight) in truth.iter().enumerate() {
            let day = 300 + k as i64;
            // Nobody looked after day 302: what was seen is the day, or "not by then".
            let seen = if day <= 302 {
                dates.log_score(day)
            } else {
                dates.censored_log_score(302)
            };
            let scores = [
                dates.crps_days(day),
                dates.crps_to_days(Some(day), 302),
                seen.unwrap().log_score,
                ranked_probability_score(forecast, k).unwrap(),
            ];
            for (sum, score) in sums.iter_mut().zip(scores) {
                *sum += weight * score;
            }
        }
        sums
    };
    let best = expected(&truth);
    let mut numbers = stream(13, "other days");
    for _ in 0..500 {
        let weights: Vec<f64> = (0..5).map(|_| 0.01 + uniform(&mut numbers)).collect();
        let sum: f64 = weights.iter().sum();
        let other: Vec<f64> = weights.iter().map(|w| w / sum).collect();
        for (found, least) in expected(&other).into_iter().zip(best) {
            assert!(found > least, "{other:?}: {found} against {least}");
        }
    }
}

#[test]
fn ranks_of_a_perfect_ensemble_are_flat_and_of_a_narrow_one_are_not() {
    let good = perfect(9, 4000, 1.0);
    let flat = flatness(&ranks(&good, 3).unwrap(), 9).unwrap();
    // One fixed draw in a thousand would fail.
    assert!(flat.flat_prob > 0.001, "{flat:?}");
    let narrow = perfect(9, 4000, 0.7);
    assert!(flatness(&ranks(&narrow, 3).unwrap(), 9).unwrap().flat_prob < 1e-6);
    // The ratio of 4000 cases has a standard error of 1 / sqrt(2 * 4000) = 0.011.
    assert!((spread_error_ratio(&good).unwrap() - 1.0).abs() < 0.045);
    // (m + 1)/m 0.49 over 1 + 0.49/m: 0.719 by hand.
    assert!((spread_error_ratio(&narrow).unwrap() - 0.719).abs() < 0.035);
}

#[test]
fn a_correction_finds_the_world_that_made_the_cases() {
    // y = 1 + 0.9 m + e, e of variance 0.2 + 0.5 s^2.
    let mut numbers = stream(14, "corrected");
    let cases: Vec<MomentCase> = (0..20_000)
        .map(|_| {
            let mean = 15.0 + 5.0 * normal(&mut numbers);
            let variance = 0.2 + 2.0 * uniform(&mut numbers);
            let sd = (0.2f64 + 0.5 * variance).sqrt();
            MomentCase {
                mean,
                variance,
                observed: 1.0 + 0.9 * mean + sd * normal(&mut numbers),
            }
        })
        .collect();
    let fit = fit_emos(&cases).unwrap();
    // Standard errors by least squares: slope 0.85 / (5 sqrt n) = 0.0012, intercept 16 of that; of the two
    // variances about 0.02 (variance of a squared error 2 sigma^4 over n and the spread 0.58 of s^2). Four.
    assert!(
        (fit.slope - 0.9).abs() < 0.005 && (fit.intercept - 1.0).abs() < 0.08,
        "{fit:?}"
    );
    assert!((fit.added_variance - 0.2).abs() < 0.08, "{fit:?}");
    assert!((fit.variance_factor - 0.5).abs() < 0.08, "{fit:?}");
    // A constant error and a constant stretch are found by the small form.
    let simple: Vec<MomentCase> = (0..4000)
        .map(|_| MomentCase {
            mean: 10.0,
            variance: 4.0,
            observed: 10.5 + 3.0 * normal(&mut numbers),
        })
        .collect();
    let small = fit_shift_and_stretch(&simple).unwrap();
    // Standard errors 3/sqrt(4000) = 0.05 and 1.5/sqrt(8000) = 0.017 (a little more by CRPS); four.
    assert!(
        (small.shift - 0.5).abs() < 0.2 && (small.sd_factor - 1.5).abs() < 0.08,
        "{small:?}"
    );
}

#[test]
fn resampled_blocks_know_of_dependence_and_single_days_do_not() {
    // A first-order autoregression with 0.8 from day to day: the mean of n days varies
    // (1 + 0.8)/(1 - 0.8) = 9 times as much as of independent days, so that its interval is 3 times as wide.
    let mut numbers = stream(15, "days");
    let mut now = 0.0;
    let days: Vec<f64> = (0..3000)
        .map(|_| {
            now = 0.8 * now + 0.6 * normal(&mut numbers);
            now
        })
        .collect();
    let width = |block| {
        let how = Resampling {
            block,
            resamples: 1000,
            seed: 5,
            confidence_frac: 0.9,
        };
        let found = block_bootstrap(&days, how).unwrap();
        assert_eq!(found, block_bootstrap(&days, how).unwrap());
        found.high - found.low
    };
    // Independent days: 2 * 1.645 / sqrt(3000) = 0.060. Quantiles of 1000 resamples are good to some 5 percent, and
    // the record's own variance to 5 percent.
    assert!((width(1) - 0.060).abs() < 0.010, "{}", width(1));
    // Blocks of 50 days see all but 1 - 2 * 4.4 / 50 (the dependence that ends cut off) of 9: 0.17; 20 percent.
    assert!((width(50) - 0.170).abs() < 0.035, "{}", width(50));
}
