//! The fit: expectation and maximisation in turn.

use std::collections::BTreeMap;

use super::design::{Design, History};
use super::model::{HiddenModel, prior_weeks};
use super::smooth::{Workspace, smooth};
use crate::math::roots::bisect;
use crate::skill::SkillError;
use crate::skill::checks::{at_least, each, same_length};
use crate::skill::telemetry::MONTHS;

/// Least and greatest rate of hearing by receiver-day that is looked for; a rate at an end is told as such by its value.
const RATE_PER_DAY: [f64; 2] = [1e-7, 20.0 / 7.0];
/// Width of the last interval about a rate.
const RATE_WITHIN_PER_DAY: f64 = 1e-10;

/// When a fit ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitLimits {
    /// Rounds at most.
    pub rounds: usize,
    /// Ends when a round changes the logarithm of the posterior by less than this part of it.
    pub relative_frac: f64,
}

impl Default for FitLimits {
    fn default() -> FitLimits {
        FitLimits {
            rounds: 2000,
            relative_frac: 1e-8,
        }
    }
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct HiddenFit {
    /// Parameters.
    pub model: HiddenModel,
    /// Logarithm of the likelihood of the histories, each with its weight, nats.
    pub log_likelihood: f64,
    /// The same with the prior on the steps: what no round may lower.
    pub log_posterior: f64,
    /// Rounds that were run.
    pub rounds: usize,
    /// Whether the last round changed less than was asked for.
    pub converged: bool,
}

/// Fits steps and rates to `histories`, each counted `weights` times, by expectation and maximisation (Dempster, Laird & Rubin 1977)
/// from `begin`, or from a plain guess: the mode of the posterior under a small Dirichlet prior on the steps.
///
/// The rate of an area solves `sum heard d / (e^(h d) - 1) = sum missed d` over the receiver-days `d` of its weeks.
///
/// # Errors
/// [`SkillError`] for shapes that do not belong together, weights that are negative, no history, or one that the design forbids.
pub fn fit_hidden(
    design: &Design,
    (histories, weights): (&[History], &[f64]),
    begin: Option<&HiddenModel>,
    limits: FitLimits,
) -> Result<HiddenFit, SkillError> {
    at_least("histories of tags", histories.len(), 1)?;
    same_length("weights of tags", weights.len(), histories.len())?;
    each("weights of tags", weights, "0 or more", |w| {
        w.is_finite() && w >= 0.0
    })?;
    design.check(histories)?;
    let mut fit = HiddenFit {
        model: begin.cloned().unwrap_or_else(|| HiddenModel::begin(design)),
        log_likelihood: f64::NEG_INFINITY,
        log_posterior: f64::NEG_INFINITY,
        rounds: 0,
        converged: false,
    };
    while fit.rounds < limits.rounds && !fit.converged {
        let expected = Expected::of((design, &fit.model), histories, weights)?;
        let posterior = expected.log_likelihood + fit.model.log_prior(design.states());
        fit.rounds += 1;
        fit.converged = (posterior - fit.log_posterior).abs() < limits.relative_frac * posterior.abs();
        (fit.log_likelihood, fit.log_posterior) = (expected.log_likelihood, posterior);
        if !fit.converged {
            fit.model = expected.best(design);
        }
    }
    Ok(fit)
}

/// Expected weeks, heard and missed, of one area with so many receiver-days.
#[derive(Debug, Clone, Copy, Default)]
struct Listened {
    receiver_days: f64,
    heard_days: f64,
    missed_days: f64,
}

struct Expected {
    steps: Vec<Vec<f64>>,
    /// By area whose rate it is, and receiver-days (as bits, which order as they do).
    listened: BTreeMap<(usize, u64), Listened>,
    log_likelihood: f64,
}

impl Expected {
    fn of(
        (design, model): (&Design, &HiddenModel),
        histories: &[History],
        weights: &[f64],
    ) -> Result<Expected, SkillError> {
        let states = design.states();
        let mut expected = Expected {
            steps: vec![vec![0.0; states * states]; MONTHS],
            listened: BTreeMap::new(),
            log_likelihood: 0.0,
        };
        let mut room = Workspace::default();
        for (history, &weight) in histories.iter().zip(weights).filter(|(_, w)| **w > 0.0) {
            let steps = Some((&mut expected.steps[..], weight));
            let smoothed = smooth((design, model), history, &mut room, steps)?;
            expected.log_likelihood += weight * smoothed.log_likelihood;
            for t in 1..history.heard.len() {
                for (area, &receiver_days) in design.receiver_days[history.first_week + t].iter().enumerate()
                {
                    let days = weight * smoothed.state_prob[t * states + 2 * area];
                    if receiver_days > 0.0 && days > 0.0 {
                        let key = (design.hears_as[area], receiver_days.to_bits());
                        let sum = expected.listened.entry(key).or_default();
                        sum.receiver_days = receiver_days;
                        if history.heard[t] == Some(area) {
                            sum.heard_days += days;
                        } else {
                            sum.missed_days += days;
                        }
                    }
                }
            }
        }
        Ok(expected)
    }

    /// The parameters under which what is expected is likeliest, with the prior.
    fn best(&self, design: &Design) -> HiddenModel {
        let states = design.states();
        let table = |month: usize| -> Vec<f64> {
            let mut table = vec![0.0; states * states];
            for from in 0..states {
                let cells = from * states..(from + 1) * states;
                for cell in cells.clone().filter(|c| design.allows(month, from, c % states)) {
                    table[cell] = self.steps[month][cell] + prior_weeks(states, cell);
                }
                let sum: f64 = table[cells.clone()].iter().sum();
                table[cells].iter_mut().for_each(|p| *p /= sum);
            }
            table
        };
        let own: Vec<f64> = (0..design.areas()).map(|area| self.rate_per_day(area)).collect();
        HiddenModel {
            step: (0..MONTHS).map(table).collect(),
            heard_per_day: design.hears_as.iter().map(|area| own[*area]).collect(),
        }
    }

    fn rate_per_day(&self, area: usize) -> f64 {
        let weeks: Vec<&Listened> = self
            .listened
            .range((area, 0)..(area + 1, 0))
            .map(|(_, l)| l)
            .collect();
        let slope = |rate: f64| -> f64 {
            let of = |l: &&Listened| {
                let d = l.receiver_days;
                l.heard_days * d / (rate * d).exp_m1() - l.missed_days * d
            };
            weeks.iter().map(of).sum()
        };
        let [least, most] = RATE_PER_DAY;
        // Without a root the likelihood rises, or falls, all the way: nothing was ever missed, or nothing heard.
        let end = if slope(most) > 0.0 { most } else { least };
        bisect(slope, least, most, RATE_WITHIN_PER_DAY).unwrap_or(end)
    }
}
