//! Forward and backward through one history.

use super::design::{Design, History};
use super::model::HiddenModel;
use crate::skill::SkillError;
use crate::skill::checks::same_length;
use crate::skill::telemetry::{FishDays, MONTHS};

/// Days of a week.
const WEEK_DAYS: f64 = 7.0;

/// What one history says of the states.
pub(super) struct Smoothed {
    /// Probability of each state in each week. Shape `[week * states + state]`.
    pub state_prob: Vec<f64>,
    /// Logarithm of the probability of all that was heard, nats.
    pub log_likelihood: f64,
}

/// Room for the work on a history, used again for the next.
#[derive(Default)]
pub(super) struct Workspace {
    forward_prob: Vec<f64>,
    heard_prob: Vec<f64>,
    scaled_prob: Vec<f64>,
    after_prob: Vec<f64>,
}

/// Probabilities of the states of one fish by the scaled forward-backward recursions (Rabiner 1989), and, where asked for, the
/// expected steps added to `steps` with the weight of the fish. Shape of `steps` as of [`HiddenModel::step`].
///
/// # Errors
/// [`SkillError::Undefined`] where the model gives what was heard no chance at all.
pub(super) fn smooth(
    (design, model): (&Design, &HiddenModel),
    history: &History,
    room: &mut Workspace,
    mut steps: Option<(&mut [Vec<f64>], f64)>,
) -> Result<Smoothed, SkillError> {
    let (states, weeks) = (design.states(), history.heard.len());
    for part in [&mut room.forward_prob, &mut room.heard_prob] {
        part.clear();
        part.resize(weeks * states, 0.0);
    }
    room.scaled_prob.clear();
    room.scaled_prob.resize(weeks, 1.0);
    let mut log_likelihood = 0.0;
    if weeks > 0 {
        // In hearing or not, nobody knows where in its area it was caught.
        room.forward_prob[2 * history.start] = 0.5;
        room.forward_prob[2 * history.start + 1] = 0.5;
    }
    for t in 1..weeks {
        let week = history.first_week + t;
        let chance = &mut room.heard_prob[t * states..(t + 1) * states];
        model.emit(design, week, history.heard[t], chance);
        let table = &model.step[design.month[week]];
        let (before, now) = room.forward_prob.split_at_mut(t * states);
        let (before, now) = (&before[(t - 1) * states..], &mut now[..states]);
        for (from, p) in before.iter().enumerate().filter(|(_, p)| **p > 0.0) {
            for (to, sum) in now.iter_mut().enumerate() {
                *sum += p * table[from * states + to];
            }
        }
        now.iter_mut().zip(chance.iter()).for_each(|(p, c)| *p *= c);
        let sum: f64 = now.iter().sum();
        if sum.is_nan() || sum <= 0.0 {
            return Err(SkillError::Undefined {
                what: "the history of a tag",
                wanted: "hearings that the steps and receivers of the design allow",
            });
        }
        now.iter_mut().for_each(|p| *p /= sum);
        room.scaled_prob[t] = sum;
        log_likelihood += sum.ln();
    }
    let mut state_prob = room.forward_prob.clone();
    let mut backward = vec![1.0; states];
    for t in (1..weeks).rev() {
        let month = design.month[history.first_week + t];
        let table = &model.step[month];
        let after = room.heard_prob[t * states..(t + 1) * states]
            .iter()
            .zip(&backward);
        room.after_prob.clear();
        room.after_prob
            .extend(after.map(|(chance, backward)| chance * backward / room.scaled_prob[t]));
        for from in 0..states {
            let row = &table[from * states..(from + 1) * states];
            let p = room.forward_prob[(t - 1) * states + from];
            if let Some((steps, weight)) = steps.as_mut().filter(|_| p > 0.0) {
                let sums = &mut steps[month][from * states..(from + 1) * states];
                for to in 0..states {
                    sums[to] += *weight * p * row[to] * room.after_prob[to];
                }
            }
            backward[from] = row.iter().zip(&room.after_prob).map(|(a, b)| a * b).sum();
            state_prob[(t - 1) * states + from] *= backward[from];
        }
    }
    Ok(Smoothed {
        state_prob,
        log_likelihood,
    })
}

/// Which weeks are counted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct WeeksCounted {
    /// Weeks from that of the capture on that are left out; that of the capture itself never counts.
    pub settle_weeks: usize,
    /// First week that counts.
    pub from_week: usize,
}

/// Expected days of fish.
#[derive(Debug, Clone, PartialEq)]
pub struct HiddenDays {
    /// Days alive, in hearing or not, by month and area; all have a place.
    pub alive: FishDays,
    /// Those of them that were spent out of hearing. Shape `[month]`.
    pub unheard_days: Vec<f64>,
    /// Days after the fish was gone. Shape `[month]`.
    pub gone_days: Vec<f64>,
}

/// Expected days of fish by month and area, each fish counted `weights` times.
///
/// # Errors
/// [`SkillError`] as for a fit.
pub fn hidden_days(
    (design, model): (&Design, &HiddenModel),
    (histories, weights): (&[History], &[f64]),
    counted: WeeksCounted,
) -> Result<HiddenDays, SkillError> {
    design.check(histories)?;
    same_length("weights of tags", weights.len(), histories.len())?;
    let (areas, states) = (design.areas(), design.states());
    let mut found = HiddenDays {
        alive: FishDays::none(areas),
        unheard_days: vec![0.0; MONTHS],
        gone_days: vec![0.0; MONTHS],
    };
    let mut room = Workspace::default();
    for (history, &weight) in histories.iter().zip(weights).filter(|(_, w)| **w > 0.0) {
        let smoothed = smooth((design, model), history, &mut room, None)?;
        let first = counted
            .settle_weeks
            .max(1)
            .max(counted.from_week.saturating_sub(history.first_week));
        for t in first..history.heard.len() {
            let month = design.month[history.first_week + t];
            let days: Vec<f64> = smoothed.state_prob[t * states..(t + 1) * states]
                .iter()
                .map(|prob| WEEK_DAYS * weight * prob)
                .collect();
            for area in 0..areas {
                found.alive.placed[month][area] += days[2 * area] + days[2 * area + 1];
                found.unheard_days[month] += days[2 * area + 1];
            }
            found.gone_days[month] += days[2 * areas];
        }
    }
    Ok(found)
}
