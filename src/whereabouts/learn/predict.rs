//! The catch that is to be expected of hours in a zone.

use nalgebra::{Cholesky, DVector};
use serde::{Deserialize, Serialize};

use super::FitError;
use super::design::{Frame, RowK, share_design};
use super::fit::SpeciesFit;
use super::rows::{Effort, Morning, SpeciesRows};
use crate::math::counts::{at_least_one_prob, count_ln_prob};
use crate::math::streams::{normal, stream};

/// Largest catch whose probability is summed for the interval.
const MOST_FISH: u32 = 500;

/// The catch of some hours in one zone, mixed over draws of every parameter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ExpectedCatch {
    /// Mean number of fish.
    pub mean_fish: f64,
    /// Probability of at least one.
    pub at_least_one_prob: f64,
    /// Fewest fish of the 80 % interval: 10 % quantile of the catch itself.
    pub low_fish: u32,
    /// Most fish of it: 90 % quantile.
    pub high_fish: u32,
}

/// The catch to be expected of `plan` (its catch is not looked at) on `morning`, from `draws` draws of the posterior.
///
/// `mu = E exp(rate + c'gamma + ln share_z + b_z)` by draw; `P(>= 1) = mean(1 - (k / (k + mu))^k)`. A zone or stretch that was never
/// fished has an effect drawn from its prior. `None` where the zone was not open.
///
/// # Errors
/// [`FitError::Shape`] where the responses are not those of the species.
pub fn expected_catch(
    (fit, rows): (&SpeciesFit, &SpeciesRows<'_>),
    morning: &Morning,
    plan: &Effort,
    (draws, seed): (usize, u64),
) -> Result<Option<ExpectedCatch>, FitError> {
    let shape = |what: &'static str, found: usize, wanted: usize| FitError::Shape {
        species: rows.species.id.clone(),
        trip: "of the plan".to_owned(),
        what,
        found,
        wanted,
    };
    let terms = rows.species.catchability.len();
    if plan.catch_response.len() != terms {
        return Err(shape(
            "responses of catchability",
            plan.catch_response.len(),
            terms,
        ));
    }
    let rules = rows.species.rules.len();
    if let Some(z) = morning.zones.iter().find(|z| z.response.len() != rules) {
        return Err(shape("responses of rules", z.response.len(), rules));
    }
    let Some(zone) = morning.open_zones().position(|z| z == &plan.zone) else {
        return Ok(None);
    };
    let layout = &fit.layout;
    let own: Vec<usize> = (0..layout.len()).collect();
    let share = share_design(
        rows,
        morning,
        &Frame {
            layout,
            place: &own,
            priors: &fit.priors,
            dispersion: RowK::Held(fit.dispersion.value),
        },
    );
    let root = Cholesky::new(fit.covariance.clone()).map(|c| c.l());
    let mut numbers = stream(seed, &format!("catch/{}/{}", rows.species.id, plan.zone));
    let mut mus = Vec::with_capacity(draws);
    for _ in 0..draws.max(1) {
        let noise = DVector::from_fn(layout.len(), |_, _| normal(&mut numbers));
        let (zone_noise, stretch_noise) = (normal(&mut numbers), normal(&mut numbers));
        let spread = root.as_ref().map_or(noise.clone(), |l| l * &noise);
        let z: Vec<f64> = fit
            .moved_sd
            .iter()
            .zip(spread.iter())
            .map(|(m, s)| m + s)
            .collect();
        let at = |k: usize| fit.priors[k].0 + fit.priors[k].1 * z[k];
        let place = |known: Option<usize>, noise: f64| known.map_or(fit.place_sd.value * noise, at);
        let of_terms: f64 = plan
            .catch_response
            .iter()
            .enumerate()
            .map(|(t, x)| x * at(rules + t))
            .sum();
        let of_zone = place(layout.zone(&plan.zone), zone_noise);
        let of_stretch = plan
            .stretch
            .as_ref()
            .map_or(0.0, |s| place(layout.stretch(&plan.zone, s), stretch_noise));
        let ln_share = share.at(&z, false).share(zone).ln();
        let k = layout.k().map_or(fit.dispersion.value, |k| at(k).exp());
        let ln_mu = plan.effort_h.ln() + at(layout.rate()) + of_terms + of_zone + of_stretch + ln_share;
        mus.push((ln_mu.exp(), k));
    }
    Ok(Some(mixed(&mus)))
}

/// Mean, chance of one, and quantiles of a mixture of negative binomials with mean and dispersion each.
pub fn mixed(parts: &[(f64, f64)]) -> ExpectedCatch {
    let count = parts.len() as f64;
    let quantile = |prob: f64| {
        let mut below = 0.0;
        for fish in 0..MOST_FISH {
            let of = |(mu, k): &(f64, f64)| count_ln_prob(f64::from(fish), *mu, *k).exp();
            below += parts.iter().map(of).sum::<f64>() / count;
            if below >= prob {
                return fish;
            }
        }
        MOST_FISH
    };
    ExpectedCatch {
        mean_fish: parts.iter().map(|(mu, _)| mu).sum::<f64>() / count,
        at_least_one_prob: parts
            .iter()
            .map(|(mu, k)| at_least_one_prob(*mu, *k))
            .sum::<f64>()
            / count,
        low_fish: quantile(0.1),
        high_fish: quantile(0.9),
    }
}
