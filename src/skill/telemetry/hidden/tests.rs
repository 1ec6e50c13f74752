//! Hidden states on fish whose places are known: simulated, or few enough to try every path.

use rand_chacha::ChaCha12Rng;

use super::smooth::{Workspace, smooth};
use super::*;
use crate::math::streams::{stream, uniform};
use crate::skill::SkillError;
use crate::skill::telemetry::{FishDays, MONTHS};

/// Months in which the river has receivers, and may be entered: April to August.
fn open() -> [bool; MONTHS] {
    std::array::from_fn(|month| (3..8).contains(&month))
}

/// Main body, arm and river; four receivers, eight, and three in season.
fn design(weeks: usize) -> Design {
    let month = |week: usize| (week % 52) * MONTHS / 52;
    let river = |week: usize| if open()[month(week)] { 21.0 } else { 0.0 };
    Design {
        receiver_days: (0..weeks).map(|w| vec![28.0, 56.0, river(w)]).collect(),
        month: (0..weeks).map(month).collect(),
        lined: vec![true, true, false],
        may_enter: vec![[true; MONTHS], [true; MONTHS], open()],
        hears_as: vec![0, 1, 2],
    }
}

/// Fish that are often out of hearing in the main body and seldom in the arm, go up the river from April to June, and die.
fn truth(design: &Design) -> HiddenModel {
    let (states, gone) = (design.states(), 2 * design.areas());
    let table = |month: usize| -> Vec<f64> {
        let spawning = (3..6).contains(&month);
        let mut table = vec![0.0; states * states];
        let mut set = |from: usize, steps: &[(usize, f64)]| {
            let left: f64 = steps.iter().map(|(_, p)| p).sum();
            table[from * states + from] = 1.0 - left;
            steps.iter().for_each(|(to, p)| table[from * states + to] = *p);
        };
        let up = if spawning { 0.08 } else { 0.0 };
        let down = if spawning { 0.15 } else { 0.6 };
        set(0, &[(1, 0.35), (2, 0.10), (gone, 0.005)]);
        set(1, &[(0, 0.20), (gone, 0.005)]);
        set(2, &[(3, 0.05), (0, 0.12), (4, up), (gone, 0.005)]);
        set(3, &[(2, 0.40), (gone, 0.005)]);
        set(4, &[(2, down), (5, 0.1), (gone, 0.02)]);
        set(5, &[(4, 0.2), (2, 0.1), (gone, 0.02)]);
        set(gone, &[]);
        table
    };
    HiddenModel {
        step: (0..MONTHS).map(table).collect(),
        heard_per_day: vec![0.05, 0.04, 0.08],
    }
}

fn draw(row: &[f64], numbers: &mut ChaCha12Rng) -> usize {
    let mut left = uniform(numbers);
    let at = row.iter().position(|p| {
        left -= p;
        left < 0.0
    });
    at.unwrap_or(row.len() - 1)
}

/// One simulated fish, and the days that it truly spent.
fn fish(design: &Design, model: &HiddenModel, number: usize) -> (History, FishDays) {
    let mut numbers = stream(3, &format!("fish/{number}"));
    let (states, gone) = (design.states(), 2 * design.areas());
    let weeks = design.month.len();
    let first_week = (uniform(&mut numbers) * 40.0) as usize;
    let start = usize::from(uniform(&mut numbers) < 0.5);
    let mut state = 2 * start + usize::from(uniform(&mut numbers) < 0.5);
    let mut days = FishDays::none(design.areas());
    let mut heard = vec![None];
    for week in first_week + 1..weeks {
        let month = design.month[week];
        state = draw(
            &model.step[month][state * states..(state + 1) * states],
            &mut numbers,
        );
        let mut chance = vec![0.0; states];
        let area = state / 2;
        heard.push(None);
        if state == gone {
            continue;
        }
        days.placed[month][area] += 7.0;
        model.emit(design, week, Some(area), &mut chance);
        if uniform(&mut numbers) < chance[state] {
            *heard.last_mut().unwrap() = Some(area);
        }
    }
    let history = History {
        first_week,
        start,
        heard,
    };
    (history, days)
}

#[test]
fn shares_of_simulated_fish_are_found_where_a_count_of_hearings_misses_them() {
    let design = design(4 * 52);
    let model = truth(&design);
    let (mut spent, mut counted) = (FishDays::none(3), FishDays::none(3));
    let mut histories = Vec::new();
    for number in 0..150 {
        let (history, days) = fish(&design, &model, number);
        spent.add(&days, 1.0);
        for (t, heard) in history.heard.iter().enumerate() {
            if let Some(area) = heard {
                counted.placed[design.month[history.first_week + t]][*area] += 7.0;
            }
        }
        histories.push(history);
    }
    let weights = vec![1.0; histories.len()];
    let fit = fit_hidden(&design, (&histories, &weights), None, FitLimits::default()).unwrap();
    assert!(fit.converged, "{} rounds", fit.rounds);
    let found = hidden_days(
        (&design, &fit.model),
        (&histories, &weights),
        WeeksCounted::default(),
    )
    .unwrap();
    let worst = |of: &FishDays| {
        let miss = |month: usize, area: usize| {
            (of.share(month, &[area]).unwrap() - spent.share(month, &[area]).unwrap()).abs()
        };
        (0..MONTHS)
            .flat_map(|m| (0..3).map(move |a| (m, a)))
            .map(|(m, a)| miss(m, a))
            .fold(0.0, f64::max)
    };
    // About 600 fish-weeks a month; the fish move every tenth week or so, so that some 60 are independent: a standard error of
    // 0.06, of which the hearings leave only a part open. Twice that for the worst of 36.
    let (by_states, by_count) = (worst(&found.alive), worst(&counted));
    println!("worst share: hidden states {by_states:.3}, count of hearings {by_count:.3}");
    assert!(by_states < 0.06, "{by_states}");
    assert!(by_count > 0.15 && by_count > 3.0 * by_states, "{by_count}");
    for month in 0..MONTHS {
        let sum: f64 = (0..3).map(|a| found.alive.share(month, &[a]).unwrap()).sum();
        assert!((sum - 1.0).abs() < 1e-12);
    }
}

#[test]
fn the_likelihood_is_the_sum_over_all_paths() {
    let design = design(52);
    let model = truth(&design);
    let history = History {
        first_week: 14,
        start: 1,
        heard: vec![None, None, Some(1), None, Some(2)],
    };
    let states = design.states();
    // Every path of four steps from the two states of the capture.
    let mut sum = 0.0;
    let mut in_river = 0.0;
    for path in 0..states.pow(4) {
        for start in [2, 3] {
            let (mut prob, mut from, mut rest) = (0.5, start, path);
            let mut third = 0;
            for t in 1..5 {
                let (to, week) = (rest % states, 14 + t);
                let mut chance = vec![0.0; states];
                model.emit(&design, week, history.heard[t], &mut chance);
                prob *= model.step[design.month[week]][from * states + to] * chance[to];
                (from, rest) = (to, rest / states);
                if t == 3 {
                    third = to;
                }
            }
            sum += prob;
            in_river += if third / 2 == 2 { prob } else { 0.0 };
        }
    }
    let smoothed = smooth((&design, &model), &history, &mut Workspace::default(), None).unwrap();
    assert!((smoothed.log_likelihood - f64::ln(sum)).abs() < 1e-12);
    let found = smoothed.state_prob[3 * states + 4] + smoothed.state_prob[3 * states + 5];
    assert!((found - in_river / sum).abs() < 1e-12, "{found}");
}

#[test]
fn no_round_makes_the_posterior_worse() {
    let design = design(2 * 52);
    let model = truth(&design);
    let histories: Vec<History> = (0..12).map(|n| fish(&design, &model, n).0).collect();
    let weights = vec![1.0; 12];
    let mut last = f64::NEG_INFINITY;
    for rounds in 1..30 {
        let limits = FitLimits {
            rounds,
            relative_frac: 0.0,
        };
        let fit = fit_hidden(&design, (&histories, &weights), None, limits).unwrap();
        // Rounding of a sum of some thousand logarithms.
        assert!(
            fit.log_posterior > last - 1e-9,
            "round {rounds}: {} after {last}",
            fit.log_posterior
        );
        last = fit.log_posterior;
    }
}

#[test]
fn a_fish_drawn_twice_counts_as_two() {
    let design = design(2 * 52);
    let model = truth(&design);
    let mut histories: Vec<History> = (0..6).map(|n| fish(&design, &model, n).0).collect();
    let limits = FitLimits {
        rounds: 20,
        relative_frac: 0.0,
    };
    let weighted = fit_hidden(
        &design,
        (&histories, &[2.0, 1.0, 1.0, 1.0, 1.0, 0.0]),
        None,
        limits,
    )
    .unwrap();
    histories[5] = histories[0].clone();
    let doubled = fit_hidden(&design, (&histories, &[1.0; 6]), None, limits).unwrap();
    assert!((weighted.log_posterior - doubled.log_posterior).abs() < 1e-9);
}

#[test]
fn what_does_not_belong_together_is_refused() {
    let sound = design(52);
    let at = |first_week, start, heard| History {
        first_week,
        start,
        heard,
    };
    let fit = |design: &Design, history: History| {
        fit_hidden(design, (&[history], &[1.0]), None, FitLimits::default()).unwrap_err()
    };
    let late = fit(&sound, at(50, 0, vec![None; 9]));
    assert!(matches!(late, SkillError::TooFew { .. }), "{late}");
    let unknown = fit(&sound, at(0, 7, vec![None; 9]));
    assert!(matches!(unknown, SkillError::Undefined { .. }), "{unknown}");
    // Heard in the river in January, when it has no receiver.
    let unheard_of = fit(&sound, at(0, 0, vec![None, Some(2)]));
    assert!(matches!(unheard_of, SkillError::Undefined { .. }), "{unheard_of}");
    let mut short = sound.clone();
    short.hears_as.pop();
    assert!(matches!(
        fit(&short, at(0, 0, vec![None; 9])),
        SkillError::Lengths { .. }
    ));
    let none = fit_hidden(&sound, (&[], &[]), None, FitLimits::default());
    assert!(matches!(none, Err(SkillError::TooFew { .. })));
}
