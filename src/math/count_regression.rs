//! Regression of counts on a linear predictor: most likely or most probable coefficients, by Newton.

use nalgebra::{DMatrix, DVector};

use super::counts::{count_ln_prob, count_slopes};
use super::map_fit::Prior;
use super::newton::{Hill, Top, climb};

/// Counts with what they are to be explained by: `y ~ NB2(mu, k)`, `ln mu = ln E + X b`.
#[derive(Debug, Clone, Copy)]
pub struct CountData<'a> {
    /// Explaining numbers. Shape `[case][coefficient]`.
    pub design: &'a DMatrix<f64>,
    /// Exposure of each case, above 0.
    pub exposure: &'a [f64],
    /// Counts.
    pub count: &'a [f64],
    /// Dispersion; infinite for Poisson.
    pub k: f64,
}

/// What a regression of counts found.
#[derive(Debug, Clone, PartialEq)]
pub struct CountFit {
    /// The top of likelihood, or of likelihood and prior.
    pub top: Top,
    /// Inverse of the observed curvature there.
    pub covariance: DMatrix<f64>,
    /// Logarithm of the likelihood there, without the prior.
    pub ln_likelihood: f64,
}

/// Most probable coefficients under `prior`, or the most likely ones without.
///
/// Gradient `X'((y - mu) k / (k + mu)) - (b - m) / s^2`, curvature `X' diag(mu k (k + y) / (k + mu)^2) X + diag(1 / s^2)`.
/// `None` when shapes differ, or there is no top (as without prior where a column explains all). Source: science reference of this
/// project, 4.1; rows F-REG.
pub fn fit_counts(data: CountData<'_>, prior: Option<&Prior>, most_steps: usize) -> Option<CountFit> {
    let (cases, coefficients) = data.design.shape();
    let shaped = data.exposure.len() == cases
        && data.count.len() == cases
        && data.exposure.iter().all(|e| *e > 0.0)
        && prior.is_none_or(|p| p.mean.len() == coefficients && p.spread.len() == coefficients);
    if !shaped {
        return None;
    }
    let start = prior.map_or_else(|| vec![0.0; coefficients], |p| p.mean.clone());
    let mut hill = Linear { data, prior };
    let top = climb(&start, &mut hill, most_steps)?;
    let covariance = top.covariance()?;
    let ln_likelihood = hill.ln_likelihood(&top.at);
    (top.converged).then_some(CountFit {
        top,
        covariance,
        ln_likelihood,
    })
}

struct Linear<'a> {
    data: CountData<'a>,
    prior: Option<&'a Prior>,
}

impl Linear<'_> {
    fn mu(&self, at: &[f64]) -> Vec<f64> {
        let predictor = self.data.design * DVector::from_column_slice(at);
        predictor
            .iter()
            .zip(self.data.exposure)
            .map(|(x, e)| e * x.exp())
            .collect()
    }

    fn ln_likelihood(&self, at: &[f64]) -> f64 {
        let mu = self.mu(at);
        let each = self.data.count.iter().zip(&mu);
        each.map(|(y, mu)| count_ln_prob(*y, *mu, self.data.k)).sum()
    }
}

impl Hill for Linear<'_> {
    fn value(&mut self, at: &[f64]) -> f64 {
        let penalty: f64 = self.prior.map_or(0.0, |p| {
            let each = at.iter().zip(&p.mean).zip(&p.spread);
            each.map(|((b, m), s)| 0.5 * ((b - m) / s).powi(2)).sum()
        });
        self.ln_likelihood(at) - penalty
    }

    fn slopes(&mut self, at: &[f64]) -> (DVector<f64>, DMatrix<f64>) {
        let mu = self.mu(at);
        let each = self.data.count.iter().zip(&mu);
        let slopes: Vec<_> = each
            .map(|(y, mu)| count_slopes(*y, *mu, self.data.k, false))
            .collect();
        let x = self.data.design;
        let mut gradient = x.tr_mul(&DVector::from_iterator(
            mu.len(),
            slopes.iter().map(|s| s.by_mean),
        ));
        let mut weighted = x.clone();
        for (i, s) in slopes.iter().enumerate() {
            weighted.row_mut(i).scale_mut(s.mean_curvature);
        }
        let mut curvature = x.tr_mul(&weighted);
        if let Some(prior) = self.prior {
            for (k, (m, s)) in prior.mean.iter().zip(&prior.spread).enumerate() {
                gradient[k] -= (at[k] - m) / (s * s);
                curvature[(k, k)] += 1.0 / (s * s);
            }
        }
        (gradient, curvature)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_constant_alone_is_the_logarithm_of_catch_over_effort() {
        let design = DMatrix::from_element(3, 1, 1.0);
        let data = CountData {
            design: &design,
            exposure: &[1.0, 2.0, 5.0],
            count: &[1.0, 0.0, 3.0],
            k: f64::INFINITY,
        };
        // By hand: 4 counts over 8; the variance of its logarithm is 1/4.
        let fit = fit_counts(data, None, 50).unwrap();
        assert!((fit.top.at[0] - 0.5_f64.ln()).abs() < 1e-12, "{fit:?}");
        assert!((fit.covariance[(0, 0)] - 0.25).abs() < 1e-9);
    }

    #[test]
    fn what_has_no_top_or_no_shape_has_no_fit() {
        let design = DMatrix::from_element(2, 1, 1.0);
        let data = CountData {
            design: &design,
            exposure: &[1.0, 1.0],
            count: &[0.0, 0.0],
            k: 1.5,
        };
        assert_eq!(
            fit_counts(data, None, 50),
            None,
            "nothing counted: the rate falls for ever"
        );
        let prior = Prior {
            mean: vec![0.0],
            spread: vec![1.0],
        };
        assert!(fit_counts(data, Some(&prior), 50).is_some(), "a prior holds it");
        let short = CountData {
            exposure: &[1.0],
            ..data
        };
        assert_eq!(fit_counts(short, Some(&prior), 50), None);
    }
}
