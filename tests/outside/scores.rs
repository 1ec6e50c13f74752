//! Scores of forecasts against the rows S-BS to S-WHERE of fixtures/published/fish-series-checks.csv.
//!
//! Beside them other cases against scoringrules, properscoring and scipy (`tests/outside/scores/oracle.py` has them in `oracle.json`;
//! `.ci/run` runs that again). Tables V1, E1 and E2 are those of the rows (synthetic, from the science reference, section 5.1).

use plungeline::math::quantiles::mean;
use plungeline::skill::brier::{BrierParts, brier_parts, brier_parts_in_bins, brier_score};
use plungeline::skill::crps::{EnsembleCase, normal_scores};
use plungeline::skill::dates::DayForecast;
use plungeline::skill::differences::paired_test;
use plungeline::skill::emos::{MomentCase, fit_emos, fit_shift_and_stretch, mean_normal_crps};
use plungeline::skill::intervals::{jeffreys_interval, wilson_interval};
use plungeline::skill::log_score::mean_log_score;
use plungeline::skill::ranks::{flatness, ranks, spread_error_ratio};
use plungeline::skill::rps::ranked_probability_score;
use plungeline::skill::shares::{expected_split, split_log_score};
use plungeline::skill::skill_score;
use serde_json::Value;

use crate::published::row;

const V1_PROB: [f64; 12] = [0.9, 0.8, 0.7, 0.6, 0.6, 0.4, 0.3, 0.3, 0.2, 0.1, 0.1, 0.8];

fn v1_happened() -> [bool; 12] {
    [1, 1, 0, 1, 1, 0, 1, 0, 0, 0, 0, 1].map(|o| o == 1)
}

fn case(members: &[f64], observed: f64) -> EnsembleCase {
    EnsembleCase {
        members: members.to_vec(),
        observed,
    }
}

fn e1() -> Vec<EnsembleCase> {
    vec![
        case(&[18.0, 19.0, 20.0, 21.0, 22.0], 20.5),
        case(&[17.0, 17.5, 18.0, 18.2, 19.0], 19.4),
        case(&[20.0, 21.0, 22.0, 23.0, 24.0], 19.0),
        case(&[15.0, 16.0, 17.0, 18.0, 19.0], 17.2),
        case(&[19.0, 19.5, 20.0, 20.5, 21.0], 20.2),
        case(&[21.0, 21.2, 21.4, 21.6, 21.8], 21.7),
        case(&[16.0, 17.0, 18.0, 19.0, 20.0], 15.1),
        case(&[22.0, 23.0, 24.0, 25.0, 26.0], 23.1),
    ]
}

fn e2() -> Vec<MomentCase> {
    let mean = [
        14.2, 15.1, 16.8, 18.3, 19.9, 21.4, 22.6, 23.1, 23.5, 22.8, 21.9, 20.4, 18.8, 17.1, 15.6,
    ];
    let variance = [
        0.6, 0.5, 0.7, 0.9, 1.1, 1.0, 0.8, 0.6, 0.5, 0.6, 0.8, 1.0, 1.1, 0.9, 0.7,
    ];
    let observed = [
        13.9, 15.6, 17.9, 18.4, 20.9, 22.8, 22.5, 24.3, 24.0, 24.2, 21.6, 21.5, 19.9, 17.0, 16.6,
    ];
    (0..mean.len())
        .map(|i| MomentCase {
            mean: mean[i],
            variance: variance[i],
            observed: observed[i],
        })
        .collect()
}

#[test]
fn yes_or_no_forecasts_have_the_published_scores() {
    let score = brier_score(&V1_PROB, &v1_happened()).unwrap();
    row("S-BS").assert(&[score]);
    let log = mean_log_score(&V1_PROB, &v1_happened()).unwrap();
    assert_eq!(log.floored, 0);
    row("S-LS").assert(&[log.log_score]);
    // The sample's own frequency, 6 of 12, as the forecast of every case.
    let climatology = brier_score(&[0.5; 12], &v1_happened()).unwrap();
    row("S-BSS").assert(&[skill_score(score, climatology).unwrap()]);
}

#[test]
fn the_brier_score_falls_into_the_published_parts() {
    let unique = brier_parts(&V1_PROB, &v1_happened()).unwrap();
    row("S-BSd").assert(&[unique.reliability, unique.resolution, unique.uncertainty]);
    let bins = brier_parts_in_bins(&V1_PROB, &v1_happened(), 5).unwrap();
    let BrierParts {
        reliability,
        resolution,
        uncertainty,
        within_variance,
        within_covariance,
    } = bins;
    row("S-BSb").assert(&[
        reliability,
        resolution,
        uncertainty,
        within_variance,
        within_covariance,
    ]);
    for parts in [unique, bins] {
        row("S-BS").assert(&[parts.brier_score()]);
    }
}

#[test]
fn ordered_categories_have_the_published_score() {
    for (id, category) in [("S-RPS-0", 0), ("S-RPS-1", 1), ("S-RPS-2", 2)] {
        row(id).assert(&[ranked_probability_score(&[0.5, 0.3, 0.2], category).unwrap()]);
    }
}

#[test]
fn ensembles_have_the_published_score_standard_and_fair() {
    for (id, observed) in [("S-CRPS-E19.1", 19.1), ("S-CRPS-E21.5", 21.5)] {
        let one = case(&[18.2, 18.9, 19.4, 19.9, 20.7], observed);
        row(id).assert(&[one.crps().unwrap(), one.crps_fair().unwrap()]);
    }
    let mean_of =
        |score: fn(&EnsembleCase) -> f64| mean(&e1().iter().map(score).collect::<Vec<_>>()).unwrap();
    row("S-ENS").assert(&[
        mean_of(|c| c.crps().unwrap()),
        mean_of(|c| c.crps_fair().unwrap()),
    ]);
}

#[test]
fn normal_forecasts_have_the_published_scores() {
    for (id, mean, sd, observed) in [
        ("S-CRPS-N19.1", 19.4, 0.9, 19.1),
        ("S-CRPS-N21.5", 19.4, 0.9, 21.5),
        ("S-CRPS-N0", 0.0, 1.0, 0.0),
    ] {
        let found = normal_scores(mean, sd, observed).unwrap();
        row(id).assert(&[found.crps, found.log_score, found.pit_prob]);
    }
}

#[test]
fn dates_have_the_published_scores() {
    let forecast = DayForecast::new(300, vec![0.05, 0.1, 0.2, 0.3, 0.2, 0.1, 0.05]).unwrap();
    row("S-DATE").assert(&[
        forecast.crps_days(303),
        forecast.log_score(303).unwrap().log_score,
    ]);
    row("S-DATEc").assert(&[forecast.censored_log_score(303).unwrap().log_score]);
}

#[test]
fn ranks_and_spread_are_the_published_ones() {
    let found = ranks(&e1(), 1).unwrap();
    let as_numbers: Vec<f64> = found.iter().map(|r| *r as f64).collect();
    row("S-RANK").assert(&as_numbers);
    let flat = flatness(&found, 5).unwrap();
    row("S-RANKx").assert(&[flat.chi_square, flat.flat_prob]);
    row("S-SPRD").assert(&[spread_error_ratio(&e1()).unwrap()]);
}

#[test]
fn corrections_are_those_of_another_search() {
    let full = fit_emos(&e2()).unwrap();
    row("S-EMOS").assert(&[
        full.intercept,
        full.slope,
        full.added_variance,
        full.variance_factor,
    ]);
    row("S-EMOSs").assert(&[mean_normal_crps(&e2()).unwrap(), full.crps]);
    let small = fit_shift_and_stretch(&e2()).unwrap();
    row("S-EMOS2").assert(&[small.shift, small.sd_factor, small.crps]);
}

#[test]
fn a_proportion_has_the_published_intervals() {
    let wilson = wilson_interval(7, 10, 0.95).unwrap();
    let jeffreys = jeffreys_interval(7, 10, 0.95).unwrap();
    row("S-CI").assert(&[wilson.low, wilson.high, jeffreys.low, jeffreys.high]);
}

#[test]
fn paired_differences_have_the_published_test() {
    let found = paired_test(&[0.12, -0.05, 0.2, 0.08, -0.02, 0.15, 0.03, 0.1, -0.07, 0.11]).unwrap();
    row("S-PAIR").assert(&[found.mean, found.t, found.chance_prob]);
}

#[test]
fn the_split_of_a_catch_has_the_published_score() {
    let (share, effort_h, catch) = ([0.5, 0.3, 0.2], [6.0, 4.0, 2.0], [5, 1, 0]);
    let split = expected_split(&share, &effort_h).unwrap();
    let score = split_log_score(&split, &catch).unwrap();
    let by_effort = expected_split(&[1.0; 3], &effort_h).unwrap();
    let reference = split_log_score(&by_effort, &catch).unwrap();
    assert_eq!((score.floored, reference.floored), (0, 0));
    row("S-WHERE").assert(&[split[0], split[1], split[2], score.log_score, reference.log_score]);
}

fn number(of: &Value, key: &str) -> f64 {
    of[key].as_f64().unwrap_or_else(|| panic!("no {key} in {of}"))
}

fn numbers(of: &Value, key: &str) -> Vec<f64> {
    let all = of[key].as_array().expect("a list");
    all.iter().map(|x| x.as_f64().expect("a number")).collect()
}

#[test]
fn scores_are_those_of_two_libraries() {
    let oracle: Value = serde_json::from_str(include_str!("scores/oracle.json")).expect("JSON");
    let rows = |key: &str| oracle[key].as_array().expect("rows").clone();
    // The libraries add up in another order; the largest number is near 60.
    let near = |found: f64, wanted: f64| (found - wanted).abs() < 1e-10;
    assert_eq!(rows("ensembles").len(), 16);
    for of in rows("ensembles") {
        let one = case(&numbers(&of, "members"), number(&of, "observed"));
        let (standard, fair) = (one.crps().unwrap(), one.crps_fair().unwrap());
        assert!(
            near(standard, number(&of, "crps")) && near(fair, number(&of, "fair")),
            "{of}: {standard} {fair}"
        );
    }
    for of in rows("normals") {
        let found = normal_scores(number(&of, "mean"), number(&of, "sd"), number(&of, "observed")).unwrap();
        // The far tail of the log score is a square of some hundreds.
        let log_near = (found.log_score / number(&of, "log") - 1.0).abs() < 1e-9;
        assert!(
            near(found.crps, number(&of, "crps")) && log_near,
            "{of}: {found:?}"
        );
    }
    let events = &oracle["events"];
    let happened: Vec<bool> = (events["happened"].as_array().expect("a list").iter())
        .map(|o| o.as_bool().expect("yes or no"))
        .collect();
    let brier = brier_score(&numbers(events, "prob"), &happened).unwrap();
    assert!(near(brier, number(events, "brier")));
    for of in rows("shares") {
        let (hits, trials) = (number(&of, "hits") as u32, number(&of, "of") as u32);
        let found = wilson_interval(hits, trials, 0.9).unwrap();
        assert!(
            near(found.low, number(&of, "low")) && near(found.high, number(&of, "high")),
            "{of}: {found:?}"
        );
    }
}

#[test]
fn a_correction_of_eighty_cases_is_that_of_another_search_on_another_score() {
    let oracle: Value = serde_json::from_str(include_str!("scores/oracle.json")).expect("JSON");
    let of = &oracle["correction"];
    let cases: Vec<MomentCase> = (of["cases"].as_array().expect("cases").iter())
        .map(|one| MomentCase {
            mean: number(one, "mean"),
            variance: number(one, "variance"),
            observed: number(one, "observed"),
        })
        .collect();
    let found = fit_emos(&cases).unwrap();
    assert!((mean_normal_crps(&cases).unwrap() - number(of, "raw")).abs() < 1e-10);
    // Both stop where the score is flat: it agrees to far more digits than what is searched.
    assert!((found.crps - number(of, "corrected")).abs() < 1e-9, "{found:?}");
    assert!((found.slope - number(of, "slope")).abs() < 1e-4, "{found:?}");
}
