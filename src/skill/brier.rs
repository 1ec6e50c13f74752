//! The Brier score of yes-or-no forecasts, and what it is made of.

use super::SkillError;
use super::checks::{at_least, probabilities, same_length};

/// Brier score `BS = (1/N) sum (p - o)^2`, with `o` 1 where the event happened and 0 where not; from 0
/// (perfect) to 1, no unit.
///
/// Source: Brier 1950, in the half form in common use (one category instead of both).
///
/// # Errors
/// [`SkillError`] when there is no case, the lengths differ, or a probability is outside 0 to 1.
pub fn brier_score(event_prob: &[f64], happened: &[bool]) -> Result<f64, SkillError> {
    check(event_prob, happened)?;
    let sum: f64 = pairs(event_prob, happened).map(|(p, o)| (p - o).powi(2)).sum();
    Ok(sum / event_prob.len() as f64)
}

/// The parts of a Brier score: `BS = REL - RES + UNC + WBV - WBC`. No units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BrierParts {
    /// REL: mean square distance of the mean probability of a group from the frequency in it; small is good.
    pub reliability: f64,
    /// RES: mean square distance of the frequency in a group from that of all; large is good.
    pub resolution: f64,
    /// UNC: `obar (1 - obar)`, the score of the sample's own frequency; not the forecaster's doing.
    pub uncertainty: f64,
    /// WBV: variance of the probabilities within their groups; 0 when a group is one probability.
    pub within_variance: f64,
    /// WBC: twice the covariance of probabilities and outcomes within the groups; may be negative.
    pub within_covariance: f64,
}

impl BrierParts {
    /// The Brier score that the parts add up to.
    pub fn brier_score(&self) -> f64 {
        self.reliability - self.resolution + self.uncertainty + self.within_variance - self.within_covariance
    }
}

/// Parts of the Brier score with one group for each probability that occurs.
///
/// With `n_k` cases in group `k`, their probability `p_k` and frequency `obar_k`, and `obar` of all:
/// `REL = (1/N) sum n_k (p_k - obar_k)^2`, `RES = (1/N) sum n_k (obar_k - obar)^2`,
/// `UNC = obar (1 - obar)`; the terms within groups are 0.
///
/// Source: Murphy 1973. With probabilities that hardly repeat, each case is a group of its own and the
/// parts say nothing: use [`brier_parts_in_bins`].
///
/// # Errors
/// As [`brier_score`].
pub fn brier_parts(event_prob: &[f64], happened: &[bool]) -> Result<BrierParts, SkillError> {
    check(event_prob, happened)?;
    let mut unique = event_prob.to_vec();
    unique.sort_by(f64::total_cmp);
    // By value: 0 and -0 are one probability.
    unique.dedup_by(|a, b| a == b);
    let groups: Vec<usize> = event_prob
        .iter()
        .map(|p| unique.partition_point(|u| u < p))
        .collect();
    Ok(parts(event_prob, happened, &groups, unique.len()))
}

/// Parts of the Brier score with `bins` groups of equal width: bin `k` holds `k/bins <= p < (k+1)/bins`, the
/// last one also 1.
///
/// As [`brier_parts`] with the mean probability `pbar_k` of the bin for `p_k`, and besides
/// `WBV = (1/N) sum_k sum_j (p_kj - pbar_k)^2` and
/// `WBC = (2/N) sum_k sum_j (p_kj - pbar_k) (o_kj - obar_k)`, without which the parts do not add up.
///
/// Source: Stephenson, Coelho & Jolliffe 2008.
///
/// # Errors
/// As [`brier_score`]; [`SkillError::TooFew`] for no bins.
pub fn brier_parts_in_bins(
    event_prob: &[f64],
    happened: &[bool],
    bins: usize,
) -> Result<BrierParts, SkillError> {
    check(event_prob, happened)?;
    at_least("bins of probability", bins, 1)?;
    let groups: Vec<usize> = event_prob.iter().map(|p| bin(*p, bins)).collect();
    Ok(parts(event_prob, happened, &groups, bins))
}

/// The bin of a probability. The product may be rounded across an edge (0.29 of 100), the quotients decide.
fn bin(event_prob: f64, bins: usize) -> usize {
    let edge = |k: usize| k as f64 / bins as f64;
    let near = (event_prob * bins as f64) as usize;
    let k = if edge(near) > event_prob {
        near - 1
    } else if edge(near + 1) <= event_prob {
        near + 1
    } else {
        near
    };
    k.min(bins - 1)
}

fn check(event_prob: &[f64], happened: &[bool]) -> Result<(), SkillError> {
    at_least("probabilities of an event", event_prob.len(), 1)?;
    same_length("outcomes of an event", happened.len(), event_prob.len())?;
    probabilities("probabilities of an event", event_prob)
}

fn pairs(event_prob: &[f64], happened: &[bool]) -> impl Iterator<Item = (f64, f64)> {
    event_prob
        .iter()
        .zip(happened)
        .map(|(p, o)| (*p, f64::from(u8::from(*o))))
}

/// Count, sum of probabilities and sum of outcomes of a group.
#[derive(Clone, Copy, Default)]
struct Group {
    count: f64,
    sum_prob: f64,
    events: f64,
}

fn parts(event_prob: &[f64], happened: &[bool], groups: &[usize], group_count: usize) -> BrierParts {
    let mut held = vec![Group::default(); group_count];
    for ((p, o), group) in pairs(event_prob, happened).zip(groups) {
        held[*group].count += 1.0;
        held[*group].sum_prob += p;
        held[*group].events += o;
    }
    let cases = event_prob.len() as f64;
    let frequency = held.iter().map(|g| g.events).sum::<f64>() / cases;
    let mut found = BrierParts {
        reliability: 0.0,
        resolution: 0.0,
        uncertainty: frequency * (1.0 - frequency),
        within_variance: 0.0,
        within_covariance: 0.0,
    };
    for g in held.iter().filter(|g| g.count > 0.0) {
        let (mean_prob, within) = (g.sum_prob / g.count, g.events / g.count);
        found.reliability += g.count * (mean_prob - within).powi(2) / cases;
        found.resolution += g.count * (within - frequency).powi(2) / cases;
    }
    for ((p, o), group) in pairs(event_prob, happened).zip(groups) {
        let g = held[*group];
        let (away, off) = (p - g.sum_prob / g.count, o - g.events / g.count);
        found.within_variance += away * away / cases;
        found.within_covariance += 2.0 * away * off / cases;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_forecast_is_refused() {
        assert!(matches!(brier_score(&[], &[]), Err(SkillError::TooFew { .. })));
        assert!(matches!(
            brier_score(&[0.5], &[true, false]),
            Err(SkillError::Lengths {
                found: 2,
                wanted: 1,
                ..
            })
        ));
        for bad in [f64::NAN, -0.1, 1.1] {
            assert!(matches!(
                brier_score(&[0.5, bad], &[true, false]),
                Err(SkillError::Value { place: 1, .. })
            ));
        }
        assert!(matches!(
            brier_parts_in_bins(&[0.5], &[true], 0),
            Err(SkillError::TooFew { .. })
        ));
    }

    #[test]
    fn a_probability_on_an_edge_belongs_to_the_bin_above_it() {
        for bins in [1, 3, 5, 7, 10, 100] {
            for k in 0..bins {
                assert_eq!(bin(k as f64 / bins as f64, bins), k, "{k} of {bins}");
            }
        }
        assert_eq!(bin(0.29, 100), 29);
        assert_eq!(bin(1.0, 5), 4);
    }

    #[test]
    fn a_forecast_of_certainty_falls_into_the_last_bin() {
        let parts = brier_parts_in_bins(&[1.0, 0.9], &[true, true], 5).unwrap();
        // One bin of mean 0.95, all events: (0.05)^2, and a variance of 0.05^2; by hand.
        assert!((parts.reliability - 0.0025).abs() < 1e-15);
        assert!((parts.within_variance - 0.0025).abs() < 1e-15);
    }
}
