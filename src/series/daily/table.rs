//! The daily series as a value.

use chrono::{Days, NaiveDate};

/// A daily series without holes in its dates.
#[derive(Debug, Clone, PartialEq)]
pub struct Daily {
    /// Standard-time day of the first value.
    pub first: NaiveDate,
    /// One entry a day; `None` where there is no value. Shape `[day]`.
    pub value: Vec<Option<f64>>,
    /// Whether a gap rule filled the value. Shape `[day]`.
    pub filled: Vec<bool>,
    /// Whether the value rests on suspect readings (flag 3). Shape `[day]`.
    pub suspect: Vec<bool>,
}

impl Daily {
    /// A series of values as they stand, nothing filled, nothing suspect.
    pub fn new(first: NaiveDate, value: Vec<Option<f64>>) -> Daily {
        let days = value.len();
        Daily {
            first,
            value,
            filled: vec![false; days],
            suspect: vec![false; days],
        }
    }

    /// Position of `date`; `None` outside the series.
    pub fn index(&self, date: NaiveDate) -> Option<usize> {
        let index = usize::try_from((date - self.first).num_days()).ok()?;
        (index < self.value.len()).then_some(index)
    }

    /// Day of entry `index`.
    pub fn date(&self, index: usize) -> NaiveDate {
        self.first
            .checked_add_days(Days::new(index as u64))
            .unwrap_or(NaiveDate::MAX)
    }

    /// Value of `date`; `None` outside the series and in its gaps.
    pub fn get(&self, date: NaiveDate) -> Option<f64> {
        self.index(date).and_then(|i| self.value[i])
    }

    /// Day of the last entry; `None` for an empty series.
    pub fn last(&self) -> Option<NaiveDate> {
        self.value.len().checked_sub(1).map(|i| self.date(i))
    }

    /// Whether entry `index` was measured: it has a value, and no gap rule made it.
    pub fn is_measured(&self, index: usize) -> bool {
        self.value.get(index).is_some_and(Option::is_some) && !self.filled[index]
    }

    /// The newest measured entry on or before `date`.
    pub fn newest_measured(&self, date: NaiveDate) -> Option<usize> {
        let days = usize::try_from((date - self.first).num_days() + 1).ok()?;
        (0..days.min(self.value.len()))
            .rev()
            .find(|&i| self.is_measured(i))
    }

    /// The entries from `from` to `to`, both included, cut to the series; `None` when nothing is left.
    pub fn slice(&self, from: NaiveDate, to: NaiveDate) -> Option<Daily> {
        let start = usize::try_from((from - self.first).num_days().max(0)).ok()?;
        let end = usize::try_from((to - self.first).num_days() + 1)
            .ok()?
            .min(self.value.len());
        (start < end).then(|| Daily {
            first: self.date(start),
            value: self.value[start..end].to_vec(),
            filled: self.filled[start..end].to_vec(),
            suspect: self.suspect[start..end].to_vec(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2025, 7, d).unwrap()
    }

    #[test]
    fn a_date_outside_the_series_has_no_value() {
        let series = Daily::new(day(3), vec![Some(1.0), None, Some(3.0)]);
        assert_eq!(series.get(day(2)), None);
        assert_eq!(series.get(day(3)), Some(1.0));
        assert_eq!(series.get(day(4)), None);
        assert_eq!(series.get(day(6)), None);
        assert_eq!(series.last(), Some(day(5)));
    }

    #[test]
    fn the_newest_measured_day_passes_over_filled_days() {
        let mut series = Daily::new(day(1), vec![Some(1.0), Some(2.0), Some(3.0), None]);
        series.filled[2] = true;
        assert_eq!(series.newest_measured(day(9)), Some(1));
        assert_eq!(series.newest_measured(day(1)), Some(0));
        assert_eq!(
            series.newest_measured(NaiveDate::from_ymd_opt(2025, 6, 30).unwrap()),
            None
        );
    }

    #[test]
    fn a_slice_is_cut_to_the_series() {
        let series = Daily::new(day(3), vec![Some(1.0), None, Some(3.0)]);
        let cut = series.slice(day(1), day(4)).unwrap();
        assert_eq!((cut.first, cut.value), (day(3), vec![Some(1.0), None]));
        assert!(series.slice(day(6), day(9)).is_none());
    }
}
