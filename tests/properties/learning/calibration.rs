//! Simulated trips: what was put in is found again, and intervals hold what they promise.

use nalgebra::DMatrix;
use plungeline::math::count_regression::{CountData, fit_counts};
use plungeline::math::map_fit::Prior;
use plungeline::math::quantiles::{NORMAL_QUANTILE_90, quantile_of_sorted};
use plungeline::math::streams::{normal, stream, uniform};
use plungeline::species::builtin;
use plungeline::whereabouts::Belief;
use plungeline::whereabouts::learn::report::morning_shares;
use plungeline::whereabouts::learn::{FitOptions, SpeciesRows, TripRows, fit_species};

use super::angler::{Truth, negative_binomial, stored_mornings};
use super::made_up::{ZONES, options, trips};
use crate::published::row;

/// The model's own world: what is held is as it was drawn.
fn held() -> FitOptions {
    FitOptions {
        held_dispersion: Some(1.5),
        held_place_sd: Some(0.5),
        ..options()
    }
}

/// Distance of each coefficient of the species from the truth, in posterior standard deviations, by simulated log.
fn misses(id: &str, sets: usize, count: usize) -> Vec<Vec<f64>> {
    let species = builtin(id).unwrap();
    let mature_frac = species.maturity.as_ref().map(|m| m.mean_frac());
    let one = |set: usize| -> Vec<f64> {
        let mut numbers = stream(3, &format!("calibration/{id}/{set}"));
        let mut truth = Truth::drawn(&species, &mut numbers);
        for zone in ZONES {
            truth
                .zone_effect
                .insert(plungeline::lake::ZoneId::new(zone), 0.5 * normal(&mut numbers));
        }
        let all: Vec<TripRows> = trips((&species, mature_frac), &truth, count, &mut numbers);
        let rows = SpeciesRows {
            species: &species,
            mature_frac,
            trips: &all,
        };
        let fit = fit_species(&rows, &held()).unwrap();
        let both = truth.beta.iter().chain(&truth.gamma).enumerate();
        both.map(|(k, b)| (fit.belief.mean(k) - b) / fit.belief.sd(k))
            .collect()
    };
    let half = sets / 2;
    std::thread::scope(|scope| {
        let other = scope.spawn(|| (half..sets).map(one).collect::<Vec<_>>());
        let mut all: Vec<Vec<f64>> = (0..half).map(one).collect();
        all.extend(other.join().expect("the other half"));
        all
    })
}

/// Share of the sets whose 80 % interval holds the truth, by coefficient.
fn coverage(misses: &[Vec<f64>]) -> Vec<f64> {
    (0..misses[0].len())
        .map(|k| {
            let held = misses.iter().filter(|z| z[k].abs() < NORMAL_QUANTILE_90).count();
            held as f64 / misses.len() as f64
        })
        .collect()
}

#[test]
fn what_was_put_in_is_found_again() {
    // Science reference 4.4 (b): 200 sets of 200 trips, mean z within 0.25.
    let all = misses("rainbow-trout", 200, 200);
    let means: Vec<f64> = (0..all[0].len())
        .map(|k| all.iter().map(|z| z[k]).sum::<f64>() / all.len() as f64)
        .collect();
    println!("mean z by coefficient: {means:.3?}");
    assert!(means.iter().all(|m| m.abs() < 0.25), "{means:?}");
}

#[test]
fn intervals_of_80_percent_hold_the_truth_in_80_percent() {
    // Science reference 4.4 (c) with the whole model, zone share inside the mean: 2000 logs of 60 trips drawn from the prior.
    for id in ["rainbow-trout", "landlocked-chinook"] {
        let found = coverage(&misses(id, 2000, 60));
        println!("{id}: coverage {found:.3?}");
        assert!(found.iter().all(|c| (0.77..=0.83).contains(c)), "{id}: {found:?}");
    }
}

#[test]
fn the_linear_model_is_as_calibrated_as_the_published_run() {
    // F-REG-SBC: effort U(3, 8), arm 0 or 1, pulse U(0, 1), suit U(0.2, 1), k = 1.5, priors of the rows.
    let prior = Prior {
        mean: vec![-1.2, -0.5, 0.5, 1.5],
        spread: vec![1.0, 0.5, 0.4, 0.5],
    };
    let (sets, count) = (2000, 60);
    let mut held = [0.0; 4];
    for set in 0..sets {
        let mut numbers = stream(3, &format!("linear/{set}"));
        let truth: Vec<f64> = prior
            .mean
            .iter()
            .zip(&prior.spread)
            .map(|(m, s)| m + s * normal(&mut numbers))
            .collect();
        let (mut design, mut exposure, mut catch) = (Vec::new(), Vec::new(), Vec::new());
        for _ in 0..count {
            let arm = f64::from(uniform(&mut numbers) < 0.5);
            let (pulse, suit) = (uniform(&mut numbers), 0.2 + 0.8 * uniform(&mut numbers));
            let x = [1.0, arm, arm * pulse, suit];
            let effort = 3.0 + 5.0 * uniform(&mut numbers);
            let eta: f64 = x.iter().zip(&truth).map(|(x, b)| x * b).sum();
            catch.push(f64::from(negative_binomial(
                effort * eta.exp(),
                1.5,
                &mut numbers,
            )));
            design.extend(x);
            exposure.push(effort);
        }
        let design = DMatrix::from_row_slice(count, 4, &design);
        let data = CountData {
            design: &design,
            exposure: &exposure,
            count: &catch,
            k: 1.5,
        };
        let fit = fit_counts(data, Some(&prior), 200).unwrap();
        for k in 0..4 {
            let miss = (fit.top.at[k] - truth[k]).abs();
            held[k] += f64::from(miss < NORMAL_QUANTILE_90 * fit.covariance[(k, k)].sqrt());
        }
    }
    let coverage = held.map(|h| h / f64::from(sets));
    println!("coverage of the linear model: {coverage:.3?}");
    row("F-REG-SBC").assert(&coverage);
    assert!(coverage.iter().all(|c| (0.77..=0.83).contains(c)), "{coverage:?}");
}

#[test]
fn shares_of_the_rules_alone_are_wide_and_not_absurd() {
    // Science reference 4.4 (h): 95 % of the main body's shares by the priors between 0.1 and 0.99, over the demonstration
    // lake's year.
    let species = builtin("rainbow-trout").unwrap();
    let rules = Belief::rules(&species);
    let rows = SpeciesRows {
        species: &species,
        mature_frac: None,
        trips: &[],
    };
    let mut main: Vec<f64> = Vec::new();
    for stored in stored_mornings("rainbow-trout") {
        main.extend(&morning_shares(&rows, &rules, &stored.morning, (500, 5))[0].1);
    }
    let within = main.iter().filter(|s| (0.1..=0.99).contains(*s)).count() as f64 / main.len() as f64;
    main.sort_by(f64::total_cmp);
    let quantile = |p| quantile_of_sorted(&main, p).unwrap();
    println!(
        "main body by the priors: {within:.3} of {} within 0.1 to 0.99; 2.5 and 97.5 %: {:.3} {:.3}",
        main.len(),
        quantile(0.025),
        quantile(0.975)
    );
    assert!(within >= 0.95, "{within}");
}
