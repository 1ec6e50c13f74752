//! Least squares with Gaussian priors: the most probable parameters (MAP) and their Laplace covariance.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rand_chacha::ChaCha12Rng;

use super::streams::normal;

/// Independent Gaussian priors of the parameters.
#[derive(Debug, Clone, PartialEq)]
pub struct Prior {
    /// Means. Shape `[parameter]`.
    pub mean: Vec<f64>,
    /// Standard deviations, positive. Shape `[parameter]`.
    pub spread: Vec<f64>,
}

/// How to search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// Weight of one squared residual: effective observations per observation, over the residual
    /// variance.
    pub weight: f64,
    /// Most steps to try.
    pub steps: usize,
    /// End when a step lowers the cost by less than this share of it.
    pub tolerance: f64,
}

/// What a fit found.
#[derive(Debug, Clone, PartialEq)]
pub struct MapFit {
    /// Most probable parameters. Shape `[parameter]`.
    pub at: Vec<f64>,
    /// Laplace covariance: inverse of the Gauss-Newton curvature at the optimum.
    pub covariance: DMatrix<f64>,
    /// `weight * sum r^2 / 2 + sum ((p - mean) / spread)^2 / 2` at the optimum.
    pub cost: f64,
    /// Steps tried.
    pub steps: usize,
    /// Whether the cost had ceased to fall.
    pub converged: bool,
}

impl MapFit {
    /// One draw of the parameters from the Gaussian of the optimum and its covariance.
    pub fn draw(&self, stream: &mut ChaCha12Rng) -> Vec<f64> {
        let count = self.at.len();
        let noise = DVector::from_fn(count, |_, _| normal(stream));
        match Cholesky::new(self.covariance.clone()) {
            Some(root) => (DVector::from_column_slice(&self.at) + root.l() * noise)
                .as_slice()
                .to_vec(),
            // Rounding has spoilt the smallest directions: draw along the axes instead.
            None => (0..count)
                .map(|i| self.at[i] + self.covariance[(i, i)].max(0.0).sqrt() * noise[i])
                .collect(),
        }
    }
}

/// Most probable parameters by damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963).
///
/// Minimises `weight * sum_i r_i(p)^2 / 2 + sum_k ((p_k - mean_k) / spread_k)^2 / 2`, starting at the
/// prior's mean; the damping is a multiple of the curvature's own diagonal, so that the scale of a
/// parameter does not matter. The Jacobian is by forward differences of a thousandth of each spread.
///
/// `residuals` writes all residuals for the parameters it is given; their number must not change. A
/// trial with a residual that is not finite is a step refused. Without any residual the answer is the
/// prior. `None` when the prior's shape is faulty (lengths differ, empty, a spread not positive) or the
/// residuals at the start are not finite.
pub fn fit_map(
    prior: &Prior,
    search: Search,
    residuals: impl FnMut(&[f64], &mut Vec<f64>),
) -> Option<MapFit> {
    fit_map_from(prior, &prior.mean, search, residuals)
}

/// As [`fit_map`], but the search begins at `start`, such as an earlier fit. `None` also when its shape is
/// not the prior's.
pub fn fit_map_from(
    prior: &Prior,
    start: &[f64],
    search: Search,
    mut residuals: impl FnMut(&[f64], &mut Vec<f64>),
) -> Option<MapFit> {
    let count = prior.mean.len();
    let shaped = count > 0
        && start.len() == count
        && prior.spread.len() == count
        && prior.spread.iter().all(|s| *s > 0.0);
    if !shaped {
        return None;
    }
    let precision: Vec<f64> = prior.spread.iter().map(|s| 1.0 / (s * s)).collect();
    let cost_of = |at: &[f64], residual: &[f64]| {
        let misfit: f64 = residual.iter().map(|r| r * r).sum();
        let away: f64 = (0..count)
            .map(|k| (at[k] - prior.mean[k]).powi(2) * precision[k])
            .sum();
        0.5 * (search.weight * misfit + away)
    };
    let mut at = start.to_vec();
    let mut residual = Vec::new();
    residuals(&at, &mut residual);
    let mut cost = cost_of(&at, &residual);
    if !cost.is_finite() {
        return None;
    }
    let mut trial_residual = Vec::with_capacity(residual.len());
    let (mut damping, mut steps, mut converged) = (1e-3, 0, false);
    let (mut curvature, mut gradient) = (DMatrix::zeros(count, count), DVector::zeros(count));
    let mut stale = true;
    while steps < search.steps && !converged {
        steps += 1;
        if stale {
            let place = Place {
                at: &at,
                residual: &residual,
            };
            (curvature, gradient) = normal_equations(prior, search.weight, place, &precision, &mut residuals);
            stale = false;
        }
        let mut damped: DMatrix<f64> = curvature.clone();
        for k in 0..count {
            damped[(k, k)] *= 1.0 + damping;
        }
        let Some(step) = Cholesky::<f64, Dyn>::new(damped).map(|root| root.solve(&gradient)) else {
            damping *= 10.0;
            continue;
        };
        let trial: Vec<f64> = (0..count).map(|k| at[k] - step[k]).collect();
        residuals(&trial, &mut trial_residual);
        let trial_cost = cost_of(&trial, &trial_residual);
        if trial_cost <= cost {
            converged = cost - trial_cost <= search.tolerance * cost;
            at = trial;
            std::mem::swap(&mut residual, &mut trial_residual);
            cost = trial_cost;
            damping = (damping * 0.1).max(1e-9);
            stale = true;
        } else {
            // A step that cannot get shorter in any way that matters is the optimum as well.
            converged = damping > 1e6;
            damping *= 10.0;
        }
    }
    let place = Place {
        at: &at,
        residual: &residual,
    };
    (curvature, _) = normal_equations(prior, search.weight, place, &precision, &mut residuals);
    let covariance = Cholesky::new(curvature)?.inverse();
    Some(MapFit {
        at,
        covariance,
        cost,
        steps,
        converged,
    })
}

/// A point of the search and its residuals.
struct Place<'a> {
    at: &'a [f64],
    residual: &'a [f64],
}

/// Gauss-Newton curvature `w J'J + P` and gradient `w J'r + P (p - mean)` at a place.
fn normal_equations(
    prior: &Prior,
    weight: f64,
    place: Place<'_>,
    precision: &[f64],
    residuals: &mut impl FnMut(&[f64], &mut Vec<f64>),
) -> (DMatrix<f64>, DVector<f64>) {
    let (count, rows) = (place.at.len(), place.residual.len());
    let mut jacobian = DMatrix::zeros(rows, count);
    let mut moved = place.at.to_vec();
    let mut found = Vec::with_capacity(rows);
    for k in 0..count {
        let step = 1e-3 * prior.spread[k];
        moved[k] = place.at[k] + step;
        residuals(&moved, &mut found);
        moved[k] = place.at[k];
        for (row, (there, here)) in found.iter().zip(place.residual).enumerate() {
            let slope = (there - here) / step;
            jacobian[(row, k)] = if slope.is_finite() { slope } else { 0.0 };
        }
    }
    let residual = DVector::from_column_slice(place.residual);
    let mut curvature = jacobian.tr_mul(&jacobian) * weight;
    let mut gradient = jacobian.tr_mul(&residual) * weight;
    for k in 0..count {
        curvature[(k, k)] += precision[k];
        gradient[k] += precision[k] * (place.at[k] - prior.mean[k]);
    }
    (curvature, gradient)
}

#[cfg(test)]
mod tests {
    use super::super::streams::stream;
    use super::*;

    const SEARCH: Search = Search {
        weight: 1.0,
        steps: 50,
        tolerance: 1e-12,
    };

    #[test]
    fn one_gaussian_observation_gives_the_precision_weighted_mean() {
        // Normal-normal conjugacy: prior N(0, 1), one observation 2 of variance 0.25:
        // mean 2 * 4 / (1 + 4) = 1.6, variance 1 / 5.
        let prior = Prior {
            mean: vec![0.0],
            spread: vec![1.0],
        };
        let fit = fit_map(
            &prior,
            Search {
                weight: 4.0,
                ..SEARCH
            },
            |p, r| {
                r.clear();
                r.push(p[0] - 2.0);
            },
        )
        .unwrap();
        assert!((fit.at[0] - 1.6).abs() < 1e-9, "{:?}", fit.at);
        assert!((fit.covariance[(0, 0)] - 0.2).abs() < 1e-9);
        assert!(fit.converged);
    }

    #[test]
    fn a_curved_valley_is_followed_to_its_floor() {
        // Rosenbrock 1960: minimum at (1, 1); so many observations that the prior does not matter.
        let prior = Prior {
            mean: vec![-1.2, 1.0],
            spread: vec![1.0, 1.0],
        };
        let fit = fit_map(
            &prior,
            Search {
                weight: 1e8,
                steps: 200,
                ..SEARCH
            },
            |p, r| {
                r.clear();
                r.extend([10.0 * (p[1] - p[0] * p[0]), 1.0 - p[0]]);
            },
        )
        .unwrap();
        assert!(
            (fit.at[0] - 1.0).abs() < 1e-4 && (fit.at[1] - 1.0).abs() < 1e-4,
            "{:?}",
            fit.at
        );
    }

    #[test]
    fn without_observations_the_answer_is_the_prior() {
        let prior = Prior {
            mean: vec![3.0, -1.0],
            spread: vec![2.0, 0.5],
        };
        let fit = fit_map(&prior, SEARCH, |_, r| r.clear()).unwrap();
        assert_eq!(fit.at, prior.mean);
        assert!((fit.covariance[(0, 0)] - 4.0).abs() < 1e-12);
        assert!((fit.covariance[(1, 1)] - 0.25).abs() < 1e-12);
    }

    #[test]
    fn draws_have_the_spread_of_the_covariance() {
        let prior = Prior {
            mean: vec![3.0],
            spread: vec![2.0],
        };
        let fit = fit_map(&prior, SEARCH, |_, r| r.clear()).unwrap();
        let mut numbers = stream(1, "draws");
        let drawn: Vec<f64> = (0..20_000).map(|_| fit.draw(&mut numbers)[0]).collect();
        let mean = drawn.iter().sum::<f64>() / 20_000.0;
        let variance = drawn.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 20_000.0;
        // Standard errors 0.014 and 0.04: four of them.
        assert!(
            (mean - 3.0).abs() < 0.06 && (variance - 4.0).abs() < 0.16,
            "{mean} {variance}"
        );
    }

    #[test]
    fn faulty_priors_and_residuals_are_refused() {
        let bad = Prior {
            mean: vec![0.0],
            spread: vec![0.0],
        };
        assert!(fit_map(&bad, SEARCH, |_, r| r.clear()).is_none());
        let prior = Prior {
            mean: vec![0.0],
            spread: vec![1.0],
        };
        assert!(fit_map(&prior, SEARCH, |_, r| *r = vec![f64::NAN]).is_none());
    }
}
