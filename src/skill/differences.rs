//! Two forecasts compared case by case: is the difference of their scores more than chance?

use std::collections::BTreeMap;

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::SkillError;
use super::checks::{at_least, finite};
use super::intervals::{Interval, confidence};
use super::reference::skill_score;
use crate::math::quantiles::quantiles;
use crate::math::streams::{stream, uniform};

/// Mean difference of paired scores and Student's test of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairedTest {
    /// Mean difference, in the unit of the score; which forecast it favours follows from the order in which
    /// the caller subtracted.
    pub mean: f64,
    /// `t = mean / (s / sqrt(n))`, with `s` the standard deviation of the differences (divided by `n - 1`).
    pub t: f64,
    /// Probability of a `t` as far from 0, either way, without a true difference: `n - 1` degrees of freedom.
    pub chance_prob: f64,
}

/// Paired t test of score differences of independent cases, two-sided.
///
/// Source: Student 1908. Daily forecasts are not independent: for them use [`block_bootstrap`].
///
/// # Errors
/// [`SkillError`] with fewer than two differences or one that is not finite; [`SkillError::Undefined`] when
/// all are equal.
pub fn paired_test(differences: &[f64]) -> Result<PairedTest, SkillError> {
    at_least("paired differences", differences.len(), 2)?;
    finite("paired differences", differences)?;
    let undefined = SkillError::Undefined {
        what: "a paired test",
        wanted: "differences that are not all equal",
    };
    let count = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / count;
    let variance = differences.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (count - 1.0);
    if differences.iter().all(|d| *d == differences[0]) || variance == 0.0 {
        return Err(undefined);
    }
    let t = mean / (variance / count).sqrt();
    let student = StudentsT::new(0.0, 1.0, count - 1.0).map_err(|_| undefined)?;
    Ok(PairedTest {
        mean,
        t,
        chance_prob: 2.0 * student.sf(t.abs()),
    })
}

/// How to resample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resampling {
    /// Length of a block, in cases: 7 for daily forecasts, 1 for one case a season (project choice).
    pub block: usize,
    /// Number of resamples: 2000 (project choice).
    pub resamples: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Confidence of the interval.
    pub confidence_frac: f64,
}

/// Percentile interval of the mean of score differences that stand in the order of time.
///
/// Each resample lines up blocks of `block` neighbours, begun anywhere with equal chance, cuts the last one
/// to the number of cases, and takes the mean; so that cases keep their dependence over a block.
/// Quantiles of type 7. Source: Künsch 1989 (moving blocks); Efron 1979 (percentiles).
///
/// # Errors
/// [`SkillError`] with a difference that is not finite, no block, fewer than two blocks' worth of cases, fewer
/// than 100 resamples, or a confidence that is not between 0 and 1.
pub fn block_bootstrap(differences: &[f64], how: Resampling) -> Result<Interval, SkillError> {
    at_least("cases in a block", how.block, 1)?;
    at_least(
        "paired differences",
        differences.len(),
        how.block.saturating_mul(2),
    )?;
    finite("paired differences", differences)?;
    at_least("resamples", how.resamples, 100)?;
    confidence(how.confidence_frac)?;
    let count = differences.len();
    let starts = (count - how.block + 1) as f64;
    let mut chance = stream(how.seed, "skill/blocks");
    let means: Vec<f64> = (0..how.resamples)
        .map(|_| {
            let (mut sum, mut taken) = (0.0, 0);
            while taken < count {
                let begin = (uniform(&mut chance) * starts) as usize;
                let length = how.block.min(count - taken);
                sum += differences[begin..begin + length].iter().sum::<f64>();
                taken += length;
            }
            sum / count as f64
        })
        .collect();
    let tail_prob = 0.5 - 0.5 * how.confidence_frac;
    let [low, high] = quantiles(&means, [tail_prob, 1.0 - tail_prob]).ok_or(SkillError::Undefined {
        what: "an interval of resampled means",
        wanted: "means that are numbers",
    })?;
    Ok(Interval { low, high })
}

/// One case of a forecast and its reference, and the week that it belongs to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekCase {
    /// Number of the week, in any count that goes up by one a week.
    pub week: i64,
    /// Score of the forecast.
    pub score: f64,
    /// Score of the reference.
    pub reference: f64,
}

/// Skill over all cases, `1 - sum S / sum S_ref`, with its percentile interval from whole weeks drawn with replacement, so that what hangs
/// together within a week stays together.
///
/// Quantiles of type 7. Source: Künsch 1989 (blocks; here they do not overlap, because days may be missing); Efron 1979. What hangs
/// together over more than a week, as forecasts of ten days do, makes it too narrow.
///
/// # Errors
/// [`SkillError`] with a score that is not finite, fewer than two weeks, fewer than 100 resamples, or a confidence that is not between 0
/// and 1; [`SkillError::Undefined`] where the reference has no error.
pub fn weekly_skill(cases: &[WeekCase], how: Resampling) -> Result<(f64, Interval), SkillError> {
    let column = |of: fn(&WeekCase) -> f64| cases.iter().map(of).collect::<Vec<f64>>();
    finite("scores", &column(|c| c.score))?;
    finite("scores of a reference", &column(|c| c.reference))?;
    at_least("resamples", how.resamples, 100)?;
    confidence(how.confidence_frac)?;
    let mut weeks: BTreeMap<i64, (f64, f64)> = BTreeMap::new();
    for case in cases {
        let sums = weeks.entry(case.week).or_default();
        *sums = (sums.0 + case.score, sums.1 + case.reference);
    }
    let weeks: Vec<(f64, f64)> = weeks.into_values().collect();
    at_least("weeks with a case", weeks.len(), 2)?;
    let add = |all: (f64, f64), one: (f64, f64)| (all.0 + one.0, all.1 + one.1);
    let skill_of = |(score, reference): (f64, f64)| skill_score(score, reference);
    let whole = skill_of(weeks.iter().copied().fold((0.0, 0.0), add))?;
    let mut chance = stream(how.seed, "skill/weeks");
    let skills = (0..how.resamples).map(|_| {
        let drawn = (0..weeks.len()).map(|_| weeks[(uniform(&mut chance) * weeks.len() as f64) as usize]);
        skill_of(drawn.fold((0.0, 0.0), add))
    });
    let skills: Vec<f64> = skills.collect::<Result<_, _>>()?;
    let tail_prob = 0.5 - 0.5 * how.confidence_frac;
    let [low, high] = quantiles(&skills, [tail_prob, 1.0 - tail_prob]).ok_or(SkillError::Undefined {
        what: "an interval of resampled skills",
        wanted: "skills that are numbers",
    })?;
    Ok((whole, Interval { low, high }))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOW: Resampling = Resampling {
        block: 7,
        resamples: 2000,
        seed: 1,
        confidence_frac: 0.9,
    };

    #[test]
    fn what_cannot_be_compared_is_refused() {
        assert!(matches!(paired_test(&[1.0]), Err(SkillError::TooFew { .. })));
        assert!(matches!(
            paired_test(&[0.1, 0.1, 0.1]),
            Err(SkillError::Undefined { .. })
        ));
        assert!(matches!(
            paired_test(&[1.0, f64::NAN]),
            Err(SkillError::Value { place: 1, .. })
        ));
        let days = vec![0.5; 20];
        assert!(block_bootstrap(&days[..13], HOW).is_err());
        assert!(block_bootstrap(&days, Resampling { block: 0, ..HOW }).is_err());
        assert!(block_bootstrap(&days, Resampling { resamples: 99, ..HOW }).is_err());
        let bad = Resampling {
            confidence_frac: 90.0,
            ..HOW
        };
        assert!(matches!(
            block_bootstrap(&days, bad),
            Err(SkillError::Value { .. })
        ));
    }

    #[test]
    fn equal_differences_leave_no_doubt() {
        let interval = block_bootstrap(&[0.5; 20], HOW).unwrap();
        assert_eq!((interval.low, interval.high), (0.5, 0.5));
    }
}
