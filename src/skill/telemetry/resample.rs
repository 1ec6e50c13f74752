//! Intervals of shares by resampling fish.

use super::{FishDays, MONTHS};
use crate::math::quantiles::quantiles;
use crate::math::streams::{stream, uniform};
use crate::skill::SkillError;
use crate::skill::checks::at_least;
use crate::skill::intervals::{Interval, confidence};

/// How fish are resampled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FishResampling {
    /// Resamples.
    pub resamples: usize,
    /// Seed.
    pub seed: u64,
    /// Confidence of the intervals.
    pub confidence_frac: f64,
}

/// Percentile intervals of the share of each group in each month: whole fish are drawn with replacement (Efron 1979), since the
/// days of one fish hang together, and `estimate` gives the days by how often each was drawn. Shape `[month][group]`; `None` where
/// fewer than nine resamples of ten have any day in that month.
///
/// # Errors
/// [`SkillError`] with fewer than two fish or 100 resamples, a confidence that is not between 0 and 1, or an estimate that fails.
pub fn group_intervals(
    fish: usize,
    groups: &[Vec<usize>],
    how: FishResampling,
    mut estimate: impl FnMut(&[f64]) -> Result<FishDays, SkillError>,
) -> Result<Vec<Vec<Option<Interval>>>, SkillError> {
    at_least("tagged fish", fish, 2)?;
    at_least("resamples", how.resamples, 100)?;
    confidence(how.confidence_frac)?;
    let mut chance = stream(how.seed, "skill/telemetry/fish");
    let mut found: Vec<Vec<Vec<f64>>> = vec![vec![Vec::new(); groups.len()]; MONTHS];
    for _ in 0..how.resamples {
        let mut drawn = vec![0.0; fish];
        for _ in 0..fish {
            drawn[((uniform(&mut chance) * fish as f64) as usize).min(fish - 1)] += 1.0;
        }
        let days = estimate(&drawn)?;
        for (month, by_group) in found.iter_mut().enumerate() {
            for (shares, group) in by_group.iter_mut().zip(groups) {
                shares.extend(days.share(month, group));
            }
        }
    }
    let tail_prob = 0.5 - 0.5 * how.confidence_frac;
    let interval = |shares: &Vec<f64>| {
        let enough = shares.len() * 10 >= how.resamples * 9;
        let [low, high] = quantiles(shares, [tail_prob, 1.0 - tail_prob]).filter(|_| enough)?;
        Some(Interval { low, high })
    };
    Ok(found.iter().map(|m| m.iter().map(interval).collect()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_of_a_share_of_fish_is_that_of_the_binomial() {
        // Forty fish with a day each in January, ten of them in area 1: the count of a resample is binomial(40, 1/4), whose 10 and
        // 90 % quantiles are 7 and 14 (scipy 1.17.1 binom.ppf).
        let own: Vec<FishDays> = (0..40)
            .map(|i| {
                let mut days = FishDays::none(2);
                days.placed[0][usize::from(i < 10)] = 1.0;
                days
            })
            .collect();
        let how = FishResampling {
            resamples: 4000,
            seed: 1,
            confidence_frac: 0.8,
        };
        let sum = |weights: &[f64]| {
            let mut all = FishDays::none(2);
            own.iter().zip(weights).for_each(|(days, w)| all.add(days, *w));
            Ok(all)
        };
        let found = group_intervals(40, &[vec![1]], how, sum).unwrap();
        assert_eq!(
            found[0][0],
            Some(Interval {
                low: 7.0 / 40.0,
                high: 14.0 / 40.0
            })
        );
        assert_eq!(found[1][0], None, "nothing in February");
        let few = FishResampling { resamples: 99, ..how };
        assert!(matches!(
            group_intervals(40, &[vec![1]], few, sum),
            Err(SkillError::TooFew { .. })
        ));
    }
}
