//! The continuous ranked probability score of ensembles and of normal distributions.

use std::f64::consts::PI;

use statrs::distribution::{Continuous, ContinuousCDF, Normal};

use super::SkillError;
use super::checks::{at_least, each, finite};

/// An ensemble and what was observed, in one unit.
#[derive(Debug, Clone, PartialEq)]
pub struct EnsembleCase {
    /// Members, in any order.
    pub members: Vec<f64>,
    /// What was observed.
    pub observed: f64,
}

impl EnsembleCase {
    /// Checks that there are `least` members and that all numbers are finite.
    pub(crate) fn check(&self, least: usize) -> Result<(), SkillError> {
        at_least("members of an ensemble", self.members.len(), least)?;
        finite("members of an ensemble", &self.members)?;
        finite("what was observed", &[self.observed])
    }

    /// CRPS of the ensemble as it stands, in the unit of its members:
    /// `mean |x_i - y| - (1 / (2 m^2)) sum_ij |x_i - x_j|`.
    ///
    /// It is the integral of `(F(x) - H(x - y))^2` with the step function of the `m` members as `F`; for one
    /// member the absolute error. Source: Hersbach 2000; this form Gneiting & Raftery 2007. Judges the product
    /// that was issued: a larger ensemble of the same quality scores better.
    ///
    /// # Errors
    /// [`SkillError`] without members, or with a number that is not finite.
    pub fn crps(&self) -> Result<f64, SkillError> {
        self.check(1)?;
        let count = self.members.len() as f64;
        Ok(self.mean_error() - self.pair_distance() / (2.0 * count * count))
    }

    /// Fair CRPS, in the unit of the members: as [`EnsembleCase::crps`] with `1 / (2 m (m - 1))`, which does
    /// not depend on the number of members on average. For comparing ensembles of different size; of one
    /// case it may be negative.
    ///
    /// Source: Ferro 2014.
    ///
    /// # Errors
    /// [`SkillError`] with fewer than two members, or a number that is not finite.
    pub fn crps_fair(&self) -> Result<f64, SkillError> {
        self.check(2)?;
        let count = self.members.len() as f64;
        Ok(self.mean_error() - self.pair_distance() / (2.0 * count * (count - 1.0)))
    }

    fn mean_error(&self) -> f64 {
        let sum: f64 = self.members.iter().map(|x| (x - self.observed).abs()).sum();
        sum / self.members.len() as f64
    }

    /// `sum_ij |x_i - x_j|`, from the order statistics: `2 sum_i (2 i - m + 1) x_(i)`, counted from 0.
    fn pair_distance(&self) -> f64 {
        let mut sorted = self.members.clone();
        sorted.sort_by(f64::total_cmp);
        let last = sorted.len() as f64 - 1.0;
        // Distances from the first member, so that a large common offset takes no digits.
        let first = sorted[0];
        let half: f64 = (0u32..)
            .zip(&sorted)
            .map(|(i, x)| (2.0 * f64::from(i) - last) * (x - first))
            .sum();
        2.0 * half
    }
}

/// Scores of one normal forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalScores {
    /// CRPS, in the unit of the forecast.
    pub crps: f64,
    /// `-ln` of the density at what was observed, in nats per unit of the forecast; may be negative, and
    /// changes with the unit. No floor: it is a density and no probability.
    pub log_score: f64,
    /// Probability integral transform: the forecast's probability of the observed value or less. Uniform
    /// over many cases when the forecasts are calibrated.
    pub pit_prob: f64,
}

/// Scores of the normal distribution with `mean` and standard deviation `sd` at `observed`, all in one unit.
///
/// `CRPS = sd (w (2 Phi(w) - 1) + 2 phi(w) - 1/sqrt(pi))` with `w = (observed - mean) / sd`;
/// `-ln (phi(w) / sd)`; `Phi(w)`. Source: Gneiting et al. 2005, equation 5 (CRPS); Dawid 1984 (PIT).
///
/// # Errors
/// [`SkillError::Value`] for a number that is not finite or an `sd` that is not positive.
pub fn normal_scores(mean: f64, sd: f64, observed: f64) -> Result<NormalScores, SkillError> {
    finite("mean and observed value of a normal forecast", &[mean, observed])?;
    each(
        "spread of a normal forecast",
        &[sd],
        "a finite number above 0",
        |s| s.is_finite() && s > 0.0,
    )?;
    let w = (observed - mean) / sd;
    let unit = Normal::standard();
    Ok(NormalScores {
        crps: crps_of_normal(mean, sd, observed),
        log_score: sd.ln() - unit.ln_pdf(w),
        pit_prob: unit.cdf(w),
    })
}

/// [`NormalScores::crps`] of numbers that were checked before.
pub(super) fn crps_of_normal(mean: f64, sd: f64, observed: f64) -> f64 {
    let w = (observed - mean) / sd;
    let unit = Normal::standard();
    sd * (w * (2.0 * unit.cdf(w) - 1.0) + 2.0 * unit.pdf(w) - 1.0 / PI.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn case(members: &[f64], observed: f64) -> EnsembleCase {
        EnsembleCase {
            members: members.to_vec(),
            observed,
        }
    }

    #[test]
    fn what_cannot_be_scored_is_refused() {
        assert!(matches!(
            case(&[], 1.0).crps(),
            Err(SkillError::TooFew { least: 1, .. })
        ));
        assert!(matches!(
            case(&[1.0], 1.0).crps_fair(),
            Err(SkillError::TooFew { least: 2, .. })
        ));
        assert!(matches!(
            case(&[1.0, f64::NAN], 1.0).crps(),
            Err(SkillError::Value { place: 1, .. })
        ));
        assert!(case(&[1.0, 2.0], f64::INFINITY).crps().is_err());
        for sd in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(normal_scores(0.0, sd, 0.0).is_err(), "{sd}");
        }
        assert!(normal_scores(f64::NAN, 1.0, 0.0).is_err());
    }
}
