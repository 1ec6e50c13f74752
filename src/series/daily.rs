//! One value a standard-time day, and how it is made from values within the day.

use chrono::NaiveDate;

/// A daily series without holes in its dates.
#[derive(Debug, Clone, PartialEq)]
pub struct Daily {
    /// Standard-time day of the first value.
    pub first: NaiveDate,
    /// One entry a day; `None` where there is no value. Shape `[day]`.
    pub value: Vec<Option<f64>>,
    /// Whether a gap rule filled the value. Shape `[day]`.
    pub filled: Vec<bool>,
}

impl Daily {
    /// Value of `date`; `None` outside the series and in its gaps.
    pub fn get(&self, date: NaiveDate) -> Option<f64> {
        let index = (date - self.first).num_days();
        usize::try_from(index)
            .ok()
            .and_then(|i| self.value.get(i).copied().flatten())
    }

    /// Day of the last entry; `None` for an empty series.
    pub fn last(&self) -> Option<NaiveDate> {
        let last = self.value.len().checked_sub(1)?;
        self.first.checked_add_days(chrono::Days::new(last as u64))
    }
}
