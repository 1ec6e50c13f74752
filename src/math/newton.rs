//! The top of a smooth hill: damped Newton steps, and the Laplace covariance there.

use nalgebra::{Cholesky, DMatrix, DVector};

/// Largest move of any parameter in one step.
const STEP_CAP: f64 = 2.0;
/// A step whose largest move is below this ends the search.
const STEP_END: f64 = 1e-10;
/// A sum of many terms may fall by this part of its size from rounding alone.
const ROUNDING: f64 = 1e-13;

/// A function to be made as large as can be.
pub trait Hill {
    /// Its value at a point; minus infinity where it has none.
    fn value(&mut self, at: &[f64]) -> f64;

    /// Its gradient, and its curvature: the Hessian with the sign turned.
    fn slopes(&mut self, at: &[f64]) -> (DVector<f64>, DMatrix<f64>);
}

/// The top that a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Top {
    /// Where it is. Shape `[parameter]`.
    pub at: Vec<f64>,
    /// Value there.
    pub value: f64,
    /// Curvature there: the Hessian with the sign turned.
    pub curvature: DMatrix<f64>,
    /// Steps made.
    pub steps: usize,
    /// Whether the last step was below 1e-10, or every part of it down to that led downhill.
    pub converged: bool,
}

impl Top {
    /// Laplace covariance: the inverse of the curvature; `None` where that is not positive definite.
    pub fn covariance(&self) -> Option<DMatrix<f64>> {
        Cholesky::new(self.curvature.clone()).map(|root| root.inverse())
    }
}

/// Climbs from `start` by damped Newton steps: each step solves `curvature * step = gradient`, is scaled down so that no
/// parameter moves by more than 2, and halved until the value does not fall. Ends when the largest move is below
/// 1e-10, or after `most_steps`.
///
/// Where the curvature is not positive definite a growing ridge is added to it, so that every step leads uphill. `None`
/// when the value at the start is not finite, or a gradient is not. Source: Newton's method with halving, Nocedal &
/// Wright 2006 (from memory); cap and end from the science reference of this project.
pub fn climb(start: &[f64], hill: &mut impl Hill, most_steps: usize) -> Option<Top> {
    climb_to(start, hill, most_steps, STEP_END)
}

/// As [`climb`], but ends when the largest move is below `step_end`: for a height alone, which misses by the square of the last step.
pub fn climb_to(start: &[f64], hill: &mut impl Hill, most_steps: usize, step_end: f64) -> Option<Top> {
    let mut at = DVector::from_column_slice(start);
    let mut value = hill.value(at.as_slice());
    if !value.is_finite() {
        return None;
    }
    let mut steps = 0;
    loop {
        let (gradient, curvature) = hill.slopes(at.as_slice());
        if gradient.iter().chain(curvature.iter()).any(|x| !x.is_finite()) {
            return None;
        }
        let mut step = uphill(&gradient, &curvature)?;
        let largest = step.amax();
        if largest > STEP_CAP {
            step *= STEP_CAP / largest;
        }
        let mut moved = false;
        while steps < most_steps && step.amax() >= step_end {
            let there = &at + &step;
            let new = hill.value(there.as_slice());
            if new.is_finite() && new >= value - ROUNDING * (1.0 + value.abs()) {
                (at, value, moved) = (there, new, true);
                break;
            }
            step *= 0.5;
        }
        if !moved {
            return Some(Top {
                at: at.as_slice().to_vec(),
                value,
                curvature,
                steps,
                converged: step.amax() < step_end,
            });
        }
        steps += 1;
    }
}

/// The Newton step, with a ridge where the curvature is not positive definite.
fn uphill(gradient: &DVector<f64>, curvature: &DMatrix<f64>) -> Option<DVector<f64>> {
    if gradient.is_empty() {
        return Some(gradient.clone());
    }
    let mut ridge = 0.0;
    let least = 1e-6 * (1.0 + curvature.diagonal().amax());
    loop {
        let mut lifted = curvature.clone();
        for i in 0..lifted.nrows() {
            lifted[(i, i)] += ridge;
        }
        if let Some(root) = Cholesky::new(lifted) {
            return Some(root.solve(gradient));
        }
        ridge = if ridge == 0.0 { least } else { ridge * 10.0 };
        if !ridge.is_finite() {
            return None;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// -(x - 3)^4 - 2 (y + 1)^2, with its top at (3, -1).
    struct Quartic;

    impl Hill for Quartic {
        fn value(&mut self, at: &[f64]) -> f64 {
            -(at[0] - 3.0).powi(4) - 2.0 * (at[1] + 1.0).powi(2)
        }

        fn slopes(&mut self, at: &[f64]) -> (DVector<f64>, DMatrix<f64>) {
            let gradient = vec![-4.0 * (at[0] - 3.0).powi(3), -4.0 * (at[1] + 1.0)];
            let curvature = vec![12.0 * (at[0] - 3.0).powi(2), 4.0];
            (
                DVector::from_vec(gradient),
                DMatrix::from_diagonal(&DVector::from_vec(curvature)),
            )
        }
    }

    /// -ln(1 + x^2): its curvature is negative beyond 1, where a bare Newton step runs away.
    struct Cauchy;

    impl Hill for Cauchy {
        fn value(&mut self, at: &[f64]) -> f64 {
            -(1.0 + at[0] * at[0]).ln()
        }

        fn slopes(&mut self, at: &[f64]) -> (DVector<f64>, DMatrix<f64>) {
            let x2 = at[0] * at[0];
            let gradient = -2.0 * at[0] / (1.0 + x2);
            let curvature = 2.0 * (1.0 - x2) / (1.0 + x2).powi(2);
            (
                DVector::from_vec(vec![gradient]),
                DMatrix::from_element(1, 1, curvature),
            )
        }
    }

    #[test]
    fn the_top_of_a_quartic_is_found_from_afar() {
        let top = climb(&[40.0, 9.0], &mut Quartic, 500).unwrap();
        // A quartic is flat at its top: steps of a third of what is left end within 3e-10 of it.
        assert!(
            (top.at[0] - 3.0).abs() < 1e-9 && (top.at[1] + 1.0).abs() < 1e-12,
            "{top:?}"
        );
        assert!(top.converged);
        // Steps are capped at 2: 37 takes more than 18.
        assert!(top.steps > 18, "{}", top.steps);
    }

    #[test]
    fn a_place_that_curves_the_wrong_way_is_climbed_too() {
        let top = climb(&[5.0], &mut Cauchy, 200).unwrap();
        assert!(top.converged && top.at[0].abs() < 1e-9, "{top:?}");
        // By hand: curvature 2 at the top.
        assert!((top.covariance().unwrap()[(0, 0)] - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_search_cut_short_says_so_and_one_without_a_start_gives_nothing() {
        assert!(!climb(&[40.0, 9.0], &mut Quartic, 3).unwrap().converged);
        assert_eq!(climb(&[f64::NAN], &mut Cauchy, 9), None);
    }

    #[test]
    fn nothing_to_find_is_found_at_once() {
        struct Nothing;
        impl Hill for Nothing {
            fn value(&mut self, _: &[f64]) -> f64 {
                0.0
            }
            fn slopes(&mut self, _: &[f64]) -> (DVector<f64>, DMatrix<f64>) {
                (DVector::zeros(0), DMatrix::zeros(0, 0))
            }
        }
        assert!(climb(&[], &mut Nothing, 9).unwrap().converged);
    }
}
