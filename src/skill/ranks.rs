//! Whether an ensemble spreads as it should: ranks of what was observed, their flatness, spread over error.

use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::SkillError;
use super::checks::{at_least, same_length};
use super::crps::EnsembleCase;
use crate::math::streams::{stream, uniform};

/// Rank of each observed value among the members of its case: 1 when it is below all of `m` members, `m + 1`
/// when above all.
///
/// Where members equal the observed value, the rank is drawn at random from those that they leave open, by
/// `seed` and the place of the case, so that values at a bound (such as 0) do not heap up at one end.
/// Source: Hamill 2001.
///
/// # Errors
/// [`SkillError`] without cases, with cases of different size, or with a number that is not finite.
pub fn ranks(cases: &[EnsembleCase], seed: u64) -> Result<Vec<usize>, SkillError> {
    member_count(cases, 1)?;
    let rank_of = |(place, case): (usize, &EnsembleCase)| {
        let below = case.members.iter().filter(|x| **x < case.observed).count();
        let equal = case.members.iter().filter(|x| **x == case.observed).count();
        let mut chance = stream(seed, &format!("rank/{place}"));
        // `uniform` is below 1, so that at most `equal` is added.
        1 + below + (uniform(&mut chance) * (equal + 1) as f64) as usize
    };
    Ok(cases.iter().enumerate().map(rank_of).collect())
}

/// Place of each observed value in its ensemble as a probability: uniform on 0 to 1 when it is one like the members, whatever their number.
///
/// The rank among `m` members (ties as in [`ranks`]) is a cell of width `1/(m + 1)`; the place within it is drawn by `seed` and the place of
/// the case. So ensembles of different size can be counted together, and as many values lie between 0.1 and 0.9 as belong there.
/// Source: Hamill 2001 (ranks); Czado, Gneiting & Held 2009 (the draw within the cell).
///
/// # Errors
/// [`SkillError`] with a case without members, or a number that is not finite.
pub fn rank_places(cases: &[EnsembleCase], seed: u64) -> Result<Vec<f64>, SkillError> {
    let place_of = |(place, case): (usize, &EnsembleCase)| {
        let rank = ranks(std::slice::from_ref(case), seed.wrapping_add(place as u64))?;
        let within = uniform(&mut stream(seed, &format!("rank/within/{place}")));
        Ok((rank[0] as f64 - 1.0 + within) / (case.members.len() as f64 + 1.0))
    };
    cases.iter().enumerate().map(place_of).collect()
}

/// How far a histogram of ranks is from flat.
#[derive(Debug, Clone, PartialEq)]
pub struct Flatness {
    /// Cases of each rank, from 1.
    pub counts: Vec<usize>,
    /// `sum (n_r - n/k)^2 / (n/k)` over the `k` ranks.
    pub chi_square: f64,
    /// Probability of that much or more when every rank is equally likely: chi-square with `k - 1` degrees of
    /// freedom. Only rough under five cases a rank, and too small when cases follow each other day by day.
    pub flat_prob: f64,
}

/// Pearson's chi-square of the ranks of cases with `member_count` members, over `k = member_count + 1` ranks.
///
/// Source: Pearson 1900; for rank histograms Hamill 2001.
///
/// # Errors
/// [`SkillError`] without ranks, without members, or with a rank outside 1 to `member_count + 1`.
pub fn flatness(ranks: &[usize], member_count: usize) -> Result<Flatness, SkillError> {
    at_least("ranks", ranks.len(), 1)?;
    at_least("members of an ensemble", member_count, 1)?;
    let mut counts = vec![0usize; member_count + 1];
    for (place, rank) in ranks.iter().enumerate() {
        let slot = rank.checked_sub(1).and_then(|r| counts.get_mut(r));
        *slot.ok_or(SkillError::Value {
            what: "ranks",
            place,
            value: *rank as f64,
            wanted: "a rank from 1 to one more than the members",
        })? += 1;
    }
    let wanted = ranks.len() as f64 / counts.len() as f64;
    let chi_square = counts.iter().map(|n| (*n as f64 - wanted).powi(2) / wanted).sum();
    let distribution = ChiSquared::new(member_count as f64).map_err(|_| SkillError::Undefined {
        what: "the flatness of ranks",
        wanted: "a number of members above 0",
    })?;
    Ok(Flatness {
        counts,
        chi_square,
        flat_prob: distribution.sf(chi_square),
    })
}

/// Spread over error, `sqrt(mean((m + 1)/m s^2)) / RMSE`: `s^2` is the variance of the `m` members (divided by
/// `m - 1`), RMSE the root mean square error of their mean. 1 is right, less is overconfident; no unit.
///
/// Source: Fortin et al. 2014 (mean of the variances, and the factor for a small ensemble, here case by case).
///
/// # Errors
/// [`SkillError`] without cases, with fewer than two members, or a number that is not finite;
/// [`SkillError::Undefined`] when every mean is exactly right.
pub fn spread_error_ratio(cases: &[EnsembleCase]) -> Result<f64, SkillError> {
    at_least("ensembles", cases.len(), 1)?;
    let (mut variances, mut squares) = (0.0, 0.0);
    for case in cases {
        case.check(2)?;
        let members = case.members.len() as f64;
        let mean = case.members.iter().sum::<f64>() / members;
        let variance = case.members.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (members - 1.0);
        variances += (members + 1.0) / members * variance;
        squares += (mean - case.observed).powi(2);
    }
    if squares == 0.0 {
        return Err(SkillError::Undefined {
            what: "the ratio of spread to error",
            wanted: "an error above 0",
        });
    }
    Ok((variances / squares).sqrt())
}

/// Members of each case, of which all have as many.
fn member_count(cases: &[EnsembleCase], least: usize) -> Result<usize, SkillError> {
    at_least("ensembles", cases.len(), 1)?;
    let count = cases[0].members.len();
    for case in cases {
        case.check(least)?;
        same_length("members of an ensemble", case.members.len(), count)?;
    }
    Ok(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn case(members: &[f64], observed: f64) -> EnsembleCase {
        EnsembleCase {
            members: members.to_vec(),
            observed,
        }
    }

    #[test]
    fn what_cannot_be_ranked_is_refused() {
        assert!(matches!(ranks(&[], 1), Err(SkillError::TooFew { .. })));
        let uneven = [case(&[1.0, 2.0], 1.5), case(&[1.0], 1.5)];
        assert!(matches!(ranks(&uneven, 1), Err(SkillError::Lengths { .. })));
        assert!(matches!(
            flatness(&[0], 5),
            Err(SkillError::Value { place: 0, .. })
        ));
        assert!(matches!(
            flatness(&[1, 7], 5),
            Err(SkillError::Value { place: 1, .. })
        ));
        assert!(flatness(&[], 5).is_err() && flatness(&[1], 0).is_err());
        assert!(matches!(
            spread_error_ratio(&[case(&[1.0, 3.0], 2.0)]),
            Err(SkillError::Undefined { .. })
        ));
    }

    #[test]
    fn ties_are_shared_out_evenly_and_by_seed() {
        let tied = vec![case(&[0.0, 0.0, 0.0, 1.0], 0.0); 4000];
        let found = ranks(&tied, 7).unwrap();
        assert_eq!(found, ranks(&tied, 7).unwrap());
        assert_ne!(found, ranks(&tied, 8).unwrap());
        let counts = flatness(&found, 4).unwrap().counts;
        // Ranks 1 to 4 are open, a quarter of 4000 each; standard error 27, five of them.
        assert!(counts[..4].iter().all(|n| n.abs_diff(1000) < 140), "{counts:?}");
        assert_eq!(counts[4], 0);
    }
}
