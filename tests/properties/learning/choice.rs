//! Zones chosen by belief or by private news: what that does to what is learned, and the warning.

use plungeline::lake::ZoneId;
use plungeline::math::streams::{normal, stream, uniform};
use plungeline::species::{Species, builtin};
use plungeline::trips::Reason;
use plungeline::whereabouts::learn::entangled::choice;
use plungeline::whereabouts::learn::report::shares_at;
use plungeline::whereabouts::learn::{FitOptions, SpeciesRows, TripRows, fit_species};

use super::angler::Truth;
use super::made_up::{ZONES, options, trip};

/// How the angler of the stress test chooses.
#[derive(Clone, Copy, PartialEq)]
enum News {
    /// By the true log-odds of the day and a whim that knows nothing.
    Whim,
    /// By them and by private news of where the fish are beyond what any rule says, on half of the trips.
    True,
}

/// Trips whose zones are drawn by softmax(2 eta + signal), signal N(0, 1) by zone and day.
fn preferential(species: &Species, news: News, set: usize) -> (Truth, Vec<TripRows>) {
    let mut numbers = stream(9, &format!("preferential/{}/{set}", news == News::True));
    let truth = Truth::drawn(species, &mut numbers);
    let mut all = Vec::new();
    for number in 0..200 {
        // The morning first, by a trip to the main body; its zone and catch are drawn again below.
        let mut made = trip((species, None), &truth, number, 0, &mut numbers);
        let shares = shares_at(species, None, &made.morning, &truth.beta);
        let signal: [f64; 3] = std::array::from_fn(|_| normal(&mut numbers));
        let by_report = news == News::True && uniform(&mut numbers) < 0.5;
        let seen = |z: usize| {
            if by_report || news == News::Whim {
                signal[z]
            } else {
                0.0
            }
        };
        let weight: Vec<f64> = (0..3)
            .map(|z| (2.0 * (shares[z] / shares[0]).ln() + 2.0 * seen(z)).exp())
            .collect();
        let mut left = uniform(&mut numbers) * weight.iter().sum::<f64>();
        let zone = (0..3).find(|z| {
            left -= weight[*z];
            left < 0.0
        });
        let zone = zone.unwrap_or(0);
        let effort = &mut made.efforts[0];
        effort.zone = ZoneId::new(ZONES[zone]);
        effort.reason = Some(if by_report { Reason::Report } else { Reason::Habit });
        // Private news is true: the fish are there beyond the rules that day.
        let moved: Vec<f64> = (0..3)
            .map(|z| shares[z] * if news == News::True { signal[z].exp() } else { 1.0 })
            .collect();
        let share = moved[zone] / moved.iter().sum::<f64>();
        effort.catch = truth.catch(
            &effort.zone,
            share,
            &effort.catch_response,
            effort.effort_h,
            &mut numbers,
        );
        all.push(made);
    }
    (truth, all)
}

/// Fitted less true log-odds of the zone that truly has the fewest fish, in the mean of mornings and logs, and its standard error.
fn bias(species: &Species, news: News, with_reports: bool) -> (f64, f64) {
    let sets = 100;
    let one = |set: usize| {
        let (truth, all) = preferential(species, news, set);
        let rows = SpeciesRows {
            species,
            mature_frac: None,
            trips: &all,
        };
        let options = FitOptions {
            with_reports,
            ..options()
        };
        let fit = fit_species(&rows, &options).unwrap();
        let beta: Vec<f64> = (0..species.rules.len()).map(|k| fit.belief.mean(k)).collect();
        let of = |t: &TripRows| {
            let shares = |beta: &[f64]| shares_at(species, None, &t.morning, beta);
            let (found, real) = (shares(&beta), shares(&truth.beta));
            let least = (0..3).min_by(|a, b| real[*a].total_cmp(&real[*b])).unwrap();
            let odds = |s: &[f64]| (s[least] / (1.0 - s[least])).ln();
            odds(&found) - odds(&real)
        };
        all.iter().map(of).sum::<f64>() / all.len() as f64
    };
    let each: Vec<f64> = (0..sets).map(one).collect();
    let mean = each.iter().sum::<f64>() / sets as f64;
    let variance = each.iter().map(|b| (b - mean).powi(2)).sum::<f64>() / (sets - 1) as f64;
    (mean, (variance / sets as f64).sqrt())
}

#[test]
fn private_news_biases_what_is_learned_and_less_so_without_the_trips_it_chose() {
    // Science reference 4.4 (f), 4.3 (2): conditioning on effort is enough where the choice knows no more than the model. A zone
    // that is seldom fished is drawn to the rules in any case; what news add to that is their bias.
    let species = builtin("rainbow-trout").unwrap();
    let whim = bias(&species, News::Whim, true);
    let (with, without) = (
        bias(&species, News::True, true),
        bias(&species, News::True, false),
    );
    println!(
        "bias of the log-odds of the least favoured zone: whim {:.3} +- {:.3}, news {:.3} +- {:.3}, \
         without trips by reports {:.3} +- {:.3}",
        whim.0, whim.1, with.0, with.1, without.0, without.1
    );
    assert!(with.0 > whim.0 + 0.1, "news bias: {with:?} {whim:?}");
    assert!(
        without.0 < with.0 - 0.1,
        "less without them: {without:?} {with:?}"
    );
}

fn all_to(zone: impl Fn(&TripRows) -> usize, species: &Species) -> Vec<TripRows> {
    let mut numbers = stream(9, "entangled");
    let truth = Truth::drawn(species, &mut numbers);
    (0..30)
        .map(|number| {
            let mut made = trip((species, None), &truth, number, 0, &mut numbers);
            made.efforts[0].zone = ZoneId::new(ZONES[zone(&made)]);
            made
        })
        .collect()
}

#[test]
fn an_angler_who_goes_where_the_rules_send_him_is_told_to_scout() {
    let species = builtin("rainbow-trout").unwrap();
    let fishable = ZONES.map(ZoneId::new);
    let means: Vec<f64> = species.rules.iter().map(|r| r.mean).collect();
    let best = |t: &TripRows| {
        let s = shares_at(&species, None, &t.morning, &means);
        (0..3).max_by(|a, b| s[*a].total_cmp(&s[*b])).unwrap()
    };
    let rows = |trips: &'_ [TripRows]| {
        choice(
            &SpeciesRows {
                species: &species,
                mature_frac: None,
                trips,
            },
            &fishable,
        )
    };
    let obedient = rows(&all_to(best, &species));
    assert!(
        obedient.entangled && obedient.favoured_frac > 0.99,
        "{obedient:?}"
    );
    assert!(obedient.scout.is_some());
    let number = std::cell::Cell::new(0);
    let turn = |_: &TripRows| {
        number.set(number.get() + 1);
        number.get() % 3
    };
    let even = rows(&all_to(turn, &species));
    assert!(
        !even.entangled && even.scout.is_none() && even.hardly_fished.is_empty(),
        "{even:?}"
    );
    let never_south = rows(&all_to(|t| usize::from(t.trip.ends_with('3')), &species));
    assert_eq!(never_south.hardly_fished, [ZoneId::new("south")]);
    assert_eq!(never_south.scout, Some(ZoneId::new("south")));
    let few = rows(&all_to(best, &species)[..5]);
    assert!(
        !few.entangled && few.scout.is_none(),
        "five trips say nothing: {few:?}"
    );
}
