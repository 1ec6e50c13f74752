//! The logarithmic score, with its floor counted.

use super::SkillError;
use super::checks::{at_least, probabilities, same_length};

/// Lowest probability that is scored as it stands (project choice). One case called impossible that happens
/// would otherwise make a year's mean infinite; how often the floor was needed is told with the score.
pub const FLOOR_PROB: f64 = 0.001;

/// The log score of one case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogScore {
    /// `-ln p`, in nats; 0 is perfect.
    pub log_score: f64,
    /// Whether the probability was below [`FLOOR_PROB`] and counted as it.
    pub floored: bool,
}

/// Log score of many outcomes together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountedLogScore {
    /// In nats; 0 is perfect. Whether a mean or a sum, the function says that makes it.
    pub log_score: f64,
    /// Outcomes whose probability was below [`FLOOR_PROB`] and counted as it.
    pub floored: usize,
}

/// Log score `-ln max(p, 0.001)` in nats of the probability `p` that was given to what happened.
///
/// Source: Good 1952 (the score); the floor is a project choice and makes the score improper below it, hence
/// [`LogScore::floored`].
///
/// # Errors
/// [`SkillError::Value`] for a probability outside 0 to 1.
pub fn log_score(outcome_prob: f64) -> Result<LogScore, SkillError> {
    probabilities("the probability of what happened", &[outcome_prob])?;
    let floored = outcome_prob < FLOOR_PROB;
    let scored_prob = if floored { FLOOR_PROB } else { outcome_prob };
    Ok(LogScore {
        log_score: -scored_prob.ln(),
        floored,
    })
}

/// Mean of [`log_score`] over yes-or-no forecasts: `p` where the event happened, `1 - p` where not.
///
/// # Errors
/// [`SkillError`] when there is no case, the lengths differ, or a probability is outside 0 to 1.
pub fn mean_log_score(event_prob: &[f64], happened: &[bool]) -> Result<CountedLogScore, SkillError> {
    at_least("probabilities of an event", event_prob.len(), 1)?;
    same_length("outcomes of an event", happened.len(), event_prob.len())?;
    probabilities("probabilities of an event", event_prob)?;
    let (mut sum, mut floored) = (0.0, 0);
    for (p, o) in event_prob.iter().zip(happened) {
        let one = log_score(if *o { *p } else { 1.0 - p })?;
        sum += one.log_score;
        floored += usize::from(one.floored);
    }
    Ok(CountedLogScore {
        log_score: sum / event_prob.len() as f64,
        floored,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_impossible_that_happened_is_floored_and_counted() {
        let one = log_score(0.0).unwrap();
        // -ln 0.001, by hand.
        assert!(one.floored && (one.log_score - 6.907_755_278_982_137).abs() < 1e-12);
        assert!(!log_score(FLOOR_PROB).unwrap().floored);
        let two = mean_log_score(&[0.0, 1.0, 0.5], &[true, false, true]).unwrap();
        assert_eq!(two.floored, 2);
        assert!(matches!(log_score(f64::NAN), Err(SkillError::Value { .. })));
        assert!(matches!(mean_log_score(&[], &[]), Err(SkillError::TooFew { .. })));
        assert!(matches!(
            mean_log_score(&[0.5], &[]),
            Err(SkillError::Lengths { .. })
        ));
    }
}
