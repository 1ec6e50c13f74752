//! Skill of forecasts of which there is one case a season.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::SkillError;
use super::differences::{Resampling, WeekCase, weekly_skill};
use super::reference::skill_score;

/// Resamples of whole seasons, their seed, and the confidence of the interval (project choices).
const BY_SEASON: Resampling = Resampling {
    block: 1,
    resamples: 2000,
    seed: 1,
    confidence_frac: 0.9,
};
/// Fewest seasons of an interval (project choice).
const LEAST_SEASONS: usize = 5;

/// Skill of the CRPS with its interval of 90 % over resampled seasons.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Skill {
    /// 1 less the ratio of the mean scores.
    pub skill_frac: f64,
    /// 5 %; `None` of fewer than five seasons, or where the reference has no error in a resample.
    pub low: Option<f64>,
    /// 95 %.
    pub high: Option<f64>,
}

impl Skill {
    /// Whether its interval lies above 0: skill is shown.
    pub fn is_shown(self) -> bool {
        self.low.is_some_and(|low| low > 0.0)
    }
}

/// Skill of `(score, reference)` of each season, with the percentiles of its value over seasons drawn with replacement (Efron 1979): a season is
/// a block of its own. `None` where the reference has no error, or without seasons.
///
/// # Errors
/// A score that is not finite.
pub fn seasons_skill(cases: &[(f64, f64)]) -> Result<Option<Skill>, SkillError> {
    let sum = |of: fn(&(f64, f64)) -> f64| cases.iter().map(of).sum::<f64>();
    let skill_frac = match skill_score(sum(|c| c.0), sum(|c| c.1)) {
        Ok(skill_frac) => skill_frac,
        Err(SkillError::Undefined { .. }) => return Ok(None),
        Err(error) => return Err(error),
    };
    let of_season = |(season, (score, reference)): (i64, &(f64, f64))| WeekCase {
        week: season,
        score: *score,
        reference: *reference,
    };
    let blocks: Vec<WeekCase> = (0..).zip(cases).map(of_season).collect();
    let ends = match weekly_skill(&blocks, BY_SEASON) {
        Ok((_, ends)) => Some(ends).filter(|_| cases.len() >= LEAST_SEASONS),
        // A resample of seasons in which the reference has no error, or one season alone.
        Err(SkillError::Undefined { .. } | SkillError::TooFew { .. }) => None,
        Err(error) => return Err(error),
    };
    Ok(Some(Skill {
        skill_frac,
        low: ends.map(|ends| ends.low),
        high: ends.map(|ends| ends.high),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn skill(own_days: &[f64], reference_days: &[f64]) -> Option<Skill> {
        let cases: Vec<(f64, f64)> = own_days
            .iter()
            .copied()
            .zip(reference_days.iter().copied())
            .collect();
        seasons_skill(&cases).unwrap()
    }

    #[test]
    fn half_the_error_in_every_year_is_a_skill_of_a_half_without_doubt() {
        let found = skill(&[1.0, 2.0, 0.5, 3.0, 1.5], &[2.0, 4.0, 1.0, 6.0, 3.0]).unwrap();
        assert_eq!(
            (found.skill_frac, found.low, found.high),
            (0.5, Some(0.5), Some(0.5))
        );
        assert!(found.is_shown());
        assert_eq!(skill(&[1.0; 5], &[0.0; 5]), None);
        assert_eq!(skill(&[], &[]), None);
        let four = skill(&[1.0; 4], &[2.0; 4]).unwrap();
        assert!(four.low.is_none() && !four.is_shown());
        // A resample may draw years without an error of the reference alone.
        assert_eq!(skill(&[1.0; 5], &[0.0, 0.0, 0.0, 0.0, 5.0]).unwrap().low, None);
        assert!(seasons_skill(&[(f64::NAN, 1.0)]).is_err());
    }
}
