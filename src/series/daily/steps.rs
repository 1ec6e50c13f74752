//! One reading an instant: times in order, doubles and deeper readings dropped, quality kept.

use crate::series::{Flag, Observation};

/// How far a reading may lie below the series' shallowest depth and still stand in for it, metres
/// (project choice: inside a stirred surface layer).
const DEPTH_REACH_M: f64 = 1.0;

/// What a step's value rests on, the best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StepQuality {
    /// Flag 1 or 2.
    Usable,
    /// Flag 3.
    Suspect,
    /// A gap rule.
    Filled,
    /// Flag 4 or 9, or no finite value.
    Refused,
}

/// One step of a series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Time in whole seconds since 1970-01-01T00:00Z.
    pub time_s: i64,
    /// Value; not a number where refused.
    pub value: f64,
    /// Quality.
    pub quality: StepQuality,
}

/// The readings of `observations` as steps, one an instant, time increasing.
///
/// Order does not matter: readings out of order are sorted. Of several at one instant the best quality
/// wins, then the shallowest, then the one that came last. In a series with depths only readings within
/// 1 m of its shallowest depth count.
pub fn clean_steps(observations: &[Observation]) -> Vec<Step> {
    let shallowest = observations
        .iter()
        .filter_map(|o| o.depth_m)
        .fold(f64::INFINITY, f64::min);
    let limit = shallowest + DEPTH_REACH_M;
    let mut rows: Vec<(Step, f64)> = observations
        .iter()
        .filter(|o| o.depth_m.is_none_or(|d| d <= limit))
        .map(|o| (step_of(o), o.depth_m.unwrap_or(f64::NEG_INFINITY)))
        .collect();
    if !rows.is_sorted_by_key(|(s, _)| s.time_s) {
        rows.sort_by_key(|(s, _)| s.time_s);
    }
    let mut steps: Vec<Step> = Vec::with_capacity(rows.len());
    let mut depth_of_last = f64::INFINITY;
    for (step, depth) in rows {
        match steps.last_mut() {
            Some(kept) if kept.time_s == step.time_s => {
                let better =
                    step.quality < kept.quality || (step.quality == kept.quality && depth <= depth_of_last);
                if better {
                    *kept = step;
                    depth_of_last = depth;
                }
            }
            _ => {
                steps.push(step);
                depth_of_last = depth;
            }
        }
    }
    steps
}

fn step_of(observation: &Observation) -> Step {
    let value = observation.value.filter(|v| v.is_finite());
    let quality = match (observation.flag, value) {
        (Flag::Pass | Flag::NotEvaluated, Some(_)) => StepQuality::Usable,
        (Flag::Suspect, Some(_)) => StepQuality::Suspect,
        _ => StepQuality::Refused,
    };
    let value = if quality == StepQuality::Refused {
        f64::NAN
    } else {
        value.unwrap_or(f64::NAN)
    };
    Step {
        time_s: observation.time.timestamp(),
        value,
        quality,
    }
}

/// The series' own steps in seconds: every spacing (to the minute, up to a day) that makes up a tenth or
/// more of its time, so that a change from hourly to quarter-hourly readings keeps both; the median
/// spacing where no spacing is so common. Smallest first; a series of spacings above a day has a step of
/// one day; empty for fewer than two steps.
pub(super) fn own_steps_s(steps: &[Step]) -> Vec<i64> {
    const DAY_S: i64 = 86_400;
    let mut spacings: Vec<i64> = steps
        .windows(2)
        .map(|w| ((w[1].time_s - w[0].time_s + 30) / 60 * 60).max(60))
        .collect();
    if spacings.is_empty() {
        return Vec::new();
    }
    spacings.sort_unstable();
    let within = spacings.partition_point(|&s| s <= DAY_S);
    if within == 0 {
        return vec![DAY_S];
    }
    let spacings = &spacings[..within];
    let total: i64 = spacings.iter().sum();
    let mut common: Vec<i64> = spacings
        .chunk_by(|a, b| a == b)
        .filter(|same| same[0] * same.len() as i64 * 10 >= total)
        .map(|same| same[0])
        .collect();
    if common.is_empty() {
        common.push(spacings[spacings.len() / 2]);
    }
    common
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hours: &[f64]) -> Vec<Step> {
        hours
            .iter()
            .map(|h| Step {
                time_s: (h * 3600.0) as i64,
                value: 1.0,
                quality: StepQuality::Usable,
            })
            .collect()
    }

    #[test]
    fn the_step_of_an_hourly_series_with_holes_is_an_hour() {
        let hours: Vec<f64> = (0..200)
            .filter(|h| h % 37 != 0 && !(50..90).contains(h))
            .map(f64::from)
            .collect();
        assert_eq!(own_steps_s(&at(&hours)), vec![3600]);
    }

    #[test]
    fn a_series_that_changed_its_step_has_both() {
        let mut hours: Vec<f64> = (0..100).map(f64::from).collect();
        hours.extend((1..400).map(|q| 99.0 + f64::from(q) / 4.0));
        assert_eq!(own_steps_s(&at(&hours)), vec![900, 3600]);
    }

    #[test]
    fn casts_days_apart_have_a_step_of_a_day() {
        assert_eq!(own_steps_s(&at(&[0.0, 170.0, 333.0])), vec![86_400]);
        assert!(own_steps_s(&at(&[5.0])).is_empty());
    }

    #[test]
    fn of_two_rows_of_one_instant_the_better_counts_then_the_shallower_then_the_later() {
        let row = |minute: i64, value: f64, depth_m: Option<f64>, flag: Flag| Observation {
            time: chrono::DateTime::from_timestamp(60 * minute, 0).unwrap(),
            depth_m,
            value: Some(value),
            original_value: None,
            approval: crate::series::Approval::Unstated,
            qualifier: None,
            flag,
            provenance: std::sync::Arc::new(crate::series::Provenance {
                service: String::new(),
                station: String::new(),
                parameter: String::new(),
                original_unit: String::new(),
                retrieved_at: chrono::DateTime::UNIX_EPOCH,
            }),
        };
        let values = |rows: &[Observation]| clean_steps(rows).iter().map(|s| s.value).collect::<Vec<_>>();
        let (pass, suspect, fail) = (Flag::Pass, Flag::Suspect, Flag::Fail);
        let better = [
            row(9, 1.0, None, suspect),
            row(9, 2.0, None, pass),
            row(9, 3.0, None, fail),
            row(3, 0.0, None, pass),
        ];
        assert_eq!(values(&better), vec![0.0, 2.0], "sorted, and the passed one kept");
        let cast = [
            row(9, 1.0, Some(1.0), pass),
            row(9, 2.0, Some(0.5), pass),
            row(9, 3.0, Some(1.4), pass),
        ];
        assert_eq!(values(&cast), vec![2.0]);
        let deep = [row(9, 1.0, Some(0.5), pass), row(19, 2.0, Some(9.0), pass)];
        assert_eq!(
            values(&deep),
            vec![1.0],
            "a reading 8.5 m deeper does not stand in"
        );
        assert_eq!(
            values(&[row(9, 1.0, None, pass), row(9, 2.0, None, pass)]),
            vec![2.0]
        );
    }
}
