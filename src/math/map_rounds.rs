//! Least squares with Gaussian priors where a model is run for many parameter sets at once: the search says which sets it
//! wants to see, and is told their residuals.

use nalgebra::{Cholesky, DMatrix, DVector};

use super::map_fit::{MapFit, Prior};

/// Finite difference of the Jacobian, as a share of a parameter's spread: a model with thresholds (layers that mix or not)
/// has no use for a small one.
const DIFFERENCE_FRAC: f64 = 0.1;
/// Damping at which a search gives up.
const MOST_DAMPING: f64 = 1e4;

/// A damped Gauss-Newton search (Levenberg 1944, Marquardt 1963) in rounds.
///
/// Minimises `weight * sum r^2 / 2 + sum ((p - mean) / spread)^2 / 2`. Each round it asks for a point and, around it, one
/// step along each parameter, so that a point that is accepted has its Jacobian at once.
#[derive(Debug, Clone)]
pub struct MapRounds {
    prior: Prior,
    weight: f64,
    tolerance: f64,
    trial: Vec<f64>,
    best: Option<Best>,
    damping: f64,
    rounds: usize,
    done: bool,
}

#[derive(Debug, Clone)]
struct Best {
    at: Vec<f64>,
    cost: f64,
    curvature: DMatrix<f64>,
    gradient: DVector<f64>,
}

impl MapRounds {
    /// A search that begins at the prior's mean. `weight` and `tolerance` as in [`super::map_fit::Search`]. `None` where the
    /// prior's shape is faulty.
    pub fn new(prior: Prior, weight: f64, tolerance: f64) -> Option<MapRounds> {
        let shaped = !prior.mean.is_empty()
            && prior.mean.len() == prior.spread.len()
            && prior.spread.iter().all(|s| *s > 0.0);
        shaped.then(|| MapRounds {
            trial: prior.mean.clone(),
            prior,
            weight,
            tolerance,
            best: None,
            damping: 1e-2,
            rounds: 0,
            done: false,
        })
    }

    /// The points that this round wants: one, and one more for each parameter. Shape `[1 + parameter][parameter]`.
    pub fn ask(&self) -> Vec<Vec<f64>> {
        let count = self.trial.len();
        (0..=count)
            .map(|k| {
                let mut point = self.trial.clone();
                if let Some(k) = k.checked_sub(1) {
                    point[k] += DIFFERENCE_FRAC * self.prior.spread[k];
                }
                point
            })
            .collect()
    }

    /// The point alone, for a search that is told slopes with [`MapRounds::tell_with`].
    pub fn trial(&self) -> &[f64] {
        &self.trial
    }

    /// Takes the residuals of the points of [`MapRounds::ask`], in their order and all of one length; returns the slopes that
    /// they make, shape `[residual][parameter]`. `None` of another number of points.
    pub fn tell(&mut self, residuals: &[Vec<f64>]) -> Option<DMatrix<f64>> {
        if residuals.len() != self.trial.len() + 1 {
            return None;
        }
        let here = &residuals[0];
        let slopes = DMatrix::from_fn(here.len(), self.trial.len(), |row, k| {
            let slope = (residuals[k + 1][row] - here[row]) / (DIFFERENCE_FRAC * self.prior.spread[k]);
            if slope.is_finite() { slope } else { 0.0 }
        });
        self.tell_with(here, &slopes);
        Some(slopes)
    }

    /// Takes the residuals of the point of [`MapRounds::trial`], with slopes from wherever they are known well enough: a neighbour's
    /// turn the path a little and, where residuals stay large, its end.
    pub fn tell_with(&mut self, residuals: &[f64], slopes: &DMatrix<f64>) {
        if self.done || slopes.shape() != (residuals.len(), self.trial.len()) {
            return;
        }
        self.rounds += 1;
        let cost = self.cost(residuals);
        let before = self.best.as_ref().map_or(f64::INFINITY, |best| best.cost);
        if cost <= before {
            let (curvature, gradient) = self.normal_equations(residuals, slopes);
            self.done = before - cost <= self.tolerance * cost;
            self.best = Some(Best {
                at: self.trial.clone(),
                cost,
                curvature,
                gradient,
            });
            self.damping = (self.damping * 0.1).max(1e-6);
        } else {
            // Also a first point whose residuals are no numbers.
            self.damping *= 10.0;
            self.done = self.damping > MOST_DAMPING;
        }
        self.next();
    }

    fn next(&mut self) {
        let Some(best) = &self.best else {
            self.done = true;
            return;
        };
        let mut damped = best.curvature.clone();
        for k in 0..damped.nrows() {
            damped[(k, k)] *= 1.0 + self.damping;
        }
        match Cholesky::new(damped) {
            Some(root) => {
                let step = root.solve(&best.gradient);
                self.trial = best.at.iter().zip(step.iter()).map(|(p, s)| p - s).collect();
            }
            None => self.done = true,
        }
    }

    /// Whether another round would change nothing that matters.
    pub fn is_done(&self) -> bool {
        self.done
    }

    /// The best point told of so far, with its Laplace covariance. `None` before a point with residuals that are numbers.
    pub fn found(&self) -> Option<MapFit> {
        let best = self.best.as_ref()?;
        Some(MapFit {
            at: best.at.clone(),
            covariance: Cholesky::new(best.curvature.clone())?.inverse(),
            cost: best.cost,
            steps: self.rounds,
            converged: self.done,
        })
    }

    fn cost(&self, residual: &[f64]) -> f64 {
        let misfit: f64 = residual.iter().map(|r| r * r).sum();
        let away: f64 = self
            .trial
            .iter()
            .zip(self.prior.mean.iter().zip(&self.prior.spread))
            .map(|(p, (mean, spread))| ((p - mean) / spread).powi(2))
            .sum();
        0.5 * (self.weight * misfit + away)
    }

    fn normal_equations(&self, residuals: &[f64], slopes: &DMatrix<f64>) -> (DMatrix<f64>, DVector<f64>) {
        let mut curvature = slopes.tr_mul(slopes) * self.weight;
        let mut gradient = slopes.tr_mul(&DVector::from_column_slice(residuals)) * self.weight;
        for k in 0..self.trial.len() {
            let precision = 1.0 / (self.prior.spread[k] * self.prior.spread[k]);
            curvature[(k, k)] += precision;
            gradient[k] += precision * (self.trial[k] - self.prior.mean[k]);
        }
        (curvature, gradient)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::map_fit::{Search, fit_map};

    /// A curve with two parameters, y = a exp(-b x), at x = 0, 1, 2, 3 with noise of our own invention.
    fn residuals(p: &[f64]) -> Vec<f64> {
        let seen = [2.05, 1.18, 0.77, 0.42];
        seen.iter()
            .enumerate()
            .map(|(x, y)| p[0] * (-p[1] * x as f64).exp() - y)
            .collect()
    }

    #[test]
    fn rounds_come_to_where_the_search_with_small_differences_does() {
        let prior = Prior {
            mean: vec![1.0, 0.2],
            spread: vec![1.0, 0.5],
        };
        let weight = 100.0;
        let mut rounds = MapRounds::new(prior.clone(), weight, 1e-12).unwrap();
        while !rounds.is_done() {
            let told: Vec<Vec<f64>> = rounds.ask().iter().map(|p| residuals(p)).collect();
            rounds.tell(&told).unwrap();
        }
        let found = rounds.found().unwrap();
        let search = Search {
            weight,
            steps: 100,
            tolerance: 1e-14,
        };
        // The second implementation: fit_map, with differences a hundred times as small.
        let other = fit_map(&prior, search, |p, into| *into = residuals(p)).unwrap();
        for k in 0..2 {
            // Coarse differences bend the path, and the end of it by little.
            assert!((found.at[k] - other.at[k]).abs() < 2e-3, "{found:?} {other:?}");
        }
    }

    #[test]
    fn slopes_of_a_neighbour_lead_to_nearly_the_same_end() {
        let prior = Prior {
            mean: vec![1.0, 0.2],
            spread: vec![1.0, 0.5],
        };
        let mut whole = MapRounds::new(prior.clone(), 100.0, 1e-12).unwrap();
        let mut beside = MapRounds::new(prior, 100.0, 1e-12).unwrap();
        let mut slopes = None;
        while !whole.is_done() || !beside.is_done() {
            if !whole.is_done() {
                let told: Vec<Vec<f64>> = whole.ask().iter().map(|p| residuals(p)).collect();
                slopes = whole.tell(&told);
            }
            beside.tell_with(&residuals(beside.trial()), slopes.as_ref().unwrap());
        }
        let (a, b) = (whole.found().unwrap().at, beside.found().unwrap().at);
        // The same residuals, so the same end but for the path: 2e-3 as above.
        assert!(
            (a[0] - b[0]).abs() < 2e-3 && (a[1] - b[1]).abs() < 2e-3,
            "{a:?} {b:?}"
        );
    }

    #[test]
    fn without_residuals_the_answer_is_the_prior() {
        let prior = Prior {
            mean: vec![0.3],
            spread: vec![0.2],
        };
        let mut rounds = MapRounds::new(prior, 1.0, 1e-6).unwrap();
        for _ in 0..3 {
            let told = vec![Vec::new(); rounds.ask().len()];
            rounds.tell(&told).unwrap();
        }
        let found = rounds.found().unwrap();
        assert_eq!(found.at, [0.3]);
        assert!((found.covariance[(0, 0)] - 0.04).abs() < 1e-15);
    }

    #[test]
    fn residuals_that_are_no_numbers_end_the_search_without_an_answer() {
        let prior = Prior {
            mean: vec![0.3],
            spread: vec![0.2],
        };
        let mut rounds = MapRounds::new(prior, 1.0, 1e-6).unwrap();
        rounds.tell(&[vec![f64::NAN], vec![1.0]]).unwrap();
        assert!(rounds.is_done() && rounds.found().is_none());
    }
}
