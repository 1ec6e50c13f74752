//! Identities of the scores that hold for any forecast.

use plungeline::skill::brier::{brier_parts, brier_parts_in_bins, brier_score};
use plungeline::skill::crps::{EnsembleCase, normal_scores};
use plungeline::skill::dates::DayForecast;
use plungeline::skill::differences::{Resampling, block_bootstrap, paired_test};
use plungeline::skill::emos::{MomentCase, fit_emos, fit_shift_and_stretch, mean_normal_crps};
use plungeline::skill::intervals::{jeffreys_interval, wilson_interval};
use plungeline::skill::log_score::{log_score, mean_log_score};
use plungeline::skill::ranks::{flatness, ranks, spread_error_ratio};
use plungeline::skill::rps::ranked_probability_score;
use plungeline::skill::shares::{expected_split, split_log_score};
use proptest::collection::vec;
use proptest::prelude::*;

fn case(members: &[f64], observed: f64) -> EnsembleCase {
    EnsembleCase {
        members: members.to_vec(),
        observed,
    }
}

fn yes_or_no() -> impl Strategy<Value = (Vec<f64>, Vec<bool>)> {
    vec(
        (
            prop_oneof![0.0..=1.0, (0u8..=10).prop_map(|t| f64::from(t) / 10.0)],
            any::<bool>(),
        ),
        1..60,
    )
    .prop_map(|cases| cases.into_iter().unzip())
}

/// A distribution over 1 to 12 possibilities.
fn distribution() -> impl Strategy<Value = Vec<f64>> {
    vec(0.001..1.0f64, 1..12).prop_map(|weights| {
        let sum: f64 = weights.iter().sum();
        weights.into_iter().map(|w| w / sum).collect()
    })
}

proptest! {
    #[test]
    fn the_parts_of_a_brier_score_add_up((prob, happened) in yes_or_no(), bins in 1usize..20) {
        let score = brier_score(&prob, &happened).unwrap();
        // Sums of at most 60 terms below 1, rounded at 1e-16 each: 1e-12 leaves two digits over.
        prop_assert!((brier_parts(&prob, &happened).unwrap().brier_score() - score).abs() < 1e-12);
        let parts = brier_parts_in_bins(&prob, &happened, bins).unwrap();
        prop_assert!((parts.brier_score() - score).abs() < 1e-12);
        let [rel, res, unc] = [parts.reliability, parts.resolution, parts.uncertainty];
        prop_assert!(rel >= 0.0 && res >= 0.0 && parts.within_variance >= 0.0 && (0.0..=0.25).contains(&unc));
    }

    #[test]
    fn the_crps_of_one_member_and_of_members_alike_is_the_error(x in -50.0..50.0, y in -50.0..50.0, m in 1usize..9) {
        let members = vec![x; m];
        // A mean of equal terms below 100: rounding at 1e-14.
        prop_assert!((case(&members, y).crps().unwrap() - (x - y).abs()).abs() < 1e-12);
        // A normal forecast that is all but certain is off by at most its own spread.
        prop_assert!((normal_scores(x, 1e-9, y).unwrap().crps - (x - y).abs()).abs() <= 1e-9 + 1e-12);
    }

    #[test]
    fn the_crps_is_the_integral_of_the_squared_distance(members in vec(-5.0..5.0, 1..8), y in -5.0..5.0) {
        // Between neighbouring points the integrand is constant, so this sum is exact.
        let mut points = members.clone();
        points.push(y);
        points.sort_by(f64::total_cmp);
        let below = |t: f64| members.iter().filter(|x| **x <= t).count() as f64 / members.len() as f64;
        let integral: f64 = points.windows(2)
            .map(|w| (w[1] - w[0]) * (below(w[0]) - f64::from(u8::from(y <= w[0]))).powi(2))
            .sum();
        // At most eight terms below 10.
        prop_assert!((case(&members, y).crps().unwrap() - integral).abs() < 1e-12);
    }

    #[test]
    fn the_order_of_members_and_a_common_offset_change_nothing(
        members in vec(-5.0..5.0, 2..12), y in -5.0..5.0, seed in any::<u64>()
    ) {
        let mut turned = members.clone();
        turned.reverse();
        turned.rotate_left(members.len() / 3);
        let moved: Vec<f64> = members.iter().map(|x| x + 20.0).collect();
        let (one, other, third) = (case(&members, y), case(&turned, y), case(&moved, y + 20.0));
        for score in [EnsembleCase::crps, EnsembleCase::crps_fair] {
            // Sums of at most twelve terms below 30, rounded at 4e-15 each and in another order.
            prop_assert!((score(&one).unwrap() - score(&other).unwrap()).abs() < 1e-12);
            prop_assert!((score(&one).unwrap() - score(&third).unwrap()).abs() < 1e-12);
        }
        prop_assert!(one.crps().unwrap() >= -1e-15);
        let cases = [one, other];
        let found = ranks(&cases, seed).unwrap();
        prop_assert_eq!(found[0], found[1]);
        prop_assert_eq!(flatness(&found, members.len()).unwrap().counts.iter().sum::<usize>(), 2);
    }

    #[test]
    fn a_shift_of_all_days_changes_no_score_of_a_date(
        day_prob in distribution(), start in -400i32..400, observed in -20i64..30, by in 1i64..40, moved in -1000i32..1000
    ) {
        let one = DayForecast::new(start, day_prob.clone()).unwrap();
        let other = DayForecast::new(start + moved, day_prob.clone()).unwrap();
        let (first, shift) = (i64::from(start), i64::from(moved));
        let day = first + observed;
        prop_assert_eq!(one.crps_days(day), other.crps_days(day + shift));
        prop_assert_eq!(one.log_score(day).unwrap(), other.log_score(day + shift).unwrap());
        // What is known of a season by an end day is the same sum cut off there.
        let plain: f64 = (first - 60..=first + by).map(|t| {
            let below: f64 = (first..).zip(&day_prob).filter(|(d, _)| *d <= t).map(|(_, p)| p).sum();
            (below - f64::from(u8::from(t >= day))).powi(2)
        }).sum();
        // At most a hundred terms of 1 at most, and a sum of probabilities in another order.
        prop_assert!((one.crps_to_days(Some(day), first + by) - plain).abs() < 1e-11);
        // All that can be seen of a season together has probability 1: on a day, or not by then.
        let (on, after) = (day_prob[0], (-one.censored_log_score(first).unwrap().log_score).exp());
        prop_assert!((on + after - 1.0).abs() < 1e-12 || one.censored_log_score(first).unwrap().floored);
    }

    #[test]
    fn dates_that_are_certain_to_be_one_of_two_categories_have_one_score(
        split in 0.0..1.0f64, category in 0usize..2
    ) {
        // Of two neighbouring days, of two categories, and of yes or no: the same square.
        let pair = vec![split, 1.0 - split];
        let rps = ranked_probability_score(&pair, category).unwrap();
        let date = DayForecast::new(10, pair).unwrap().crps_days(10 + category as i64);
        let brier = brier_score(&[split], &[category == 0]).unwrap();
        // The second sum ends with a rounded 1.
        prop_assert!((rps - brier).abs() < 1e-15 && (date - brier).abs() < 1e-15);
    }

    #[test]
    fn intervals_hold_the_frequency_and_stay_in_range(trials in 1u32..300, part in 0.0..=1.0f64, c in 0.01..0.999) {
        let hits = (part * f64::from(trials)) as u32;
        let frequency = f64::from(hits) / f64::from(trials);
        for interval in [wilson_interval, jeffreys_interval] {
            let found = interval(hits, trials, c).unwrap();
            prop_assert!(0.0 <= found.low && found.low <= found.high && found.high <= 1.0);
            // Hits and misses change places.
            let mirror = interval(trials - hits, trials, c).unwrap();
            // Roots are found to 1e-14, and the Beta function is good to some 1e-12.
            prop_assert!((mirror.low - (1.0 - found.high)).abs() < 1e-9);
        }
        let wilson = wilson_interval(hits, trials, c).unwrap();
        prop_assert!(wilson.low <= frequency && frequency <= wilson.high);
    }

    #[test]
    fn a_split_adds_up_and_scales_with_nothing(
        zones in vec((0.001..1.0f64, 0.1..20.0f64, 0u32..6), 1..6), times in 0.01..100.0f64
    ) {
        let share: Vec<f64> = zones.iter().map(|z| z.0).collect();
        let effort_h: Vec<f64> = zones.iter().map(|z| z.1).collect();
        let catch: Vec<u32> = zones.iter().map(|z| z.2).collect();
        let split = expected_split(&share, &effort_h).unwrap();
        prop_assert!((split.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let longer: Vec<f64> = effort_h.iter().map(|e| e * times).collect();
        for (a, b) in split.iter().zip(expected_split(&share, &longer).unwrap()) {
            prop_assert!((a - b).abs() < 1e-12);
        }
        if catch.iter().sum::<u32>() > 0 {
            // It is minus the logarithm of a probability: not negative but for rounding.
            prop_assert!(split_log_score(&split, &catch).unwrap().log_score > -1e-9);
        }
    }

    #[test]
    fn any_number_is_scored_or_refused_and_nothing_panics(
        numbers in vec(any::<f64>(), 0..8), flags in vec(any::<bool>(), 0..8), day in any::<i64>(), size in 0usize..9
    ) {
        let x = numbers.first().copied().unwrap_or(f64::NAN);
        let fit: Vec<MomentCase> = numbers.windows(3)
            .map(|w| MomentCase { mean: w[0], variance: w[1], observed: w[2] })
            .collect();
        let fishing = expected_split(&numbers, &numbers);
        let how = Resampling { block: size, resamples: 100, seed: 1, confidence_frac: x };
        for (score, sound) in [
            (brier_score(&numbers, &flags), true),
            (brier_parts_in_bins(&numbers, &flags, size).map(|p| p.brier_score()), true),
            (mean_log_score(&numbers, &flags).map(|s| s.log_score), true),
            (log_score(x).map(|s| s.log_score), true),
            (ranked_probability_score(&numbers, size), true),
            (DayForecast::new(0, numbers.clone()).map(|d| d.crps_days(day)), true),
            (fishing.map(|s| s.iter().sum()), true),
            // Numbers near the end of the range may overflow to infinity here: what is promised is no panic.
            (case(&numbers, x).crps(), false),
            (normal_scores(x, 1.0, 1.0).map(|s| s.crps), false),
            (spread_error_ratio(&[case(&numbers, x)]), false),
            (paired_test(&numbers).map(|p| p.t), false),
            (block_bootstrap(&numbers, how).map(|i| i.low), false),
            (mean_normal_crps(&fit), false),
            (fit_emos(&fit).map(|e| e.crps), false),
            (fit_shift_and_stretch(&fit).map(|e| e.crps), false),
        ] {
            if sound {
                prop_assert!(score.clone().map_or(true, f64::is_finite), "{score:?}");
            }
        }
    }
}
