//! How a flow usually changes from one day of the year to another.

use chrono::Datelike;

use crate::series::Daily;

/// Days either side of a day of the year that are pooled, values needed among them, and years of record from
/// which a usual course is believed (project choices).
const POOLED_DAYS: usize = 7;
const POOLED_MIN_COUNT: usize = 20;
const MIN_YEARS: usize = 3;
const YEAR_DAYS: usize = 365;

/// Mean logarithm of a flow by day of the year.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct UsualCourse {
    log_flow: Vec<Option<f64>>,
}

impl UsualCourse {
    /// From the positive flows of `daily` up to entry `end`; `None` for fewer than three years.
    pub fn of(daily: &Daily, end: usize) -> Option<UsualCourse> {
        if end < MIN_YEARS * YEAR_DAYS {
            return None;
        }
        let mut sums = vec![(0.0, 0_usize); YEAR_DAYS];
        for (i, flow) in daily.value.iter().enumerate().take(end + 1) {
            if let Some(flow) = flow.filter(|q| *q > 0.0) {
                let slot = &mut sums[day_of_year(daily, i)];
                *slot = (slot.0 + flow.ln(), slot.1 + 1);
            }
        }
        let pooled = |day: usize| {
            let window = (0..=2 * POOLED_DAYS).map(|k| sums[(day + YEAR_DAYS + k - POOLED_DAYS) % YEAR_DAYS]);
            let (sum, count) = window.fold((0.0, 0), |all, one| (all.0 + one.0, all.1 + one.1));
            (count >= POOLED_MIN_COUNT).then(|| sum / count as f64)
        };
        Some(UsualCourse {
            log_flow: (0..YEAR_DAYS).map(pooled).collect(),
        })
    }

    /// Usual flow `lead` days after entry `from` over the usual flow at it; `None` where the record has too few
    /// values on either.
    pub fn ratio(&self, daily: &Daily, from: usize, lead: usize) -> Option<f64> {
        let day = day_of_year(daily, from);
        let (now, then) = (self.log_flow[day]?, self.log_flow[(day + lead) % YEAR_DAYS]?);
        Some((then - now).exp())
    }
}

/// Day of the year of an entry, from 0; the last of a leap year counts with the one before.
pub(super) fn day_of_year(daily: &Daily, index: usize) -> usize {
    (daily.date(index).ordinal0() as usize).min(YEAR_DAYS - 1)
}

/// Whether two days of the year lie within `days` of each other, around the turn of the year too.
pub(super) fn is_same_season(one: usize, other: usize, days: usize) -> bool {
    let apart = one.abs_diff(other);
    apart.min(YEAR_DAYS - apart) <= days
}
