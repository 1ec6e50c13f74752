//! Skill: a score beside the score of something simple.

use super::SkillError;
use super::checks::finite;

/// Skill score `SS = 1 - S / S_ref` of a negatively oriented score `S` against that of a reference forecast
/// (climatology, persistence) on the same cases: 1 is perfect, 0 no better than the reference, negative
/// worse; no unit.
///
/// Source: Murphy 1973. A skill from few cases means little: compare the differences case by case
/// ([`super::differences`]) before claiming any.
///
/// # Errors
/// [`SkillError::Value`] for a score that is no finite number; [`SkillError::Undefined`] when the reference
/// is not positive: a perfect reference leaves nothing to be better than, and log scores of densities may
/// be negative.
pub fn skill_score(score: f64, reference_score: f64) -> Result<f64, SkillError> {
    finite("a mean score and its reference", &[score, reference_score])?;
    if reference_score <= 0.0 {
        return Err(SkillError::Undefined {
            what: "skill against a reference",
            wanted: "a reference with a score above 0",
        });
    }
    Ok(1.0 - score / reference_score)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_perfect_reference_leaves_no_skill_to_state() {
        assert!(matches!(skill_score(0.1, 0.0), Err(SkillError::Undefined { .. })));
        assert!(matches!(
            skill_score(f64::NAN, 1.0),
            Err(SkillError::Value { place: 0, .. })
        ));
        assert!(skill_score(0.3, 0.2).unwrap() < 0.0);
    }
}
