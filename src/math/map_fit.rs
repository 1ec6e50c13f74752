//! Least squares with Gaussian priors: the most probable parameters (MAP) and their Laplace covariance.

use std::cell::RefCell;
use std::rc::Rc;

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
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

/// Most probable parameters, by the trust-region form of Levenberg-Marquardt (Levenberg 1944, Marquardt 1963, Moré 1978) of the
/// crate `levenberg-marquardt`.
///
/// Minimises `weight * sum_i r_i(p)^2 / 2 + sum_k ((p_k - mean_k) / spread_k)^2 / 2`, starting at the prior's mean: the prior is
/// one more residual for each parameter, and the search runs in `z = (p - mean) / spread`. The Jacobian is by forward differences
/// of a thousandth of each spread.
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
    residuals: impl FnMut(&[f64], &mut Vec<f64>),
) -> Option<MapFit> {
    let model = ByDifferences {
        residuals,
        spread: &prior.spread,
        difference_frac: 1e-3,
    };
    fit_map_of(prior, start, search, model)
}

/// A model whose residuals are to be made small.
pub trait Residuals {
    /// Residuals at a point, as many as at every other. `None` ends the search without an answer.
    fn at(&mut self, point: &[f64]) -> Option<Vec<f64>>;

    /// Slopes of the residuals at a point where they are known. Shape `[residual][parameter]`.
    fn slopes(&mut self, point: &[f64], residual: &[f64]) -> Option<DMatrix<f64>>;
}

/// As [`fit_map_from`], for a model that knows its slopes. `None` also where the model has no answer.
pub fn fit_map_of(prior: &Prior, start: &[f64], search: Search, model: impl Residuals) -> Option<MapFit> {
    let count = prior.mean.len();
    let shaped = count > 0
        && start.len() == count
        && prior.spread.len() == count
        && prior.spread.iter().all(|s| *s > 0.0);
    if !shaped {
        return None;
    }
    let from =
        (start.iter().zip(&prior.mean).zip(&prior.spread)).map(|((p, mean), spread)| (p - mean) / spread);
    let problem = Problem {
        prior,
        root_weight: search.weight.sqrt(),
        scaled: DVector::from_iterator(count, from),
        model: RefCell::new(model),
        seen: RefCell::new(Vec::new()),
    };
    if problem.here()?.iter().any(|r| !r.is_finite()) {
        return None;
    }
    let (problem, report) = LevenbergMarquardt::new()
        .with_ftol(search.tolerance)
        .with_xtol(LEAST_MOVE)
        .with_gtol(LEAST_MOVE)
        .with_patience(search.steps.div_ceil(count + 1))
        .minimize(problem);
    let slopes = problem.jacobian()?;
    let root_spread = DVector::from_column_slice(&prior.spread);
    let scaled_covariance = Cholesky::new(slopes.tr_mul(&slopes))?.inverse();
    Some(MapFit {
        at: problem.point(),
        covariance: scaled_covariance.component_mul(&(&root_spread * root_spread.transpose())),
        cost: problem.residuals()?.norm_squared() / 2.0,
        steps: report.number_of_evaluations,
        converged: report.termination.was_successful(),
    })
}

/// Shift of `z`, and cosine between residuals and slopes, below which a search ends: next to the rounding of a model.
const LEAST_MOVE: f64 = 1e-12;
/// A trial without finite residuals counts as this many times as far from the observations as the best one, and is refused.
const FAR: f64 = 1e3;
/// Points whose residuals are kept: the best one and a trial.
const KEPT: usize = 2;

/// Least squares in `z`: the model's residuals times the root of their weight, and then `z` itself.
struct Problem<'a, R> {
    prior: &'a Prior,
    root_weight: f64,
    scaled: DVector<f64>,
    model: RefCell<R>,
    seen: RefCell<Vec<Seen>>,
}

/// A point, its residuals, and the cost of both.
struct Seen {
    point: Vec<f64>,
    residual: Rc<Vec<f64>>,
    cost: f64,
}

impl<R: Residuals> Problem<'_, R> {
    fn point(&self) -> Vec<f64> {
        let priors = self.prior.mean.iter().zip(&self.prior.spread);
        priors
            .zip(self.scaled.iter())
            .map(|((mean, spread), z)| mean + spread * z)
            .collect()
    }

    /// The model's residuals at the present point, asked once.
    fn here(&self) -> Option<Rc<Vec<f64>>> {
        let point = self.point();
        let mut seen = self.seen.borrow_mut();
        if let Some(known) = seen.iter().find(|known| known.point == point) {
            return Some(known.residual.clone());
        }
        let mut residual = self.model.borrow_mut().at(&point)?;
        if let Some(best) = seen.first()
            && residual.iter().any(|r| !r.is_finite())
        {
            let far = best.residual.iter().fold(1.0, |most: f64, r| most.max(r.abs())) * FAR;
            residual.iter_mut().for_each(|r| *r = far);
        }
        let misfit: f64 = residual.iter().map(|r| (self.root_weight * r).powi(2)).sum();
        let residual = Rc::new(residual);
        seen.truncate(KEPT - 1);
        seen.push(Seen {
            point,
            residual: residual.clone(),
            cost: misfit + self.scaled.norm_squared(),
        });
        // The best comes first, so that it is still there when the search ends.
        seen.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        Some(residual)
    }
}

impl<R: Residuals> LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_, R> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, scaled: &DVector<f64>) {
        self.scaled.copy_from(scaled);
    }

    fn params(&self) -> DVector<f64> {
        self.scaled.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let here = self.here()?;
        let weighted = here.iter().map(|r| r * self.root_weight);
        let whole = weighted.chain(self.scaled.iter().copied());
        Some(DVector::from_iterator(here.len() + self.scaled.len(), whole))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let here = self.here()?;
        let slopes = self.model.borrow_mut().slopes(&self.point(), &here)?;
        let (rows, count) = (here.len(), self.scaled.len());
        Some(DMatrix::from_fn(rows + count, count, |row, k| {
            match row.checked_sub(rows) {
                Some(of) => f64::from(u8::from(of == k)),
                None => slopes[(row, k)] * self.root_weight * self.prior.spread[k],
            }
        }))
    }
}

/// A model of which only residuals are known.
struct ByDifferences<'a, F> {
    residuals: F,
    spread: &'a [f64],
    difference_frac: f64,
}

impl<F: FnMut(&[f64], &mut Vec<f64>)> Residuals for ByDifferences<'_, F> {
    fn at(&mut self, point: &[f64]) -> Option<Vec<f64>> {
        let mut residual = Vec::new();
        (self.residuals)(point, &mut residual);
        Some(residual)
    }

    fn slopes(&mut self, point: &[f64], residual: &[f64]) -> Option<DMatrix<f64>> {
        let mut moved = point.to_vec();
        let mut slopes = DMatrix::zeros(residual.len(), point.len());
        for (k, spread) in self.spread.iter().enumerate() {
            let step = self.difference_frac * spread;
            moved[k] = point[k] + step;
            let there = self.at(&moved)?;
            moved[k] = point[k];
            for (row, (there, here)) in there.iter().zip(residual).enumerate() {
                let slope = (there - here) / step;
                // A threshold right beside the point has no slope.
                slopes[(row, k)] = if slope.is_finite() { slope } else { 0.0 };
            }
        }
        Some(slopes)
    }
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
