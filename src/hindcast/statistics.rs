//! Error figures of a list of differences.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::math::quantiles::quantile_of_sorted;

/// Error figures, all in the unit of what is compared. Differences are modelled less observed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ErrorFigures {
    /// Number of points, all of the same weight.
    pub n: usize,
    /// Root of the mean square difference.
    pub rmse: f64,
    /// Mean difference: positive where the model is too high.
    pub bias: f64,
    /// Mean size of a difference.
    pub mean_absolute: f64,
    /// Half of the differences are no larger.
    pub absolute_50: f64,
    /// Three quarters are no larger.
    pub absolute_75: f64,
    /// Nine in ten are no larger.
    pub absolute_90: f64,
    /// 95 % are no larger.
    pub absolute_95: f64,
    /// The largest.
    pub absolute_max: f64,
}

/// Error figures of `differences`; quantiles of type 7. `None` when there are none, or one is not finite.
pub fn error_figures(differences: &[f64]) -> Option<ErrorFigures> {
    if differences.is_empty() || differences.iter().any(|d| !d.is_finite()) {
        return None;
    }
    let count = differences.len() as f64;
    let mut sizes: Vec<f64> = differences.iter().map(|d| d.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let at = |prob: f64| quantile_of_sorted(&sizes, prob);
    Some(ErrorFigures {
        n: differences.len(),
        rmse: (differences.iter().map(|d| d * d).sum::<f64>() / count).sqrt(),
        bias: differences.iter().sum::<f64>() / count,
        mean_absolute: sizes.iter().sum::<f64>() / count,
        absolute_50: at(0.5)?,
        absolute_75: at(0.75)?,
        absolute_90: at(0.9)?,
        absolute_95: at(0.95)?,
        absolute_max: at(1.0)?,
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn figures_of_four_differences_by_hand() {
        let found = error_figures(&[1.0, -1.0, 3.0, -5.0]).unwrap();
        // Squares 1 + 1 + 9 + 25 = 36, over 4 = 9, root 3; sum -2 over 4; sizes 1, 1, 3, 5: mean 2.5, median 2,
        // three quarters at place 2.25: 3 + 0.25 * 2 = 3.5.
        assert_eq!((found.n, found.rmse, found.bias), (4, 3.0, -0.5));
        assert_eq!((found.mean_absolute, found.absolute_50), (2.5, 2.0));
        assert_eq!((found.absolute_75, found.absolute_max), (3.5, 5.0));
    }

    #[test]
    fn nothing_has_no_figures() {
        assert_eq!(error_figures(&[]), None);
        assert_eq!(error_figures(&[1.0, f64::NAN]), None);
    }

    proptest! {
        #[test]
        fn the_figures_keep_their_order(d in prop::collection::vec(-20.0f64..20.0, 1..80)) {
            let f = error_figures(&d).unwrap();
            // Rounding of sums of up to 80 terms.
            prop_assert!(f.bias.abs() <= f.mean_absolute + 1e-9 && f.mean_absolute <= f.rmse + 1e-9);
            prop_assert!(f.rmse <= f.absolute_max + 1e-9);
            let ladder = [f.absolute_50, f.absolute_75, f.absolute_90, f.absolute_95, f.absolute_max];
            prop_assert!(ladder.windows(2).all(|w| w[0] <= w[1]));
        }

        #[test]
        fn a_model_that_is_always_right_has_no_error(n in 1usize..50) {
            prop_assert_eq!(error_figures(&vec![0.0; n]).unwrap().rmse, 0.0);
        }
    }
}
