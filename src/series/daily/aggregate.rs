//! Values within the day to one value a day.

use chrono::{DateTime, NaiveDate, Utc};

use super::steps::{Step, StepQuality, clean_steps, own_steps_s};
use super::{Daily, EXTREME_COVERAGE_FRAC, MEAN_COVERAGE_FRAC};
use crate::clock::LakeClock;
use crate::series::Observation;

/// How a day's values become one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayStatistic {
    /// Mean.
    Mean,
    /// Highest.
    Max,
    /// Lowest.
    Min,
    /// Sum. A missing step is not made up for, so the sum of a day with a hole is a lower bound.
    Sum,
}

/// Daily means by standard-time day; a day needs `min_coverage_frac` of its own steps (0.75 is the rule).
///
/// `None` when no day has a value. Flags 1 and 2 are used; where they do not cover the day but flags 1 to
/// 3 together do, the value stands and is marked suspect; flags 4 and 9 never count.
pub fn daily_mean(observations: &[Observation], clock: &LakeClock, min_coverage_frac: f64) -> Option<Daily> {
    daily_statistic(
        &clean_steps(observations),
        clock,
        min_coverage_frac,
        DayStatistic::Mean,
    )
}

/// Daily highest values; coverage 90 %.
pub fn daily_max(observations: &[Observation], clock: &LakeClock) -> Option<Daily> {
    daily_statistic(
        &clean_steps(observations),
        clock,
        EXTREME_COVERAGE_FRAC,
        DayStatistic::Max,
    )
}

/// Daily lowest values; coverage 90 %.
pub fn daily_min(observations: &[Observation], clock: &LakeClock) -> Option<Daily> {
    daily_statistic(
        &clean_steps(observations),
        clock,
        EXTREME_COVERAGE_FRAC,
        DayStatistic::Min,
    )
}

/// Daily sums; coverage 90 %.
pub fn daily_sum(observations: &[Observation], clock: &LakeClock) -> Option<Daily> {
    daily_statistic(
        &clean_steps(observations),
        clock,
        EXTREME_COVERAGE_FRAC,
        DayStatistic::Sum,
    )
}

/// One value a standard-time day from `steps` (see [`clean_steps`]).
///
/// Coverage counts a step where the next one comes at least half a step later, so that a burst of
/// readings within an hour does not pass for a day. A day that reaches its coverage only with filled
/// steps is marked filled, one that reaches it only with suspect ones is marked suspect.
pub fn daily_statistic(
    steps: &[Step],
    clock: &LakeClock,
    min_coverage_frac: f64,
    statistic: DayStatistic,
) -> Option<Daily> {
    let own_steps = own_steps_s(steps);
    let mut days: Vec<(NaiveDate, DayValue)> = Vec::new();
    let mut rest = steps;
    while let Some(first) = rest.first() {
        let (date, end_s) = standard_day_of(first.time_s, clock);
        let count = rest.partition_point(|s| s.time_s < end_s).max(1);
        let (of_day, after) = rest.split_at(count);
        rest = after;
        if let Some(value) = day_value(of_day, &own_steps, min_coverage_frac, statistic) {
            days.push((date, value));
        }
    }
    table_of(&days)
}

/// Mean of the 24 hours that end at `end`, by the rules of a day's mean: 75 % of the series' own steps,
/// flags 1 and 2 first. `None` where they do not reach.
pub fn mean_of_last_24h(steps: &[Step], end: DateTime<Utc>) -> Option<f64> {
    let end_s = end.timestamp();
    let own_steps = own_steps_s(steps);
    let from = steps.partition_point(|s| s.time_s <= end_s - 86_400);
    let to = steps.partition_point(|s| s.time_s <= end_s);
    let value = day_value(
        steps.get(from..to)?,
        &own_steps,
        MEAN_COVERAGE_FRAC,
        DayStatistic::Mean,
    )?;
    Some(value.value)
}

struct DayValue {
    value: f64,
    filled: bool,
    suspect: bool,
}

/// The standard day that holds `time_s`, and the second at which the next one begins.
fn standard_day_of(time_s: i64, clock: &LakeClock) -> (NaiveDate, i64) {
    let instant = DateTime::<Utc>::from_timestamp(time_s, 0).unwrap_or(DateTime::<Utc>::MIN_UTC);
    let date = clock.standard_day(instant);
    let next = date
        .succ_opt()
        .map_or(i64::MAX, |d| clock.standard_day_start(d).timestamp());
    (date, next)
}

fn day_value(
    steps: &[Step],
    own_steps_s: &[i64],
    min_coverage_frac: f64,
    statistic: DayStatistic,
) -> Option<DayValue> {
    let step_s = step_of_day(steps, own_steps_s)?;
    // Coverage from the best readings alone first, then with what is weaker. A filled step belongs to the
    // mean even where it is not needed for coverage: it takes the place of the hour that is missing.
    use StepQuality::{Filled, Suspect, Usable};
    let selections: [&[StepQuality]; 4] = [
        &[Usable],
        &[Usable, Filled],
        &[Usable, Suspect],
        &[Usable, Suspect, Filled],
    ];
    for counted in selections {
        let (coverage_frac, value) = summarise(steps, step_s, counted, statistic);
        // The allowance is rounding of a product of small whole numbers.
        if coverage_frac + 1e-9 >= min_coverage_frac && value.is_finite() {
            let rests_on = |quality| counted.contains(&quality) && steps.iter().any(|s| s.quality == quality);
            return Some(DayValue {
                value,
                filled: rests_on(Filled),
                suspect: rests_on(Suspect),
            });
        }
    }
    None
}

/// The series' step that is most common within this day; its shortest step where none of them occurs.
fn step_of_day(steps: &[Step], own_steps_s: &[i64]) -> Option<i64> {
    if own_steps_s.len() == 1 {
        return own_steps_s.first().copied();
    }
    let near = |spacing: i64, own: i64| (spacing - own).abs() <= 30;
    own_steps_s.iter().copied().max_by_key(|&own| {
        let count = steps
            .windows(2)
            .filter(|w| near(w[1].time_s - w[0].time_s, own))
            .count();
        (count, std::cmp::Reverse(own))
    })
}

/// Coverage by the steps of the qualities in `counted`, and the statistic of those and of filled steps.
fn summarise(steps: &[Step], step_s: i64, counted: &[StepQuality], statistic: DayStatistic) -> (f64, f64) {
    let mut last_s = i64::MIN / 2;
    let (mut covered, mut used, mut sum) = (0_i64, 0_u32, 0.0);
    let (mut high, mut low) = (f64::NEG_INFINITY, f64::INFINITY);
    for step in steps {
        let counts = counted.contains(&step.quality);
        if !counts && step.quality != StepQuality::Filled {
            continue;
        }
        if step.time_s - last_s >= step_s / 2 {
            last_s = step.time_s;
            covered += i64::from(counts);
        } else if statistic == DayStatistic::Mean {
            continue;
        }
        used += 1;
        sum += step.value;
        high = high.max(step.value);
        low = low.min(step.value);
    }
    let coverage_frac = (covered * step_s) as f64 / 86_400.0;
    let value = match statistic {
        _ if used == 0 => f64::NAN,
        DayStatistic::Mean => sum / f64::from(used),
        DayStatistic::Sum => sum,
        DayStatistic::Max => high,
        DayStatistic::Min => low,
    };
    (coverage_frac, value)
}

fn table_of(days: &[(NaiveDate, DayValue)]) -> Option<Daily> {
    let (first, last) = (days.first()?.0, days.last()?.0);
    let length = usize::try_from((last - first).num_days() + 1).ok()?;
    let mut table = Daily::new(first, vec![None; length]);
    for (date, day) in days {
        if let Some(i) = table.index(*date) {
            table.value[i] = Some(day.value);
            table.filled[i] = day.filled;
            table.suspect[i] = day.suspect;
        }
    }
    Some(table)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hourly(first_s: i64, values: &[f64]) -> Vec<Step> {
        let step = |(i, v): (usize, &f64)| Step {
            time_s: first_s + 3600 * i as i64,
            value: *v,
            quality: StepQuality::Usable,
        };
        values.iter().enumerate().map(step).collect()
    }

    fn los_angeles() -> LakeClock {
        LakeClock::new(chrono_tz::America::Los_Angeles)
    }

    /// Two days of standard time hold 24 values each over both clock changes of 2026 in Los Angeles
    /// (changes on 2026-03-08 and 2026-11-01: zoneinfo, as in check rows S-T-spring and S-T-fall).
    #[test]
    fn a_standard_day_has_24_hours_on_the_days_of_a_clock_change() {
        for (month, day) in [(3, 8), (11, 1)] {
            let date = NaiveDate::from_ymd_opt(2026, month, day).unwrap();
            let clock = los_angeles();
            let start_s = clock.standard_day_start(date).timestamp();
            let sums = daily_statistic(
                &hourly(start_s - 86_400, &[1.0; 72]),
                &clock,
                0.9,
                DayStatistic::Sum,
            )
            .unwrap();
            assert_eq!(sums.first, date.pred_opt().unwrap());
            assert_eq!(sums.value, vec![Some(24.0); 3]);
        }
    }

    #[test]
    fn a_half_hour_zone_cuts_days_at_its_own_midnight() {
        // Adelaide keeps UTC+9:30 as standard time all year: midnight is 14:30 UTC.
        let clock = LakeClock::new(chrono_tz::Australia::Adelaide);
        let date = NaiveDate::from_ymd_opt(2026, 1, 15).unwrap();
        let start_s = date.and_hms_opt(0, 0, 0).unwrap().and_utc().timestamp() - 34_200;
        let values: Vec<f64> = (0..96).map(|i| if i < 48 { 1.0 } else { 3.0 }).collect();
        let steps: Vec<Step> = hourly(start_s, &values)
            .into_iter()
            .enumerate()
            .map(|(i, s)| Step {
                time_s: start_s + 1800 * i as i64,
                ..s
            })
            .collect();
        let means = daily_statistic(&steps, &clock, 0.75, DayStatistic::Mean).unwrap();
        assert_eq!((means.first, means.value), (date, vec![Some(1.0), Some(3.0)]));
    }

    #[test]
    fn a_day_needs_18_of_its_24_hours() {
        let clock = los_angeles();
        let start_s = clock
            .standard_day_start(NaiveDate::from_ymd_opt(2026, 1, 15).unwrap())
            .timestamp();
        let mut steps = hourly(start_s, &[2.0; 72]);
        let drop = |steps: &mut Vec<Step>, day: i64, hours: i64| {
            let from_s = start_s + 86_400 * day;
            steps.retain(|s| !(from_s..from_s + 3600 * hours).contains(&s.time_s));
        };
        drop(&mut steps, 1, 6);
        let means = daily_statistic(&steps, &clock, 0.75, DayStatistic::Mean).unwrap();
        assert_eq!(means.value, vec![Some(2.0), Some(2.0), Some(2.0)]);
        drop(&mut steps, 1, 7);
        let means = daily_statistic(&steps, &clock, 0.75, DayStatistic::Mean).unwrap();
        assert_eq!(means.value, vec![Some(2.0), None, Some(2.0)]);
    }

    #[test]
    fn a_burst_of_readings_within_an_hour_is_no_day() {
        let clock = los_angeles();
        let start_s = clock
            .standard_day_start(NaiveDate::from_ymd_opt(2026, 1, 15).unwrap())
            .timestamp();
        let mut steps = hourly(start_s, &[2.0; 240]);
        let burst_s = start_s + 5 * 86_400;
        steps.retain(|s| s.time_s < burst_s);
        steps.extend((0..60).map(|i| Step {
            time_s: burst_s + 60 * i,
            value: 9.0,
            quality: StepQuality::Usable,
        }));
        let means = daily_statistic(&steps, &clock, 0.75, DayStatistic::Mean).unwrap();
        assert_eq!(means.value, vec![Some(2.0); 5]);
    }
}
