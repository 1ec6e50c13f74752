//! Rate-of-change test (QARTOD test 7): did the value change too fast? Never a failure.

use crate::series::Flag;

/// 3 where a value differs from the one before it by more than `suspect_per_h` for each hour
/// between them; 1 elsewhere, at the first value and after a missing one too; 9 where there is none.
///
/// Source: QARTOD water level manual v2.1, test 7, with a fixed limit as in ioos_qc 3.0.0. `time_h` in
/// hours from any instant, increasing, as long as `values`; the limit in the unit of the values.
pub fn check_rate(time_h: &[f64], values: &[Option<f64>], suspect_per_h: f64) -> Vec<Flag> {
    let flag = |i: usize| {
        let Some(value) = values[i] else {
            return Flag::Missing;
        };
        let before = i.checked_sub(1).and_then(|j| Some((time_h[j], values[j]?)));
        match before {
            Some((at_h, before)) if (value - before).abs() > suspect_per_h * (time_h[i] - at_h) => {
                Flag::Suspect
            }
            _ => Flag::Pass,
        }
    };
    (0..values.len()).map(flag).collect()
}

/// Limits of a change by a factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FactorLimits {
    /// Factor upward in an hour, above 1.
    pub up_per_h: f64,
    /// Factor downward in an hour, above 1.
    pub down_per_h: f64,
}

/// 3 where a value has grown or shrunk by more than a factor since the earliest value of the hour
/// before it (of steps longer than an hour: since the value before, by the factor to the power of
/// the hours between); 1 elsewhere; 2 where one of the two is not positive, the value is the first, or
/// more than `reach_h` parts it from the one before; 9 where there is none.
///
/// Project choice, no source: flows change by factors, and a whole hour is looked at because single
/// digits make large factors within minutes at low water.
pub fn check_factor(time_h: &[f64], values: &[Option<f64>], limits: FactorLimits, reach_h: f64) -> Vec<Flag> {
    let mut start = 0;
    let mut last: Option<usize> = None;
    let mut flags = Vec::with_capacity(values.len());
    for (i, value) in values.iter().enumerate() {
        let Some(value) = *value else {
            flags.push(Flag::Missing);
            continue;
        };
        while time_h[i] - time_h[start] > 1.0 + 1e-9 {
            start += 1;
        }
        let within = (start..i).find_map(|j| Some((j, values[j]?)));
        let before = within.or_else(|| last.and_then(|j| Some((j, values[j]?))));
        last = Some(i);
        let flag = before
            .filter(|&(j, _)| time_h[i] - time_h[j] <= reach_h)
            .and_then(|(j, before)| {
                let hours = (time_h[i] - time_h[j]).max(1.0);
                let positive = value > 0.0 && before > 0.0;
                positive.then(|| {
                    let steep = value > before * limits.up_per_h.powf(hours)
                        || value < before * limits.down_per_h.powf(-hours);
                    if steep { Flag::Suspect } else { Flag::Pass }
                })
            });
        flags.push(flag.unwrap_or(Flag::NotEvaluated));
    }
    flags
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rate_is_held_against_the_hours_that_passed() {
        let values = [Some(1.0), Some(3.0), Some(5.0)];
        assert_eq!(
            check_rate(&[0.0, 2.0, 3.0], &values, 1.5),
            [Flag::Pass, Flag::Pass, Flag::Suspect]
        );
    }

    const LIMITS: FactorLimits = FactorLimits {
        up_per_h: 3.0,
        down_per_h: 2.0,
    };

    #[test]
    fn a_flow_that_quadruples_within_the_hour_in_small_steps_is_suspect() {
        let time_h = [0.0, 0.25, 0.5, 0.75, 1.0];
        let values = [10.0, 15.0, 22.0, 31.0, 40.0].map(Some);
        let flags = check_factor(&time_h, &values, LIMITS, 3.0)
            .into_iter()
            .map(Flag::code);
        assert_eq!(flags.collect::<Vec<_>>(), [2, 1, 1, 3, 3]);
    }

    #[test]
    fn a_flow_may_rise_faster_than_it_may_fall() {
        let up = check_factor(&[0.0, 1.0], &[Some(10.0), Some(25.0)], LIMITS, 3.0);
        let down = check_factor(&[0.0, 1.0], &[Some(25.0), Some(10.0)], LIMITS, 3.0);
        assert_eq!((up[1], down[1]), (Flag::Pass, Flag::Suspect));
    }

    #[test]
    fn nothing_is_said_of_a_dry_river_or_across_a_gap() {
        let values = [Some(0.0), Some(9.0), None, Some(90.0)];
        let flags = check_factor(&[0.0, 1.0, 2.0, 9.0], &values, LIMITS, 3.0);
        assert_eq!(
            flags,
            [
                Flag::NotEvaluated,
                Flag::NotEvaluated,
                Flag::Missing,
                Flag::NotEvaluated
            ]
        );
    }
}
