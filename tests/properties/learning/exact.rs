//! What holds to the bit, or nearly: empty logs, closed arms, labels, hours, single trips.

use nalgebra::DMatrix;
use plungeline::lake::ZoneId;
use plungeline::math::streams::stream;
use plungeline::species::{Species, builtin};
use plungeline::whereabouts::Belief;
use plungeline::whereabouts::draws::{DrawnZone, MatureShare, draw_shares};
use plungeline::whereabouts::learn::influence::moves;
use plungeline::whereabouts::learn::report::{morning_shares, shares_at};
use plungeline::whereabouts::learn::{
    FitOptions, LeftOutReason, SpeciesFit, SpeciesRows, TripRows, fit_species, fit_together,
};
use plungeline::whereabouts::rules::Term;

use super::angler::Truth;
use super::made_up::{morning, options, trips};

fn rows<'a>(species: &'a Species, trips: &'a [TripRows]) -> SpeciesRows<'a> {
    SpeciesRows {
        species,
        mature_frac: species.maturity.as_ref().map(|m| m.mean_frac()),
        trips,
    }
}

fn simulated(species: &Species, count: usize, name: &str) -> Vec<TripRows> {
    let mut numbers = stream(7, name);
    let truth = Truth::drawn(species, &mut numbers);
    let mature_frac = species.maturity.as_ref().map(|m| m.mean_frac());
    trips((species, mature_frac), &truth, count, &mut numbers)
}

fn fitted(rows: &SpeciesRows<'_>, options: &FitOptions) -> SpeciesFit {
    fit_species(rows, options).expect("a fit")
}

#[test]
fn an_empty_log_is_the_rules_to_the_bit() {
    for id in ["rainbow-trout", "landlocked-chinook"] {
        let species = builtin(id).unwrap();
        let fit = fitted(&rows(&species, &[]), &options());
        let rules = Belief::rules(&species);
        let zones: Vec<DrawnZone> = ["north", "south"]
            .iter()
            .enumerate()
            .map(|(z, name)| DrawnZone {
                name: (*name).to_owned(),
                closed: false,
                terms: (0..species.rules.len())
                    .map(|row| Term {
                        row,
                        factor: 1.0,
                        median: 0.0,
                        by_member: vec![0.1 * row as f64 - 0.3 * z as f64, 0.2],
                        missing: Vec::new(),
                    })
                    .collect(),
            })
            .collect();
        let mature = MatureShare::Drawn {
            alpha: 2.0,
            beta: 3.0,
        };
        let draw = |belief: &Belief| draw_shares(&species, belief, &zones, 2, mature, (2000, 11));
        assert_eq!(draw(&rules), draw(&fit.belief));
        for learned in fit.learned(&rows(&species, &[])) {
            assert_eq!(learned.posterior_mean, learned.prior_mean);
            assert_eq!(learned.posterior_sd, learned.prior_sd);
            assert!(learned.learned_frac == 0.0 && learned.not_yet);
        }
    }
}

#[test]
fn a_rule_that_never_spoke_is_left_as_it_was() {
    let species = builtin("rainbow-trout").unwrap();
    let all = simulated(&species, 60, "silent");
    let fit = fitted(&rows(&species, &all), &options());
    let silent = species.rules.iter().position(|r| r.id == "R0-river").unwrap();
    let rules = Belief::rules(&species);
    assert_eq!(
        (fit.belief.mean(silent), fit.belief.sd(silent)),
        (rules.mean(silent), rules.sd(silent))
    );
}

#[test]
fn a_closed_arm_has_exactly_no_share_and_hours_in_it_are_named() {
    let species = builtin("rainbow-trout").unwrap();
    let mut all = simulated(&species, 20, "closed");
    for trip in &mut all {
        trip.morning.zones[1].closed = true;
    }
    let fit = fitted(&rows(&species, &all), &options());
    let in_closed = all
        .iter()
        .filter(|t| t.efforts[0].zone == ZoneId::new("south"))
        .count();
    assert!(
        in_closed > 0 && fit.left_out.len() == in_closed,
        "{:?}",
        fit.left_out
    );
    assert!(fit.left_out.iter().all(|l| l.reason == LeftOutReason::ClosedZone));
    let shares = morning_shares(&rows(&species, &all), &fit.belief, &all[0].morning, (50, 1));
    assert!(shares[2].1.iter().all(|s| *s == 0.0));
    all[0].efforts[0].zone = ZoneId::new("elsewhere");
    let fit = fitted(&rows(&species, &all), &options());
    assert!(
        fit.left_out
            .iter()
            .any(|l| l.reason == LeftOutReason::UnknownZone)
    );
}

#[test]
fn zones_by_other_names_and_in_another_order_have_the_same_shares() {
    // Kings, so that the mixture is permuted too. Science reference 4.4 (d).
    let species = builtin("landlocked-chinook").unwrap();
    let all = simulated(&species, 80, "labels");
    let mut renamed = all.clone();
    for trip in &mut renamed {
        let other = |z: &ZoneId| match z.as_str() {
            "north" => ZoneId::new("south"),
            "south" => ZoneId::new("north"),
            _ => z.clone(),
        };
        trip.morning.zones.reverse();
        trip.morning
            .zones
            .iter_mut()
            .for_each(|z| z.zone = other(&z.zone));
        trip.efforts.iter_mut().for_each(|e| e.zone = other(&e.zone));
    }
    let (a, b) = (
        fitted(&rows(&species, &all), &options()),
        fitted(&rows(&species, &renamed), &options()),
    );
    let shares = |fit: &SpeciesFit, trip: &TripRows| {
        let beta: Vec<f64> = (0..species.rules.len()).map(|k| fit.belief.mean(k)).collect();
        shares_at(&species, Some(0.4), &trip.morning, &beta)
    };
    for (one, other) in all.iter().zip(&renamed) {
        let (p, q) = (shares(&a, one), shares(&b, other));
        // Sums in another order: 1e-13 in the slopes; the search for the spread of places ends where it stands.
        for (i, j) in [(0, 0), (1, 2), (2, 1)] {
            assert!((p[i] - q[j]).abs() < 1e-7, "{p:?} {q:?}");
        }
    }
}

#[test]
fn twice_the_hours_for_the_same_fish_leave_the_shares() {
    // Science reference 4.4 (e).
    let species = builtin("rainbow-trout").unwrap();
    let all = simulated(&species, 120, "hours");
    let mut doubled = all.clone();
    doubled
        .iter_mut()
        .flat_map(|t| &mut t.efforts)
        .for_each(|e| e.effort_h *= 2.0);
    let (a, b) = (
        fitted(&rows(&species, &all), &options()),
        fitted(&rows(&species, &doubled), &options()),
    );
    let rate = a.layout.rate();
    // The rate takes it up; its prior pulls back by ln 2 times its variance, and rules that go with it move by no more.
    assert!((a.moved_sd[rate] - b.moved_sd[rate] - 2.0_f64.ln()).abs() < 0.1);
    let beta =
        |fit: &SpeciesFit| -> Vec<f64> { (0..species.rules.len()).map(|k| fit.belief.mean(k)).collect() };
    for trip in &all {
        let (p, q) = (
            shares_at(&species, None, &trip.morning, &beta(&a)),
            shares_at(&species, None, &trip.morning, &beta(&b)),
        );
        assert!(p.iter().zip(&q).all(|(p, q)| (p - q).abs() < 0.01), "{p:?} {q:?}");
    }
}

#[test]
fn one_step_without_a_trip_is_nearly_the_fit_without_it() {
    let species = builtin("landlocked-chinook").unwrap();
    let all = simulated(&species, 60, "influence");
    // Held, as the step holds them too.
    let held = FitOptions {
        held_place_sd: Some(0.5),
        held_dispersion: Some(1.5),
        ..options()
    };
    let fit = fitted(&rows(&species, &all), &held);
    let (mut worst, mut largest) = (0.0_f64, 0.0_f64);
    for (trip, moved) in moves(&fit) {
        let mut without = all.clone();
        without[trip].efforts[0].zone = ZoneId::new("left out");
        let other = fitted(&rows(&species, &without), &held);
        let both = fit.moved_sd.iter().zip(&other.moved_sd);
        for ((with, without), moved) in both.zip(&moved).take(species.rules.len()) {
            let really = with - without;
            worst = worst.max((moved - really).abs());
            largest = largest.max(really.abs());
        }
    }
    println!("largest move by one trip {largest:.3} prior SD, the step misses by {worst:.4} at most");
    // A Newton step misses by the square of its size, times half of the third derivative.
    assert!(largest > 0.1 && worst < 0.15 * largest, "{largest} {worst}");
}

#[test]
fn pooled_species_move_two_rules_together_and_others_apart() {
    let (rainbow, kings) = (
        builtin("rainbow-trout").unwrap(),
        builtin("landlocked-chinook").unwrap(),
    );
    let (of_rainbow, of_kings) = (simulated(&rainbow, 50, "pool a"), simulated(&kings, 50, "pool b"));
    let both = [rows(&rainbow, &of_rainbow), rows(&kings, &of_kings)];
    let pooled = FitOptions {
        pooled: true,
        ..options()
    };
    let at = |s: &Species, id: &str| s.rules.iter().position(|r| r.id == id).unwrap();
    let moved = |fits: &[SpeciesFit], id: &str| {
        (
            fits[0].moved_sd[at(&rainbow, id)],
            fits[1].moved_sd[at(&kings, id)],
        )
    };
    let fits = fit_together(&both, &pooled).unwrap();
    for id in ["R2", "R7"] {
        let (a, b) = moved(&fits, id);
        assert!(a == b && a != 0.0, "{id}: {a} {b}");
    }
    let (a, b) = moved(&fits, "R1");
    assert_ne!(a, b);
    let apart = fit_together(&both, &options()).unwrap();
    let (a, b) = moved(&apart, "R2");
    assert_ne!(a, b);
    let alone = fitted(&both[0], &options());
    assert_eq!(apart[0].moved_sd, alone.moved_sd, "by default nothing is shared");
    let sd = |fits: &[SpeciesFit]| fits[0].belief.sd(at(&rainbow, "R2"));
    assert!(sd(&fits) < sd(&apart), "two logs tell more than one");
}

#[test]
fn old_trips_weigh_less_only_where_that_is_asked_for() {
    let species = builtin("rainbow-trout").unwrap();
    let all = simulated(&species, 60, "recent");
    let plain = fitted(&rows(&species, &all), &options());
    let later = FitOptions {
        as_of: options().as_of + chrono::Days::new(3650),
        ..options()
    };
    assert_eq!(
        plain.moved_sd,
        fitted(&rows(&species, &all), &later).moved_sd,
        "age does not count"
    );
    let fading = FitOptions {
        half_life_days: Some(10.0),
        ..options()
    };
    let faded = fitted(&rows(&species, &all), &fading);
    // Sixty trips, the last of them some fifty years of weeks before the fit: nothing is left of them.
    assert!(
        faded.moved_sd.iter().all(|z| z.abs() < 1e-6),
        "{:?}",
        faded.moved_sd
    );
}

#[test]
fn trips_of_one_week_count_as_less_and_leave_the_prior_its_weight() {
    let species = builtin("rainbow-trout").unwrap();
    let apart = simulated(&species, 60, "weeks");
    let mut together = apart.clone();
    together.iter_mut().for_each(|t| t.date = apart[0].date);
    let held = FitOptions {
        held_place_sd: Some(0.5),
        held_dispersion: Some(1.5),
        ..options()
    };
    let (a, b) = (
        fitted(&rows(&species, &apart), &held),
        fitted(&rows(&species, &together), &held),
    );
    assert_eq!(a.moved_sd, b.moved_sd, "the middle stays");
    // (I + J / (1 + 59 x 0.3))^-1, by hand from the covariance without it.
    let n = a.covariance.nrows();
    let silent = species.rules.iter().position(|r| r.id == "R0-river").unwrap();
    assert_eq!(
        b.belief.sd(silent),
        species.rules[silent].sd,
        "a rule that never spoke"
    );
    let information = a.covariance.clone().try_inverse().unwrap() - DMatrix::identity(n, n);
    let by_hand = (DMatrix::identity(n, n) + information / 18.7)
        .try_inverse()
        .unwrap();
    assert!((by_hand - &b.covariance).amax() < 1e-9);
}

#[test]
fn an_arm_without_a_fish_ever_is_held_by_its_prior() {
    // Separation, science reference 4.3, 7.
    let species = builtin("rainbow-trout").unwrap();
    let mut all = simulated(&species, 120, "separation");
    for effort in all.iter_mut().flat_map(|t| &mut t.efforts) {
        effort.catch = if effort.zone == ZoneId::new("main") { 4 } else { 0 };
    }
    let fit = fitted(&rows(&species, &all), &options());
    assert!(fit.moved_sd.iter().all(|z| z.abs() < 5.0), "{:?}", fit.moved_sd);
    let arm = species.rules.iter().position(|r| r.id == "R0").unwrap();
    assert!(fit.belief.mean(arm) < species.rules[arm].mean - species.rules[arm].sd);
    let mut numbers = stream(7, "separation/morning");
    let morning = morning(&species, 0, &mut numbers).morning;
    let shares = morning_shares(&rows(&species, &all), &fit.belief, &morning, (200, 1));
    assert!(shares[0].1.iter().sum::<f64>() / 200.0 > 0.7);
}
