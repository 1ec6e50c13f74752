//! How far two sets of shares agree.

use crate::skill::SkillError;
use crate::skill::checks::{at_least, distribution, finite, same_length};

/// Total variation distance of two distributions: half the sum of the sizes of their differences; 0 where they are alike, 1 where
/// they share nothing. It is the part of the fish that would have to move.
///
/// # Errors
/// [`SkillError`] when either does not add up to 1 (to within 1e-6) or their lengths differ.
pub fn total_variation(a_prob: &[f64], b_prob: &[f64]) -> Result<f64, SkillError> {
    distribution("shares by area", a_prob)?;
    distribution("shares by area", b_prob)?;
    same_length("shares by area", b_prob.len(), a_prob.len())?;
    Ok(0.5 * a_prob.iter().zip(b_prob).map(|(a, b)| (a - b).abs()).sum::<f64>())
}

/// Rank correlation of pairs: the correlation of their ranks, equal values with the mean of their ranks. Source: Spearman 1904.
///
/// # Errors
/// [`SkillError`] with fewer than three pairs, unequal lengths, a value that is not finite, or values that are all equal.
pub fn rank_correlation(observed: &[f64], modelled: &[f64]) -> Result<f64, SkillError> {
    at_least("pairs to rank", observed.len(), 3)?;
    same_length("pairs to rank", modelled.len(), observed.len())?;
    finite("pairs to rank", observed)?;
    finite("pairs to rank", modelled)?;
    let (a, b) = (mid_ranks(observed), mid_ranks(modelled));
    let middle = 0.5 * (a.len() as f64 + 1.0);
    let product = |x: &[f64], y: &[f64]| {
        x.iter()
            .zip(y)
            .map(|(x, y)| (x - middle) * (y - middle))
            .sum::<f64>()
    };
    let spread = product(&a, &a) * product(&b, &b);
    if spread > 0.0 {
        return Ok(product(&a, &b) / spread.sqrt());
    }
    Err(SkillError::Undefined {
        what: "a rank correlation",
        wanted: "values that differ",
    })
}

fn mid_ranks(values: &[f64]) -> Vec<f64> {
    let rank = |v: f64| {
        let below = values.iter().filter(|x| **x < v).count();
        let equal = values.iter().filter(|x| **x == v).count();
        below as f64 + 0.5 * (equal as f64 + 1.0)
    };
    values.iter().map(|v| rank(*v)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_distance_is_what_would_have_to_move() {
        // By hand: 0.2 of the fish go from the first to the others.
        assert!((total_variation(&[0.5, 0.3, 0.2], &[0.3, 0.4, 0.3]).unwrap() - 0.2).abs() < 1e-12);
        assert_eq!(total_variation(&[1.0, 0.0], &[0.0, 1.0]).unwrap(), 1.0);
        assert!(total_variation(&[0.5, 0.4], &[0.5, 0.5]).is_err());
        assert!(matches!(
            total_variation(&[1.0], &[0.5, 0.5]),
            Err(SkillError::Lengths { .. })
        ));
    }

    #[test]
    fn ranks_with_ties_are_those_of_another_program() {
        // scipy 1.17.1 spearmanr([1, 2, 2, 4, 5], [3, 1, 2, 5, 5]): 0.6315789473684211
        let found = rank_correlation(&[1.0, 2.0, 2.0, 4.0, 5.0], &[3.0, 1.0, 2.0, 5.0, 5.0]).unwrap();
        assert!((found - 0.631_578_947_368_421_1).abs() < 1e-12, "{found}");
        assert!(matches!(
            rank_correlation(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0]),
            Err(SkillError::Undefined { .. })
        ));
        assert!(rank_correlation(&[1.0, 2.0], &[1.0, 2.0]).is_err());
    }
}
