//! Parameters: steps from week to week by month, and the chance to hear.

use super::design::Design;
use crate::skill::telemetry::MONTHS;

/// Weight of the prior on staying in a state, as so many weeks seen (project choice).
pub(super) const PRIOR_STAY_WEEKS: f64 = 1.0;
/// The same on each step that is allowed (project choice): small against the data, it keeps what was never seen possible.
pub(super) const PRIOR_STEP_WEEKS: f64 = 0.1;

/// Parameters of the hidden states.
#[derive(Debug, Clone, PartialEq)]
pub struct HiddenModel {
    /// Chance of each step in a week of a month, 0 where there is none. Shape `[month][from * states + to]`.
    pub step: Vec<Vec<f64>>,
    /// Rate `h_a` at which a fish in hearing is heard, by receiver-day. Shape `[area]`.
    pub heard_per_day: Vec<f64>,
}

impl HiddenModel {
    /// Where a fit begins: seven weeks of ten in place, everything else alike; a seventh of a hearing each receiver-day.
    pub(super) fn begin(design: &Design) -> HiddenModel {
        let states = design.states();
        let row = |month: usize, from: usize| -> Vec<f64> {
            let weight = |to: usize| match to == from {
                true => 0.7,
                false if design.allows(month, from, to) => 0.03,
                false => 0.0,
            };
            let weights: Vec<f64> = (0..states).map(weight).collect();
            let sum: f64 = weights.iter().sum();
            weights.into_iter().map(|w| w / sum).collect()
        };
        let table = |month: usize| (0..states).flat_map(|from| row(month, from)).collect();
        HiddenModel {
            step: (0..MONTHS).map(table).collect(),
            heard_per_day: vec![1.0 / 7.0; design.areas()],
        }
    }

    /// Chance of what was heard in week `week`, by state, into `heard_prob`. Shape `[state]`.
    pub(super) fn emit(&self, design: &Design, week: usize, heard: Option<usize>, heard_prob: &mut [f64]) {
        let missed = |area: usize| (-self.heard_per_day[area] * design.receiver_days[week][area]).exp();
        match heard {
            None => {
                heard_prob.fill(1.0);
                for area in 0..design.areas() {
                    heard_prob[2 * area] = missed(area);
                }
            }
            Some(area) => {
                heard_prob.fill(0.0);
                heard_prob[2 * area] = 1.0 - missed(area);
            }
        }
    }

    /// Logarithm of the Dirichlet prior on the steps, but for its constant.
    pub(super) fn log_prior(&self, states: usize) -> f64 {
        let mut sum = 0.0;
        for table in &self.step {
            for (cell, prob) in table.iter().enumerate().filter(|(_, p)| **p > 0.0) {
                sum += prior_weeks(states, cell) * prob.ln();
            }
        }
        sum
    }
}

/// Prior weight of a cell `from * states + to` that is allowed.
pub(super) fn prior_weeks(states: usize, cell: usize) -> f64 {
    if cell / states == cell % states {
        PRIOR_STAY_WEEKS
    } else {
        PRIOR_STEP_WEEKS
    }
}
