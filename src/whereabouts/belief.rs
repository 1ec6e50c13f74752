//! What is believed of the coefficients of a species: the rules, or what trips have made of them.

use nalgebra::{Cholesky, DMatrix};

use crate::species::Species;

/// Means and joint spread of the coefficients of a species: those of its rules, in the order of its file, then those of its
/// terms of catchability.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    rules: usize,
    mean: Vec<f64>,
    /// Standard deviations of the rules.
    prior_sd: Vec<f64>,
    /// Lower root of the covariance in units of `prior_sd`; none where the coefficients are independent with just these.
    root: Option<DMatrix<f64>>,
}

impl Belief {
    /// The rules of the species file: independent coefficients with its means and standard deviations.
    pub fn rules(species: &Species) -> Belief {
        let rules = species.rules.iter().map(|r| (r.mean, r.sd));
        let terms = species.catchability.iter().map(|c| (c.mean, c.sd));
        let (mean, prior_sd) = rules.chain(terms).unzip();
        Belief {
            rules: species.rules.len(),
            mean,
            prior_sd,
            root: None,
        }
    }

    /// A posterior: by how many prior standard deviations each mean has moved, and the covariance in their units.
    ///
    /// Without a move and with the identity for covariance it gives the draws of the rules to the bit. `None` where the shape
    /// is not that of the species, or the covariance is not positive definite.
    pub fn learned(species: &Species, moved_sd: &[f64], covariance: &DMatrix<f64>) -> Option<Belief> {
        let prior = Belief::rules(species);
        let count = prior.mean.len();
        if moved_sd.len() != count || covariance.shape() != (count, count) {
            return None;
        }
        let root = Cholesky::new(covariance.clone())?.l();
        let mean = (prior.mean.iter().zip(&prior.prior_sd).zip(moved_sd)).map(|((m, s), z)| m + s * z);
        Some(Belief {
            mean: mean.collect(),
            root: Some(root),
            ..prior
        })
    }

    /// Mean of the coefficient of rule `row`.
    pub fn mean(&self, row: usize) -> f64 {
        self.mean[row]
    }

    /// Its standard deviation.
    pub fn sd(&self, row: usize) -> f64 {
        match &self.root {
            None => self.prior_sd[row],
            Some(root) => self.prior_sd[row] * root.row(row).norm(),
        }
    }

    /// Covariance of the coefficients of two rules.
    pub fn covariance(&self, a: usize, b: usize) -> f64 {
        match &self.root {
            None if a == b => self.prior_sd[a] * self.prior_sd[a],
            None => 0.0,
            Some(root) => self.prior_sd[a] * self.prior_sd[b] * root.row(a).dot(&root.row(b)),
        }
    }

    /// Place of the term of catchability `row` among all coefficients, for the functions above.
    pub fn catch_row(&self, row: usize) -> usize {
        self.rules + row
    }

    /// Whether the coefficients hang together, as they do once trips have moved them.
    pub fn is_joint(&self) -> bool {
        self.root.is_some()
    }

    /// Draws of the coefficients of the rules from `noise`, standard normal numbers of each rule. Shapes `[rule][draw]`.
    ///
    /// `mean + sd z` of independent coefficients, `mean + sd (L z)` of joint ones with the root `L`.
    pub fn draw_rules(&self, noise: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let of = |row: usize| {
            let (mean, sd) = (self.mean[row], self.prior_sd[row]);
            let Some(root) = &self.root else {
                return noise[row].iter().map(|z| mean + sd * z).collect();
            };
            let draw = |d: usize| (0..=row).map(|l| root[(row, l)] * noise[l][d]).sum::<f64>();
            (0..noise[row].len()).map(|d| mean + sd * draw(d)).collect()
        };
        (0..self.rules).map(of).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::species::builtin;

    #[test]
    fn a_posterior_that_moved_nothing_draws_the_rules_to_the_bit() {
        let rainbow = builtin("rainbow-trout").unwrap();
        let rules = Belief::rules(&rainbow);
        let count = rainbow.rules.len() + rainbow.catchability.len();
        let same = Belief::learned(&rainbow, &vec![0.0; count], &DMatrix::identity(count, count)).unwrap();
        let noise: Vec<Vec<f64>> = (0..rainbow.rules.len())
            .map(|r| {
                (0..7)
                    .map(|d| ((r * 31 + d * 17) % 13) as f64 * 0.377 - 2.1)
                    .collect()
            })
            .collect();
        assert_eq!(rules.draw_rules(&noise), same.draw_rules(&noise));
        for row in 0..count {
            assert_eq!((rules.mean(row), rules.sd(row)), (same.mean(row), same.sd(row)));
        }
    }

    #[test]
    fn joint_coefficients_are_drawn_with_their_covariance() {
        let rainbow = builtin("rainbow-trout").unwrap();
        let count = rainbow.rules.len() + rainbow.catchability.len();
        let mut covariance = DMatrix::identity(count, count);
        (covariance[(0, 0)], covariance[(1, 0)], covariance[(0, 1)]) = (0.25, -0.4, -0.4);
        let mut moved = vec![0.0; count];
        moved[0] = 2.0;
        let belief = Belief::learned(&rainbow, &moved, &covariance).unwrap();
        let (s0, s1) = (rainbow.rules[0].sd, rainbow.rules[1].sd);
        assert!((belief.sd(0) - 0.5 * s0).abs() < 1e-12);
        assert!((belief.covariance(0, 1) + 0.4 * s0 * s1).abs() < 1e-12);
        let mut noise = vec![vec![0.0; 1]; rainbow.rules.len()];
        noise[0][0] = 1.0;
        let drawn = belief.draw_rules(&noise);
        // By hand: the root of [[0.25, -0.4], [-0.4, 1]] is [[0.5, 0], [-0.8, 0.6]].
        assert!((drawn[0][0] - (rainbow.rules[0].mean + s0 * 2.5)).abs() < 1e-12);
        assert!((drawn[1][0] - (rainbow.rules[1].mean - 0.8 * s1)).abs() < 1e-12);
        assert_eq!(Belief::learned(&rainbow, &moved[1..], &covariance), None);
        assert_eq!(Belief::learned(&rainbow, &moved, &(-covariance)), None);
    }
}
