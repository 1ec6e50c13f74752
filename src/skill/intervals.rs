//! Intervals of a proportion: how much a count of hits says.

use statrs::distribution::{Beta, ContinuousCDF, Normal};

use super::SkillError;
use super::checks::{at_least, each};
use crate::math::roots::bisect;

/// An interval. Of a proportion both ends are from 0 to 1; of a mean they are in its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Score interval of a proportion of `hits` in `trials` at `confidence_frac` (such as 0.95).
///
/// With `p = hits/n` and `z` the two-sided normal quantile:
/// `(p + z^2/2n +- z sqrt(p (1 - p)/n + z^2/4n^2)) / (1 + z^2/n)`. Source: Wilson 1927.
///
/// # Errors
/// [`SkillError`] without trials, with more hits than trials, or a confidence that is not between 0 and 1.
pub fn wilson_interval(hits: u32, trials: u32, confidence_frac: f64) -> Result<Interval, SkillError> {
    check(hits, trials, confidence_frac)?;
    let (n, p) = (f64::from(trials), f64::from(hits) / f64::from(trials));
    let z = Normal::standard().inverse_cdf(0.5 + 0.5 * confidence_frac);
    let middle = p + z * z / (2.0 * n);
    let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    let whole = 1.0 + z * z / n;
    Ok(Interval {
        // Exactly 0 and 1 there; rounding would put them a little outside.
        low: if hits == 0 { 0.0 } else { (middle - half) / whole },
        high: if hits == trials {
            1.0
        } else {
            (middle + half) / whole
        },
    })
}

/// Jeffreys interval of a proportion: equal tails of `Beta(hits + 1/2, trials - hits + 1/2)`, but from 0 when
/// there are no hits and up to 1 when there is nothing else.
///
/// Source: Brown, Cai & DasGupta 2001.
///
/// # Errors
/// As [`wilson_interval`].
pub fn jeffreys_interval(hits: u32, trials: u32, confidence_frac: f64) -> Result<Interval, SkillError> {
    check(hits, trials, confidence_frac)?;
    let (a, b) = (f64::from(hits) + 0.5, f64::from(trials - hits) + 0.5);
    let undefined = SkillError::Undefined {
        what: "Jeffreys interval",
        wanted: "counts that a Beta distribution can take",
    };
    let beta = Beta::new(a, b).map_err(|_| undefined.clone())?;
    let tail_prob = 0.5 - 0.5 * confidence_frac;
    let quantile = |prob: f64| bisect(|x| beta.cdf(x) - prob, 0.0, 1.0, 1e-14).ok_or(undefined.clone());
    Ok(Interval {
        low: if hits == 0 { 0.0 } else { quantile(tail_prob)? },
        high: if hits == trials {
            1.0
        } else {
            quantile(1.0 - tail_prob)?
        },
    })
}

fn check(hits: u32, trials: u32, confidence_frac: f64) -> Result<(), SkillError> {
    at_least("trials of a proportion", trials as usize, 1)?;
    if hits > trials {
        return Err(SkillError::Value {
            what: "hits of a proportion",
            place: 0,
            value: f64::from(hits),
            wanted: "no more hits than trials",
        });
    }
    confidence(confidence_frac)
}

/// Refuses a confidence that is not between 0 and 1.
pub(super) fn confidence(confidence_frac: f64) -> Result<(), SkillError> {
    each(
        "a confidence",
        &[confidence_frac],
        "a share between 0 and 1",
        |c| c > 0.0 && c < 1.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn none_and_all_reach_to_the_ends() {
        for interval in [wilson_interval, jeffreys_interval] {
            assert_eq!(interval(0, 10, 0.9).unwrap().low, 0.0);
            assert_eq!(interval(10, 10, 0.9).unwrap().high, 1.0);
        }
        // Wilson with no hits by hand: z^2 / (n + z^2) = 3.841459 / 13.841459 at 95 percent.
        assert!((wilson_interval(0, 10, 0.95).unwrap().high - 0.277_533).abs() < 1e-6);
    }

    #[test]
    fn what_is_no_proportion_is_refused() {
        for interval in [wilson_interval, jeffreys_interval] {
            assert!(matches!(interval(0, 0, 0.9), Err(SkillError::TooFew { .. })));
            assert!(matches!(interval(3, 2, 0.9), Err(SkillError::Value { .. })));
            for bad in [0.0, 1.0, 95.0, f64::NAN] {
                assert!(interval(1, 2, bad).is_err(), "{bad}");
            }
        }
    }
}
