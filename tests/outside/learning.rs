//! Fits of counts against the rows F-NB, F-REG, F-DM, F-MN, and against statsmodels, scikit-learn and scipy as
//! `tests/outside/learning/oracle.py` has them in `oracle.json`; `.ci/run` runs that again.

use chrono::NaiveDate;
use nalgebra::DMatrix;
use plungeline::lake::ZoneId;
use plungeline::math::count_regression::{CountData, CountFit, fit_counts};
use plungeline::math::counts::{
    at_least_one_prob, count_ln_prob, dirichlet_multinomial_ln_prob, rate_interval, trigamma,
};
use plungeline::math::map_fit::Prior;
use plungeline::math::softmax::softmax;
use plungeline::skill::shares::split_log_score;
use plungeline::species::builtin;
use plungeline::trips::MarkKind;
use plungeline::whereabouts::learn::predict::mixed;
use plungeline::whereabouts::learn::{
    Effort, FitOptions, Marks, Morning, SpeciesRows, TripRows, ZoneFeatures, fit_species,
};
use serde_json::Value;

use crate::published::row;

/// Effort, arm, pulse, suit, catch: table T1 of the rows (synthetic, science reference 4.1).
const T1: [[f64; 5]; 16] = [
    [6.0, 0.0, 0.0, 0.9, 5.0],
    [5.0, 0.0, 0.0, 0.9, 2.0],
    [8.0, 0.0, 0.2, 0.8, 4.0],
    [4.0, 1.0, 0.2, 0.3, 0.0],
    [6.0, 1.0, 0.8, 0.6, 3.0],
    [5.0, 0.0, 0.8, 0.7, 1.0],
    [7.0, 1.0, 0.9, 0.7, 6.0],
    [6.0, 0.0, 0.0, 0.6, 3.0],
    [4.0, 1.0, 0.0, 0.4, 0.0],
    [8.0, 0.0, 0.1, 0.8, 7.0],
    [5.0, 1.0, 0.6, 0.5, 1.0],
    [6.0, 0.0, 0.5, 0.5, 0.0],
    [7.0, 0.0, 0.0, 0.7, 2.0],
    [6.0, 1.0, 1.0, 0.8, 5.0],
    [3.0, 1.0, 0.1, 0.2, 0.0],
    [8.0, 0.0, 0.3, 0.9, 4.0],
];

/// Constant, arm, arm and pulse, suit.
fn regression(table: &[[f64; 5]], k: f64, prior: Option<&Prior>) -> CountFit {
    let design = DMatrix::from_fn(table.len(), 4, |i, j| {
        let [_, arm, pulse, suit, _] = table[i];
        [1.0, arm, arm * pulse, suit][j]
    });
    let data = CountData {
        design: &design,
        exposure: &table.iter().map(|r| r[0]).collect::<Vec<_>>(),
        count: &table.iter().map(|r| r[4]).collect::<Vec<_>>(),
        k,
    };
    fit_counts(data, prior, 200).expect("a top")
}

fn sds(fit: &CountFit) -> Vec<f64> {
    fit.covariance.diagonal().iter().map(|v| v.sqrt()).collect()
}

fn oracle() -> Value {
    serde_json::from_str(include_str!("learning/oracle.json")).expect("stored JSON")
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().expect("a list");
    list.iter().map(|x| x.as_f64().expect("a number")).collect()
}

fn assert_near(found: &[f64], wanted: &[f64], within: f64, what: &str) {
    assert_eq!(found.len(), wanted.len(), "{what}");
    for (i, (f, w)) in found.iter().zip(wanted).enumerate() {
        assert!(
            (f - w).abs() <= within * (1.0 + w.abs()),
            "{what} {i}: {f}, wanted {w}"
        );
    }
}

#[test]
fn probabilities_of_counts_are_the_published_ones() {
    for (id, y, mu, k) in [
        ("F-NB-0-1.2", 0.0, 1.2, 1.5),
        ("F-NB-3-1.2", 3.0, 1.2, 1.5),
        ("F-NB-5-4", 5.0, 4.0, 2.0),
    ] {
        row(id).assert(&[count_ln_prob(y, mu, k)]);
    }
    row("F-DM").assert(&[dirichlet_multinomial_ln_prob(&[3.0, 1.0, 1.0], &[2.0, 1.0, 1.0])]);
    row("F-MN").assert(&[-split_log_score(&[0.5, 0.25, 0.25], &[3, 1, 1]).unwrap().log_score]);
}

#[test]
fn regressions_of_table_t1_are_the_published_ones() {
    let poisson = regression(&T1, f64::INFINITY, None);
    row("F-REG-PO").assert(&poisson.top.at);
    row("F-REG-POse").assert(&sds(&poisson));
    row("F-REG-POll").assert(&[poisson.ln_likelihood]);
    row("F-REG-NB").assert(&regression(&T1, 1.5, None).top.at);
    // The priors of the rows.
    let prior = Prior {
        mean: vec![-1.2, -0.5, 0.5, 1.5],
        spread: vec![1.0, 0.5, 0.4, 0.5],
    };
    let map = regression(&T1, 1.5, Some(&prior));
    row("F-REG-MAP").assert(&map.top.at);
    row("F-REG-MAPsd").assert(&sds(&map));
    row("F-REG-MAPPO").assert(&regression(&T1, f64::INFINITY, Some(&prior)).top.at);
    let b = &map.top.at;
    // Main body suit 0.7, arm N pulse 0.8 suit 0.6, arm S pulse 0.1 suit 0.3, as the rows have it.
    let eta = [
        b[0] + b[3] * 0.7,
        b[0] + b[1] + b[2] * 0.8 + b[3] * 0.6,
        b[0] + b[1] + b[2] * 0.1 + b[3] * 0.3,
    ];
    row("F-REG-share").assert(&softmax(&eta));
    row("F-REG-p1").assert(&eta.map(|e| at_least_one_prob(6.0 * e.exp(), 1.5)));
}

#[test]
fn a_wide_prior_agrees_with_statsmodels_and_a_weighted_rate_with_scikit_learn() {
    let stored = &oracle()["linear"];
    let poisson = regression(&T1, f64::INFINITY, None);
    // Both stop at 1e-8 or so of their deviance.
    assert_near(
        &poisson.top.at,
        &numbers(&stored["t1_poisson"]),
        1e-7,
        "statsmodels, Poisson",
    );
    assert_near(
        &sds(&poisson),
        &numbers(&stored["t1_poisson_se"]),
        1e-6,
        "its errors",
    );
    assert_near(
        &poisson.top.at,
        &numbers(&stored["t1_rate"]),
        1e-6,
        "scikit-learn, rate",
    );
    let wide = Prior {
        mean: vec![0.0; 4],
        spread: vec![1e6; 4],
    };
    let trips: Vec<[f64; 5]> = stored["trips"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| numbers(r).try_into().unwrap())
        .collect();
    let found = regression(&trips, 1.5, Some(&wide)).top.at;
    // fish.md 4.4 (a): agreed to 1.1e-7.
    assert_near(
        &found,
        &numbers(&stored["trips_nb"]),
        1.1e-7,
        "statsmodels, negative binomial",
    );
    assert_near(
        &regression(&T1, 1.5, Some(&wide)).top.at,
        &numbers(&stored["t1_nb"]),
        2e-7,
        "table T1",
    );
}

#[test]
fn functions_of_counts_are_those_of_scipy() {
    let stored = &oracle()["functions"];
    let each =
        |name: &str| -> Vec<Vec<f64>> { stored[name].as_array().unwrap().iter().map(numbers).collect() };
    for r in each("nb_ln_prob") {
        assert_near(
            &[count_ln_prob(r[0], r[1], r[2])],
            &[r[3]],
            1e-10,
            "nbinom.logpmf",
        );
    }
    for r in each("poisson_ln_prob") {
        assert_near(
            &[count_ln_prob(r[0], r[1], f64::INFINITY)],
            &[r[2]],
            1e-10,
            "poisson.logpmf",
        );
    }
    for r in each("trigamma") {
        assert_near(&[trigamma(r[0])], &[r[1]], 1e-12, "polygamma(1, x)");
    }
    for r in each("rate_interval") {
        let (low, high) = rate_interval(r[0], r[1], r[2], 0.8).unwrap();
        // The quantile of statrs is a search that ends near 1e-9.
        assert_near(&[low, high], &r[3..], 1e-7, "gamma.ppf");
    }
    let parts: Vec<(f64, f64)> = stored["mixed"]["parts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| (numbers(p)[0], numbers(p)[1]))
        .collect();
    let found = mixed(&parts);
    let wanted = |name: &str| stored["mixed"][name].as_f64().unwrap();
    assert_near(
        &[
            found.mean_fish,
            found.at_least_one_prob,
            f64::from(found.low_fish),
            f64::from(found.high_fish),
        ],
        &[
            wanted("mean_fish"),
            wanted("at_least_one_prob"),
            wanted("low_fish"),
            wanted("high_fish"),
        ],
        1e-12,
        "nbinom.cdf",
    );
}

fn trip(number: usize, stored: &Value) -> TripRows {
    let text = |v: &Value| v.as_str().expect("a word").to_owned();
    let list = |name: &str| stored[name].as_array().expect("a list").clone();
    let zone = |v: &Value| ZoneId::new(text(&v["zone"]));
    TripRows {
        trip: number.to_string(),
        // Weeks apart: no two trips of one week.
        date: NaiveDate::from_ymd_opt(2024, 1, 1).unwrap() + chrono::Days::new(7 * number as u64),
        morning: Morning {
            main: ZoneId::new("main"),
            zones: (list("zones").iter())
                .map(|z| ZoneFeatures {
                    zone: zone(z),
                    closed: z["closed"].as_bool().unwrap(),
                    response: numbers(&z["response"]),
                })
                .collect(),
        },
        efforts: (list("efforts").iter())
            .map(|e| Effort {
                zone: zone(e),
                stretch: e["stretch"].as_str().map(str::to_owned),
                effort_h: e["effort_h"].as_f64().unwrap(),
                catch: e["catch"].as_u64().unwrap() as u32,
                catch_response: numbers(&e["catch_response"]),
                reason: None,
                surface_temp_degc: None,
            })
            .collect(),
        marks: (list("marks").iter())
            .map(|m| Marks {
                zone: zone(m),
                kind: if m["kind"] == "bait" {
                    MarkKind::Bait
                } else {
                    MarkKind::Single
                },
                watched_h: m["watched_h"].as_f64().unwrap(),
                count: m["count"].as_u64().unwrap() as u32,
            })
            .collect(),
    }
}

#[test]
fn the_whole_model_is_that_of_a_second_program() {
    for case in oracle()["whole"].as_array().unwrap() {
        let species = builtin(case["species"].as_str().unwrap()).unwrap();
        let trips: Vec<TripRows> = (case["trips"].as_array().unwrap().iter().enumerate())
            .map(|(i, t)| trip(i, t))
            .collect();
        let rows = SpeciesRows {
            species: &species,
            mature_frac: case["mature_frac"].as_f64(),
            trips: &trips,
        };
        let options = FitOptions {
            held_place_sd: Some(0.5),
            ..FitOptions::on(NaiveDate::from_ymd_opt(2026, 1, 1).unwrap())
        };
        let fit = fit_species(&rows, &options).unwrap();
        assert_eq!(fit.left_out, []);
        // Both end at steps of 1e-10; the curvature there is by differences of 1e-5, and so within 1e-8 or so.
        assert_near(&fit.moved_sd, &numbers(&case["moved_sd"]), 1e-7, "most probable");
        let sd: Vec<f64> = fit.covariance.diagonal().iter().map(|v| v.sqrt()).collect();
        assert_near(&sd, &numbers(&case["sd"]), 1e-6, "Laplace");
    }
}
