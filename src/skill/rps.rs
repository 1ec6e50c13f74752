//! The ranked probability score of ordered categories.

use super::SkillError;
use super::checks::distribution;

/// Ranked probability score `RPS = sum_k (F_k - O_k)^2` of ordered categories, where `F_k` is the forecast's
/// probability of category `k` or lower and `O_k` is 1 from the category that happened on; from 0 (perfect)
/// to the number of categories less 1, no unit.
///
/// `category` counts from 0. Source: Epstein 1969, in Murphy's form; not divided by the number of categories
/// less 1, as some do: compare only scores with equal categories.
///
/// # Errors
/// [`SkillError`] when the probabilities do not add up to 1 (to within 1e-6), one is outside 0 to 1, or there
/// is no such category.
pub fn ranked_probability_score(category_prob: &[f64], category: usize) -> Result<f64, SkillError> {
    distribution("probabilities of categories", category_prob)?;
    if category >= category_prob.len() {
        return Err(SkillError::Lengths {
            what: "the category that happened, from 0, of so many",
            found: category,
            wanted: category_prob.len(),
        });
    }
    let (mut sum_prob, mut score) = (0.0, 0.0);
    // After the last category both are 1.
    for (k, p) in category_prob[..category_prob.len() - 1].iter().enumerate() {
        sum_prob += p;
        let happened = f64::from(u8::from(k >= category));
        score += (sum_prob - happened).powi(2);
    }
    Ok(score)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_distribution_and_no_category_is_refused() {
        for bad in [vec![], vec![0.5, 0.4], vec![1.5, -0.5], vec![f64::NAN, 1.0]] {
            assert!(ranked_probability_score(&bad, 0).is_err(), "{bad:?}");
        }
        assert!(matches!(
            ranked_probability_score(&[0.5, 0.5], 2),
            Err(SkillError::Lengths { .. })
        ));
    }

    #[test]
    fn a_miss_by_two_costs_more_than_a_miss_by_one() {
        let miss = |category| ranked_probability_score(&[1.0, 0.0, 0.0], category).unwrap();
        assert_eq!([miss(0), miss(1), miss(2)], [0.0, 1.0, 2.0]);
    }
}
