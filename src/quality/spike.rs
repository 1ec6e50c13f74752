//! Spike test (QARTOD test 6): does one value stand out from both its neighbours?

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::series::Flag;

/// Limits of a test that both suspects and fails, in the unit of its statistic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Above: suspect.
    pub suspect: f64,
    /// Above: fail.
    pub fail: f64,
}

impl Limits {
    fn flag(self, statistic: f64) -> Flag {
        if statistic > self.fail {
            Flag::Fail
        } else if statistic > self.suspect {
            Flag::Suspect
        } else {
            Flag::Pass
        }
    }
}

/// What stands for the height of a spike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpikeMethod {
    /// `s = |x_n - (x_(n-1) + x_(n+1)) / 2|` (the manual's). Both neighbours of a spike see half of it.
    Average,
    /// The smaller of the two steps where the value is a local extreme, 0 elsewhere (ioos_qc 3.0.0).
    Differential,
}

/// Flags by the plain test: every value judged once against the values beside it.
///
/// The first and the last value, and neighbours of missing ones, are 2: the newest value stays so
/// until its successor arrives. Missing values are 9.
///
/// Source: QARTOD water level manual v2.1, test 6; differential form as in ioos_qc 3.0.0.
pub fn check_spike(values: &[Option<f64>], limits: Limits, method: SpikeMethod) -> Vec<Flag> {
    let beside = |i: usize| {
        let before = i.checked_sub(1).and_then(|j| values[j]);
        before.zip(values.get(i + 1).copied().flatten())
    };
    let flag = |(i, value): (usize, &Option<f64>)| match (value, beside(i)) {
        (None, _) => Flag::Missing,
        (Some(_), None) => Flag::NotEvaluated,
        (Some(value), Some((before, after))) => limits.flag(statistic(before, *value, after, method)),
    };
    values.iter().enumerate().map(flag).collect()
}

fn statistic(before: f64, value: f64, after: f64, method: SpikeMethod) -> f64 {
    match method {
        SpikeMethod::Average => (value - f64::midpoint(before, after)).abs(),
        SpikeMethod::Differential if is_extreme(before, value, after) => {
            (value - before).abs().min((value - after).abs())
        }
        SpikeMethod::Differential => 0.0,
    }
}

fn is_extreme(before: f64, value: f64, after: f64) -> bool {
    (value - before) * (value - after) > 0.0
}

/// Flags by the test as this program uses it: the value with the largest statistic is flagged and
/// taken out, its neighbours are judged anew, and so on, so that no good value is flagged for
/// standing beside a bad one.
///
/// Differs from [`SpikeMethod::Average`] in two points: only a local extreme can be a spike, so that
/// a step is none; and values more than `reach_h` apart are no neighbours. `time_h` in hours from
/// any instant, increasing, as long as `values`.
pub fn check_spike_in_turn(
    time_h: &[f64],
    values: &[Option<f64>],
    limits: Limits,
    reach_h: f64,
) -> Vec<Flag> {
    let mut left = values.to_vec();
    let judged = |left: &[Option<f64>], i: usize| {
        let before = i
            .checked_sub(1)
            .filter(|&j| time_h[i] - time_h[j] <= reach_h)
            .and_then(|j| left[j])?;
        let after = left
            .get(i + 1)
            .copied()
            .flatten()
            .filter(|_| time_h[i + 1] - time_h[i] <= reach_h)?;
        let value = left[i]?;
        let extreme = is_extreme(before, value, after);
        Some(if extreme {
            statistic(before, value, after, SpikeMethod::Average)
        } else {
            0.0
        })
    };
    let mut heights: Vec<Option<f64>> = (0..values.len()).map(|i| judged(&left, i)).collect();
    let mut flags: Vec<Flag> = values
        .iter()
        .zip(&heights)
        .map(|(value, height)| match (value, height) {
            (None, _) => Flag::Missing,
            (Some(_), None) => Flag::NotEvaluated,
            (Some(_), Some(_)) => Flag::Pass,
        })
        .collect();
    let candidate =
        |index: usize, height: f64| (height > limits.suspect).then_some(Candidate { height, index });
    let mut queue: BinaryHeap<Candidate> = heights
        .iter()
        .enumerate()
        .filter_map(|(i, height)| candidate(i, (*height)?))
        .collect();
    while let Some(Candidate { height, index }) = queue.pop() {
        if left[index].is_none() || heights[index] != Some(height) {
            continue; // judged anew since it was queued
        }
        flags[index] = limits.flag(height);
        left[index] = None;
        for beside in [index.checked_sub(1), Some(index + 1)].into_iter().flatten() {
            if left.get(beside).copied().flatten().is_some() {
                heights[beside] = judged(&left, beside);
                flags[beside] = if heights[beside].is_some() {
                    Flag::Pass
                } else {
                    Flag::NotEvaluated
                };
            }
        }
    }
    flags
}

/// 4 for each value of a false plateau: two to `longest` neighbours that all stand more than `limits.fail`
/// above, or all below, both the value before and the value after them, where those two lie within
/// `limits.suspect` of each other. 1 for all others, 9 where there is none.
///
/// The spike test lets such a plateau pass, since none of its values stands out from both neighbours. What
/// leaves by a step that fails and comes back to where it was within a few values is no flood, which falls
/// slowly, and no gate step, which stays; the newest values are judged when the series has come back.
/// `time_h`, `values`, `reach_h` as in [`check_spike_in_turn`]. Project choice.
pub fn check_plateau(
    time_h: &[f64],
    values: &[Option<f64>],
    limits: Limits,
    longest: usize,
    reach_h: f64,
) -> Vec<Flag> {
    let mut flags: Vec<Flag> = values
        .iter()
        .map(|v| if v.is_some() { Flag::Pass } else { Flag::Missing })
        .collect();
    // Values from the one before a plateau to the one after it, where no hole or gap is among them.
    let run = |first: usize, last: usize| -> Option<Vec<f64>> {
        let run: Vec<f64> = values.get(first..=last)?.iter().copied().collect::<Option<_>>()?;
        let times = &time_h[first..=last];
        times.windows(2).all(|w| w[1] - w[0] <= reach_h).then_some(run)
    };
    for before in 0..values.len() {
        for length in 2..=longest {
            let after = before + length + 1;
            let Some(run) = run(before, after) else { break };
            let (low, high) = (run[0].min(run[length + 1]), run[0].max(run[length + 1]));
            let plateau = &run[1..=length];
            let stands_off = plateau.iter().all(|v| v - high > limits.fail)
                || plateau.iter().all(|v| low - v > limits.fail);
            if stands_off && high - low <= limits.suspect {
                flags[before + 1..after].fill(Flag::Fail);
            }
        }
    }
    flags
}

/// A value that may be a spike; the highest first, of equal ones the earliest.
#[derive(Debug, PartialEq)]
struct Candidate {
    height: f64,
    index: usize,
}

impl Ord for Candidate {
    fn cmp(&self, other: &Self) -> Ordering {
        self.height
            .total_cmp(&other.height)
            .then(other.index.cmp(&self.index))
    }
}
impl PartialOrd for Candidate {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Eq for Candidate {}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: Limits = Limits {
        suspect: 0.5,
        fail: 1.0,
    };

    fn flags(values: &[f64]) -> Vec<u8> {
        let time_h: Vec<f64> = (0..values.len()).map(|i| i as f64).collect();
        let values: Vec<Option<f64>> = values.iter().map(|&v| Some(v)).collect();
        check_spike_in_turn(&time_h, &values, LIMITS, 3.0)
            .into_iter()
            .map(Flag::code)
            .collect()
    }

    #[test]
    fn a_spike_alone_is_failed_and_its_neighbours_are_not_judged() {
        assert_eq!(flags(&[5.0, 5.0, 5.1, 9.0, 5.0, 5.1, 5.0]), [2, 1, 2, 4, 2, 1, 2]);
    }

    #[test]
    fn a_step_is_no_spike() {
        assert_eq!(flags(&[5.0, 5.0, 5.0, 9.0, 9.0, 9.0]), [2, 1, 1, 1, 1, 2]);
    }

    #[test]
    fn two_spikes_are_both_found() {
        assert_eq!(flags(&[5.0, 9.0, 5.0, 5.0, 2.0, 5.0]), [2, 4, 2, 2, 4, 2]);
    }

    #[test]
    fn the_newest_value_waits_for_its_successor() {
        assert_eq!(flags(&[5.0, 5.0, 9.0]).last(), Some(&2));
        assert_eq!(flags(&[5.0, 5.0, 9.0, 5.0])[2], 4);
    }

    fn plateau(values: &[f64]) -> Vec<u8> {
        let time_h: Vec<f64> = (0..values.len()).map(|i| i as f64).collect();
        let values: Vec<Option<f64>> = values.iter().map(|&v| Some(v)).collect();
        let flags = check_plateau(&time_h, &values, LIMITS, 3, 3.0);
        flags.into_iter().map(Flag::code).collect()
    }

    #[test]
    fn a_false_value_that_is_repeated_fails_as_one_alone_does() {
        assert_eq!(plateau(&[5.0, 5.0, 9.0, 9.0, 5.1, 5.0]), [1, 1, 4, 4, 1, 1]);
        assert_eq!(plateau(&[5.0, 2.0, 2.2, 2.1, 5.0, 5.0]), [1, 4, 4, 4, 1, 1]);
        // The spike test alone believes them.
        assert_eq!(flags(&[5.0, 5.0, 9.0, 9.0, 5.1, 5.0]), [2, 1, 1, 1, 1, 2]);
    }

    #[test]
    fn a_step_a_flood_and_a_longer_stay_are_no_plateau() {
        for values in [
            // A gate opens, and is shut again after four values.
            [5.0, 5.0, 9.0, 9.0, 9.0, 9.0, 5.0],
            // A step that stays.
            [5.0, 5.0, 5.0, 5.0, 9.0, 9.0, 9.0],
            // A flood rises at once and falls slowly.
            [5.0, 9.0, 9.0, 8.2, 7.5, 6.9, 6.4],
            // It comes back, but not to where it was.
            [5.0, 5.0, 9.0, 9.0, 6.0, 6.0, 6.0],
            // It has not come back yet.
            [5.0, 5.0, 5.0, 5.0, 5.0, 9.0, 9.0],
        ] {
            assert_eq!(plateau(&values), [1; 7], "{values:?}");
        }
    }

    #[test]
    fn a_plateau_does_not_reach_across_a_gap() {
        let values = [Some(5.0), Some(9.0), Some(9.0), Some(5.0)];
        let judged = |time_h: [f64; 4]| check_plateau(&time_h, &values, LIMITS, 3, 3.0)[1];
        assert_eq!(judged([0.0, 1.0, 2.0, 3.0]), Flag::Fail);
        assert_eq!(judged([0.0, 1.0, 2.0, 9.0]), Flag::Pass);
        let holed = [Some(5.0), Some(9.0), None, Some(9.0), Some(5.0)];
        let flags = check_plateau(&[0.0, 1.0, 2.0, 3.0, 4.0], &holed, LIMITS, 3, 3.0);
        assert_eq!(flags[1], Flag::Pass);
        assert_eq!(flags[2], Flag::Missing);
    }

    #[test]
    fn values_across_a_gap_are_no_neighbours() {
        let values = [Some(5.0), Some(9.0), Some(5.0)];
        assert_eq!(
            check_spike_in_turn(&[0.0, 1.0, 2.0], &values, LIMITS, 3.0)[1],
            Flag::Fail
        );
        assert_eq!(
            check_spike_in_turn(&[0.0, 1.0, 9.0], &values, LIMITS, 3.0)[1],
            Flag::NotEvaluated
        );
    }
}
