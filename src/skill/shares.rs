//! Shares of fish by zone against where the fish of a trip were caught.

use statrs::function::gamma::ln_gamma;

use super::SkillError;
use super::checks::{at_least, distribution, each, same_length};
use super::log_score::{CountedLogScore, FLOOR_PROB};

/// Split of a trip's catch that shares of fish and hours of fishing make one expect:
/// `q_z = share_z E_z / sum_j share_j E_j`, no unit, in all 1. Shape `[zone]`.
///
/// `share` is the forecast's share of fish by zone (only its proportions count), `effort_h` the rod-hours
/// fished there. For the reference that knows the effort alone give equal shares. Source: catch in
/// proportion to fish and effort, as is usual in fisheries; the same catchability in every zone is a project choice.
///
/// # Errors
/// [`SkillError`] without zones, with unequal lengths, or a number that is negative or not finite;
/// [`SkillError::Undefined`] when nobody fished where the forecast has any fish.
pub fn expected_split(share: &[f64], effort_h: &[f64]) -> Result<Vec<f64>, SkillError> {
    at_least("shares by zone", share.len(), 1)?;
    same_length("hours of fishing by zone", effort_h.len(), share.len())?;
    let fits = |x: f64| x.is_finite() && x >= 0.0;
    each("shares by zone", share, "a share of 0 or more", fits)?;
    each("hours of fishing by zone", effort_h, "0 or more hours", fits)?;
    let weights: Vec<f64> = share.iter().zip(effort_h).map(|(s, e)| s * e).collect();
    let sum: f64 = weights.iter().sum();
    if !(sum.is_finite() && sum > 0.0) {
        return Err(SkillError::Undefined {
            what: "the expected split of a catch",
            wanted: "fishing in a zone with a share above 0",
        });
    }
    Ok(weights.into_iter().map(|w| w / sum).collect())
}

/// Log score of a trip's catch by zone under an expected split, in nats: the multinomial
/// `-ln (n! / prod y_z! prod q_z^y_z)` for `y_z` fish of `n` in zone `z`; 0 is perfect.
///
/// A `q_z` below 0.001 with fish in its zone counts as 0.001 (see [`super::log_score::FLOOR_PROB`]);
/// `floored` tells in how many zones. The first factor is the same for every forecast, so that differences
/// of two forecasts do not hang on it. Source: the multinomial distribution; as a score Good 1952.
///
/// # Errors
/// [`SkillError`] when the split does not add up to 1 (to within 1e-6), lengths differ, or no fish was caught:
/// a trip without fish says nothing of the split.
pub fn split_log_score(split_prob: &[f64], catch_by_zone: &[u32]) -> Result<CountedLogScore, SkillError> {
    distribution("the expected split of a catch", split_prob)?;
    same_length("fish by zone", catch_by_zone.len(), split_prob.len())?;
    let fish: f64 = catch_by_zone.iter().map(|y| f64::from(*y)).sum();
    at_least("fish of a trip", fish as usize, 1)?;
    let (mut ln_prob, mut floored) = (ln_gamma(fish + 1.0), 0);
    for (q, y) in split_prob.iter().zip(catch_by_zone).filter(|(_, y)| **y > 0) {
        let below = *q < FLOOR_PROB;
        floored += usize::from(below);
        let fish_here = f64::from(*y);
        ln_prob += fish_here * (if below { FLOOR_PROB } else { *q }).ln() - ln_gamma(fish_here + 1.0);
    }
    Ok(CountedLogScore {
        log_score: -ln_prob,
        floored,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_says_nothing_of_the_split_is_refused() {
        assert!(matches!(
            expected_split(&[0.5, 0.5], &[0.0, 0.0]),
            Err(SkillError::Undefined { .. })
        ));
        assert!(matches!(
            expected_split(&[0.5, 0.5], &[1.0]),
            Err(SkillError::Lengths { .. })
        ));
        for bad in [f64::NAN, -0.1, f64::INFINITY] {
            assert!(expected_split(&[bad, 0.5], &[1.0, 1.0]).is_err(), "{bad}");
            assert!(expected_split(&[0.5, 0.5], &[1.0, bad]).is_err(), "{bad}");
        }
        assert!(matches!(
            split_log_score(&[0.5, 0.5], &[0, 0]),
            Err(SkillError::TooFew { .. })
        ));
        assert!(split_log_score(&[0.5, 0.4], &[1, 0]).is_err());
        assert!(split_log_score(&[0.5, 0.5], &[1]).is_err());
    }

    #[test]
    fn a_fish_where_none_was_expected_is_floored_and_counted() {
        let score = split_log_score(&[1.0, 0.0], &[0, 1]).unwrap();
        // -ln 0.001, by hand.
        assert!(score.floored == 1 && (score.log_score - 6.907_755_278_982_137).abs() < 1e-9);
        assert_eq!(split_log_score(&[1.0, 0.0], &[3, 0]).unwrap().floored, 0);
    }
}
