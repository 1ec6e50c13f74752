//! Gap rules within the day and across one day; every value they make is marked filled.
//!
//! Level and storage: up to 24 h, linear. Water temperature: up to 6 h, linear. Discharge: up to 6 h,
//! linear in the logarithm, and never across a rise, because nobody knows when a river began to rise.
//! All else is not filled (project choices, series-and-skill 2).

use super::Daily;
use super::steps::{Step, StepQuality, own_steps_s};
use crate::quantity::Quantity;

/// How a hole may be filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GapRule {
    /// Not at all.
    Never,
    /// On a straight line between the readings either side.
    Linear {
        /// Longest stretch without a reading.
        longest_s: i64,
    },
    /// On a straight line in the logarithm, and only where the later reading is not the higher one.
    LogLinearFalling {
        /// Longest stretch without a reading.
        longest_s: i64,
    },
}

impl GapRule {
    /// The rule of a quantity.
    pub fn of(quantity: Quantity) -> GapRule {
        const HOUR_S: i64 = 3600;
        match quantity {
            Quantity::PoolElevation | Quantity::Storage => GapRule::Linear {
                longest_s: 24 * HOUR_S,
            },
            Quantity::WaterTemp | Quantity::RiverTemp => GapRule::Linear {
                longest_s: 6 * HOUR_S,
            },
            Quantity::Inflow | Quantity::Release => GapRule::LogLinearFalling {
                longest_s: 6 * HOUR_S,
            },
            _ => GapRule::Never,
        }
    }

    fn longest_s(self) -> i64 {
        match self {
            GapRule::Never => 0,
            GapRule::Linear { longest_s } | GapRule::LogLinearFalling { longest_s } => longest_s,
        }
    }

    /// Value a share `along_frac` of the way from `before` to `after`; `None` where the rule forbids it.
    fn between(self, before: f64, after: f64, along_frac: f64) -> Option<f64> {
        match self {
            GapRule::Never => None,
            GapRule::Linear { .. } => Some(before + (after - before) * along_frac),
            GapRule::LogLinearFalling { .. } => (before > 0.0 && after > 0.0 && after <= before)
                .then(|| (before.ln() + (after / before).ln() * along_frac).exp()),
        }
    }
}

/// `steps` with holes filled by `rule` at the series' own spacing. Refused readings inside a hole give
/// way; a suspect reading ends a hole but does not carry a filling.
pub fn fill_steps(steps: &[Step], rule: GapRule) -> Vec<Step> {
    let Some(&step_s) = own_steps_s(steps).first() else {
        return steps.to_vec();
    };
    if rule == GapRule::Never {
        return steps.to_vec();
    }
    let read: Vec<Step> = steps
        .iter()
        .copied()
        .filter(|s| s.quality != StepQuality::Refused)
        .collect();
    let mut filled = Vec::with_capacity(steps.len());
    for (i, step) in read.iter().enumerate() {
        filled.push(*step);
        let Some(next) = read.get(i + 1) else { break };
        let spacing_s = next.time_s - step.time_s;
        let whole = step.quality == StepQuality::Usable && next.quality == StepQuality::Usable;
        if !whole || spacing_s < step_s * 3 / 2 || spacing_s - step_s > rule.longest_s() {
            continue;
        }
        for k in 1..=(spacing_s - step_s / 2) / step_s {
            let along_frac = (k * step_s) as f64 / spacing_s as f64;
            if along_frac >= 1.0 {
                break;
            }
            if let Some(value) = rule.between(step.value, next.value, along_frac) {
                filled.push(Step {
                    time_s: step.time_s + k * step_s,
                    value,
                    quality: StepQuality::Filled,
                });
            }
        }
    }
    filled
}

/// Fills single missing days between two measured ones where the rule reaches over 24 h.
pub(super) fn fill_days(series: &mut Daily, rule: GapRule) {
    if rule.longest_s() < 86_400 {
        return;
    }
    for i in 1..series.value.len().saturating_sub(1) {
        if series.value[i].is_some() || !series.is_measured(i - 1) || !series.is_measured(i + 1) {
            continue;
        }
        if let (Some(before), Some(after)) = (series.value[i - 1], series.value[i + 1]) {
            series.value[i] = rule.between(before, after, 0.5);
            series.filled[i] = series.value[i].is_some();
            series.suspect[i] = series.suspect[i - 1] || series.suspect[i + 1];
        }
    }
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    fn hours(values: &[f64]) -> Vec<Step> {
        let step = |(h, v): (usize, &f64)| Step {
            time_s: 3600 * h as i64,
            value: *v,
            quality: if v.is_nan() {
                StepQuality::Refused
            } else {
                StepQuality::Usable
            },
        };
        values.iter().enumerate().map(step).collect()
    }

    const NONE: f64 = f64::NAN;
    const SIX_HOURS_S: i64 = 6 * 3600;

    #[test]
    fn six_missing_hours_of_temperature_are_filled_on_a_line_and_seven_are_not() {
        let rule = GapRule::Linear {
            longest_s: SIX_HOURS_S,
        };
        let six = hours(&[10.0, 10.0, NONE, NONE, NONE, NONE, NONE, NONE, 17.0, 17.0, 17.0]);
        let filled = fill_steps(&six, rule);
        let made: Vec<f64> = filled
            .iter()
            .filter(|s| s.quality == StepQuality::Filled)
            .map(|s| s.value)
            .collect();
        assert_eq!(made, vec![11.0, 12.0, 13.0, 14.0, 15.0, 16.0]);
        let mut seven = vec![10.0, 10.0];
        seven.extend([NONE; 7]);
        seven.extend([17.0; 3]);
        assert!(
            fill_steps(&hours(&seven), rule)
                .iter()
                .all(|s| s.quality != StepQuality::Filled)
        );
    }

    #[test]
    fn a_falling_river_is_filled_in_the_logarithm_and_a_rise_never() {
        let rule = GapRule::of(Quantity::Inflow);
        let falling = fill_steps(&hours(&[100.0, 100.0, NONE, 25.0, 25.0]), rule);
        assert!(
            (falling[2].value - 50.0).abs() < 1e-9,
            "geometric mean of 100 and 25"
        );
        let rising = fill_steps(&hours(&[25.0, 25.0, NONE, 100.0, 100.0]), rule);
        assert!(rising.iter().all(|s| s.quality != StepQuality::Filled));
    }

    #[test]
    fn one_missing_day_of_level_is_filled_and_two_are_not() {
        let first = NaiveDate::from_ymd_opt(2025, 7, 1).unwrap();
        let mut level = Daily::new(first, vec![Some(1.0), None, Some(3.0), None, None, Some(6.0)]);
        fill_days(&mut level, GapRule::of(Quantity::PoolElevation));
        assert_eq!(
            level.value,
            vec![Some(1.0), Some(2.0), Some(3.0), None, None, Some(6.0)]
        );
        assert_eq!(level.filled, vec![false, true, false, false, false, false]);
    }
}
