//! The daily cadence and the means of the continuous cadence as one daily series.

use super::aggregate::{DayStatistic, daily_statistic};
use super::fill::{GapRule, fill_days, fill_steps};
use super::steps::clean_steps;
use super::{Daily, EXTREME_COVERAGE_FRAC, MEAN_COVERAGE_FRAC};
use crate::clock::LakeClock;
use crate::lake::{Cadence, SeriesId, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Approval, Flag, Observation, SeriesSet};

/// Daily series of `id`: the daily cadence joined with daily means of the continuous cadence.
///
/// Of several values of one day the first of these wins: an approved daily value; the mean of the
/// continuous values where they cover 75 % of the day; a daily value that is not approved; and after
/// them, in the same order, values that rest on suspect readings, which are marked. `None` when there
/// is no value at all. For quantities whose daily value is no mean use [`daily_series_of`].
pub fn daily_series(set: &SeriesSet, id: &SeriesId, clock: &LakeClock) -> Option<Daily> {
    joined(set, id, clock, DayStatistic::Mean, GapRule::Never)
}

/// Daily series of a series of the lake file, by the statistic that its quantity wants: sums of
/// precipitation, highest gusts, lowest visibility, highest chance of thunder, means of all else.
/// Directions have no daily value. Short holes are filled by the quantity's [`GapRule`] and marked.
pub fn daily_series_of(set: &SeriesSet, source: &SeriesSource, clock: &LakeClock) -> Option<Daily> {
    let statistic = match source.quantity {
        Quantity::Precipitation => DayStatistic::Sum,
        Quantity::WindGust | Quantity::ThunderProbability => DayStatistic::Max,
        Quantity::Visibility => DayStatistic::Min,
        Quantity::WindDirection => return None,
        _ => DayStatistic::Mean,
    };
    let rule = GapRule::of(source.quantity);
    let mut series = joined(set, &source.id, clock, statistic, rule)?;
    fill_days(&mut series, rule);
    Some(series)
}

fn joined(
    set: &SeriesSet,
    id: &SeriesId,
    clock: &LakeClock,
    statistic: DayStatistic,
    rule: GapRule,
) -> Option<Daily> {
    let coverage_frac = if statistic == DayStatistic::Mean {
        MEAN_COVERAGE_FRAC
    } else {
        EXTREME_COVERAGE_FRAC
    };
    let steps = fill_steps(&clean_steps(set.observations(id, Cadence::Continuous)), rule);
    let continuous = daily_statistic(&steps, clock, coverage_frac, statistic);
    let daily = set.observations(id, Cadence::Daily);
    let shallowest = daily
        .iter()
        .filter_map(|o| o.depth_m)
        .fold(f64::INFINITY, f64::min);
    let mut candidates: Vec<Candidate> = daily
        .iter()
        .filter(|o| o.depth_m.is_none_or(|d| d <= shallowest + 1.0))
        .filter_map(|o| Candidate::of(o, clock))
        .collect();
    if let Some(table) = continuous {
        candidates.extend(table.value.iter().enumerate().filter_map(|(i, value)| {
            Some(Candidate {
                day: day_number(table.date(i)),
                rank: if table.suspect[i] { 4 } else { 1 },
                depth_m: f64::NEG_INFINITY,
                value: (*value)?,
                filled: table.filled[i],
                suspect: table.suspect[i],
            })
        }));
    }
    table_of(&candidates)
}

struct Candidate {
    /// Days since 1970-01-01.
    day: i64,
    /// Lower wins.
    rank: u8,
    /// Of equal rank the shallower wins, then the later in the list.
    depth_m: f64,
    value: f64,
    filled: bool,
    suspect: bool,
}

impl Candidate {
    fn of(observation: &Observation, clock: &LakeClock) -> Option<Candidate> {
        let value = observation.value.filter(|v| v.is_finite())?;
        let approved = observation.approval == Approval::Approved;
        let rank = match (observation.flag, approved) {
            (Flag::Pass | Flag::NotEvaluated, true) => 0,
            (Flag::Pass | Flag::NotEvaluated, false) => 2,
            (Flag::Suspect, true) => 3,
            (Flag::Suspect, false) => 5,
            (Flag::Fail | Flag::Missing, _) => return None,
        };
        let day = day_number(clock.standard_day(observation.time));
        let depth_m = observation.depth_m.unwrap_or(f64::NEG_INFINITY);
        Some(Candidate {
            day,
            rank,
            depth_m,
            value,
            filled: false,
            suspect: observation.flag == Flag::Suspect,
        })
    }
}

fn day_number(date: chrono::NaiveDate) -> i64 {
    (date - chrono::NaiveDate::default()).num_days()
}

fn table_of(candidates: &[Candidate]) -> Option<Daily> {
    let first = candidates.iter().map(|c| c.day).min()?;
    let last = candidates.iter().map(|c| c.day).max()?;
    let length = usize::try_from(last - first + 1).ok()?;
    let date = chrono::NaiveDate::default().checked_add_signed(chrono::Duration::days(first))?;
    let mut table = Daily::new(date, vec![None; length]);
    let mut kept = vec![(u8::MAX, f64::INFINITY); length];
    for candidate in candidates {
        let Ok(i) = usize::try_from(candidate.day - first) else {
            continue;
        };
        if (candidate.rank, candidate.depth_m) <= kept[i] {
            kept[i] = (candidate.rank, candidate.depth_m);
            table.value[i] = Some(candidate.value);
            table.filled[i] = candidate.filled;
            table.suspect[i] = candidate.suspect;
        }
    }
    Some(table)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use chrono::{NaiveDate, TimeZone, Utc};

    use super::*;
    use crate::series::{Provenance, SeriesKey};

    fn clock() -> LakeClock {
        LakeClock::new(chrono_tz::America::Los_Angeles)
    }

    fn row(day: u32, hour: u32, value: f64, approval: Approval, flag: Flag) -> Observation {
        let provenance = Provenance {
            service: "csv".into(),
            station: String::new(),
            parameter: "p".into(),
            original_unit: "m".into(),
            retrieved_at: Utc.with_ymd_and_hms(2025, 8, 1, 0, 0, 0).unwrap(),
        };
        Observation {
            // Standard time at the lake is UTC-8.
            time: Utc.with_ymd_and_hms(2025, 7, day, 8, 0, 0).unwrap()
                + chrono::Duration::hours(i64::from(hour)),
            depth_m: None,
            value: Some(value),
            original_value: Some(value),
            approval,
            qualifier: None,
            flag,
            provenance: Arc::new(provenance),
        }
    }

    fn series(daily: Vec<Observation>, continuous: Vec<Observation>) -> Option<Daily> {
        let id = SeriesId::new("pool");
        let mut set = SeriesSet::default();
        set.observations.insert(
            SeriesKey {
                id: id.clone(),
                cadence: Cadence::Daily,
            },
            daily,
        );
        set.observations.insert(
            SeriesKey {
                id: id.clone(),
                cadence: Cadence::Continuous,
            },
            continuous,
        );
        daily_series(&set, &id, &clock())
    }

    fn hourly(day: u32, hours: u32, value: f64, flag: Flag) -> Vec<Observation> {
        (0..hours)
            .map(|h| row(day, h, value, Approval::Provisional, flag))
            .collect()
    }

    #[test]
    fn an_approved_day_beats_the_hours_and_the_hours_beat_a_provisional_day() {
        let daily = vec![
            row(1, 0, 10.0, Approval::Approved, Flag::Pass),
            row(2, 0, 20.0, Approval::Provisional, Flag::Pass),
            row(3, 0, 30.0, Approval::Provisional, Flag::Pass),
        ];
        let mut continuous = hourly(1, 24, 11.0, Flag::Pass);
        continuous.extend(hourly(2, 24, 21.0, Flag::Pass));
        continuous.extend(hourly(3, 17, 31.0, Flag::Pass));
        let found = series(daily, continuous).unwrap();
        assert_eq!(found.value, vec![Some(10.0), Some(21.0), Some(30.0)]);
    }

    #[test]
    fn suspect_readings_stand_in_marked_and_failed_ones_never() {
        let daily = vec![
            row(1, 0, 10.0, Approval::Approved, Flag::Suspect),
            row(2, 0, 20.0, Approval::Approved, Flag::Fail),
            row(3, 0, 30.0, Approval::Unstated, Flag::NotEvaluated),
        ];
        let found = series(daily, hourly(1, 24, 11.0, Flag::Suspect)).unwrap();
        assert_eq!(found.value, vec![Some(10.0), None, Some(30.0)]);
        assert_eq!(found.suspect, vec![true, false, false]);
        assert!(series(Vec::new(), Vec::new()).is_none());
    }

    #[test]
    fn a_cast_gives_its_shallowest_reading() {
        let at_depth = |depth_m: f64, value: f64| Observation {
            depth_m: Some(depth_m),
            ..row(1, 0, value, Approval::Unstated, Flag::Pass)
        };
        let found = series(
            vec![at_depth(0.5, 20.0), at_depth(1.0, 19.0), at_depth(9.0, 8.0)],
            Vec::new(),
        )
        .unwrap();
        assert_eq!(
            found.get(NaiveDate::from_ymd_opt(2025, 7, 1).unwrap()),
            Some(20.0)
        );
    }
}
