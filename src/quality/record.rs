//! What a series has been so far: extremes, quartiles, usual changes, seasons.

use super::climatology::Seasons;
use super::thresholds::History;
use crate::math::quantiles::quantile_nearest_rank;

/// Quantiles between which a season's values are usual (`science`: project choice, no source).
const SEASON_QUANTILES: (f64, f64) = (0.005, 0.995);
/// Fewest values a year for a record.
const VALUES_A_YEAR: f64 = 180.0;
/// Fewest values of a season, for each year of the shortest record.
const VALUES_A_SEASON: f64 = 15.0;
const H_PER_DAY: f64 = 24.0;
const DAYS_PER_YEAR: f64 = 365.25;

/// A series as times and values; all slices of one length.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sequence {
    /// Hours from any instant, increasing.
    pub time_h: Vec<f64>,
    /// Day of the year, from 0.
    pub day: Vec<usize>,
    /// Values.
    pub values: Vec<Option<f64>>,
}

/// Figures of the settled part of a series, in the unit of its values.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Least value.
    pub least: f64,
    /// Greatest value.
    pub peak: f64,
    /// Median.
    pub median: f64,
    /// Standard deviation of the change in a day, from values 12 to 36 hours apart; `None` without any.
    pub change_sd_per_day: Option<f64>,
    /// Usual span by season, where it was asked for.
    pub seasons: Option<Seasons>,
}

impl Record {
    /// The record of `sequence`: its values older than `history.settled_days` before the newest.
    /// Those that are exactly `left_out` do not count. `None` unless they span `history.record_years`
    /// and number at least 180 for each.
    pub fn of(
        sequence: &Sequence,
        history: History,
        left_out: Option<f64>,
        with_seasons: bool,
    ) -> Option<Record> {
        let newest_h = *sequence.time_h.last()?;
        let settled_h = newest_h - history.settled_days * H_PER_DAY;
        let end = sequence.time_h.partition_point(|&t| t <= settled_h);
        let present =
            || (0..end).filter_map(|i| Some((i, sequence.values[i].filter(|&v| Some(v) != left_out)?)));
        let mut values: Vec<f64> = present().map(|(_, value)| value).collect();
        let first = present().next()?.0;
        let last = present().next_back()?.0;
        let span_days = (sequence.time_h[last] - sequence.time_h[first]) / H_PER_DAY;
        // Two years of days reach from the first to the last but one.
        let long_enough = span_days >= history.record_years * DAYS_PER_YEAR - 2.0;
        if !long_enough || (values.len() as f64) < VALUES_A_YEAR * history.record_years {
            return None;
        }
        let seasons = with_seasons.then(|| {
            let day: Vec<usize> = present().map(|(i, _)| sequence.day[i]).collect();
            let at_least = VALUES_A_SEASON * history.record_years;
            Seasons::of(&day, &values, SEASON_QUANTILES, at_least as usize)
        });
        Some(Record {
            least: values.iter().copied().fold(f64::INFINITY, f64::min),
            peak: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            change_sd_per_day: change_sd_per_day(&sequence.time_h[..end], &sequence.values[..end]),
            seasons,
            median: quantile_nearest_rank(&mut values, 0.5)?,
        })
    }
}

/// Quartiles of the values that are there; `None` for fewer than eight.
pub fn quartiles(values: &[Option<f64>]) -> Option<(f64, f64)> {
    let mut values: Vec<f64> = values.iter().flatten().copied().collect();
    if values.len() < 8 {
        return None;
    }
    quantile_nearest_rank(&mut values, 0.25).zip(quantile_nearest_rank(&mut values, 0.75))
}

/// Standard deviation of day-to-day changes about zero.
fn change_sd_per_day(time_h: &[f64], values: &[Option<f64>]) -> Option<f64> {
    let (mut count, mut sum) = (0_usize, 0.0);
    for i in 1..values.len() {
        let days = (time_h[i] - time_h[i - 1]) / H_PER_DAY;
        if let (Some(before), Some(value), true) = (values[i - 1], values[i], (0.5..=1.5).contains(&days)) {
            count += 1;
            sum += ((value - before) / days).powi(2);
        }
    }
    (count > 1).then(|| (sum / count as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    const HISTORY: History = History {
        settled_days: 60.0,
        record_years: 2.0,
    };

    fn days(values: impl Iterator<Item = f64>) -> Sequence {
        let values: Vec<Option<f64>> = values.map(Some).collect();
        Sequence {
            time_h: (0..values.len()).map(|i| 24.0 * i as f64).collect(),
            day: (0..values.len()).map(|i| i % 365).collect(),
            values,
        }
    }

    #[test]
    fn the_newest_sixty_days_are_no_part_of_the_record() {
        let found = Record::of(&days((0..900).map(f64::from)), HISTORY, None, false).unwrap();
        assert_eq!((found.least, found.peak, found.median), (0.0, 839.0, 420.0));
        assert_eq!(found.change_sd_per_day, Some(1.0));
    }

    #[test]
    fn zeros_that_stand_for_nothing_can_be_left_out() {
        let values = days((0..900).map(|i| if i % 50 == 0 { 0.0 } else { 8.0 + f64::from(i % 7) }));
        assert_eq!(Record::of(&values, HISTORY, Some(0.0), false).unwrap().least, 8.0);
        assert_eq!(Record::of(&values, HISTORY, None, false).unwrap().least, 0.0);
    }

    #[test]
    fn a_record_shorter_than_two_years_is_none() {
        assert!(Record::of(&days((0..60 + 365).map(f64::from)), HISTORY, None, false).is_none());
        let mut sparse = days((0..900).map(f64::from));
        (0..900)
            .filter(|i| i % 5 != 0)
            .for_each(|i| sparse.values[i] = None);
        assert!(Record::of(&sparse, HISTORY, None, false).is_none());
    }
}
