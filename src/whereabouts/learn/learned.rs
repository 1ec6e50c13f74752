//! What was learned of each coefficient, beside its prior.

use serde::{Deserialize, Serialize};

use super::fit::SpeciesFit;
use crate::species::Species;

/// Below this reduction of its standard deviation a coefficient counts as not learned yet (science reference 4.3).
pub const LEARNED_FROM_FRAC: f64 = 0.2;

/// One coefficient before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Learned {
    /// Id of the rule, or of the term of catchability.
    pub id: String,
    /// Its plain meaning, from the species file.
    pub label: String,
    /// Whether it moves shares; else only the catch.
    pub of_share: bool,
    /// Prior mean.
    pub prior_mean: f64,
    /// Prior standard deviation.
    pub prior_sd: f64,
    /// Posterior mean.
    pub posterior_mean: f64,
    /// Posterior standard deviation.
    pub posterior_sd: f64,
    /// Reduction of the standard deviation: 0 nothing learned, 1 all.
    pub learned_frac: f64,
    /// Whether that is below a fifth: not learned yet.
    pub not_yet: bool,
}

/// Every coefficient of the species, rules first, in the order of its file.
pub fn learned(fit: &SpeciesFit, species: &Species) -> Vec<Learned> {
    let rules = species
        .rules
        .iter()
        .map(|r| (&r.id, &r.label, true, r.mean, r.sd));
    let terms = species
        .catchability
        .iter()
        .map(|c| (&c.id, &c.label, false, c.mean, c.sd));
    rules
        .chain(terms)
        .enumerate()
        .map(|(k, (id, label, of_share, prior_mean, prior_sd))| {
            let learned_frac = 1.0 - fit.covariance[(k, k)].sqrt();
            Learned {
                id: id.clone(),
                label: label.clone(),
                of_share,
                prior_mean,
                prior_sd,
                posterior_mean: fit.belief.mean(k),
                posterior_sd: fit.belief.sd(k),
                learned_frac,
                not_yet: learned_frac < LEARNED_FROM_FRAC,
            }
        })
        .collect()
}
