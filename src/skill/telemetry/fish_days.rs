//! Days of tagged fish by month and area, and the shares that follow from them.

use crate::skill::intervals::Interval;

/// Months of a year.
pub const MONTHS: usize = 12;

/// Days of tagged fish: of one fish, or of many together.
#[derive(Debug, Clone, PartialEq)]
pub struct FishDays {
    /// Days in each area. Shape `[month][area]`.
    pub placed: Vec<Vec<f64>>,
    /// Days on which the fish was alive somewhere, and nothing tells where. Shape `[month]`.
    pub unplaced_days: Vec<f64>,
}

impl FishDays {
    /// No days, of so many areas.
    pub fn none(areas: usize) -> FishDays {
        FishDays {
            placed: vec![vec![0.0; areas]; MONTHS],
            unplaced_days: vec![0.0; MONTHS],
        }
    }

    /// Adds the days of another, each counted `weight` times.
    pub fn add(&mut self, other: &FishDays, weight: f64) {
        for month in 0..MONTHS {
            for (sum, days) in self.placed[month].iter_mut().zip(&other.placed[month]) {
                *sum += weight * days;
            }
            self.unplaced_days[month] += weight * other.unplaced_days[month];
        }
    }

    /// Days of a month that have a place.
    pub fn placed_days(&self, month: usize) -> f64 {
        self.placed[month].iter().sum()
    }

    /// Share of the placed days of a month that was spent in the areas of `group`; `None` without any.
    pub fn share(&self, month: usize, group: &[usize]) -> Option<f64> {
        let all_days = self.placed_days(month);
        let in_group = || group.iter().map(|a| self.placed[month][*a]).sum::<f64>();
        (all_days > 0.0).then(|| in_group() / all_days)
    }

    /// Least and greatest share of `group` that the days without a place allow: none of them there, or all. `None` without days.
    ///
    /// No assumption stands behind these bounds but that the fish was alive (Manski 1990, from memory).
    pub fn bounds(&self, month: usize, group: &[usize]) -> Option<Interval> {
        let all_days = self.placed_days(month) + self.unplaced_days[month];
        let in_group: f64 = group.iter().map(|a| self.placed[month][*a]).sum();
        (all_days > 0.0).then(|| Interval {
            low: in_group / all_days,
            high: (in_group + self.unplaced_days[month]) / all_days,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_of_the_placed_days_and_bounds_of_all() {
        let mut days = FishDays::none(3);
        assert_eq!((days.share(0, &[0]), days.bounds(0, &[0])), (None, None));
        days.placed[4] = vec![2.0, 5.0, 1.0];
        days.unplaced_days[4] = 2.0;
        // By hand: 6 of 8 days; of 10 days at least 6 and at most 8.
        assert_eq!(days.share(4, &[1, 2]), Some(0.75));
        assert_eq!(days.bounds(4, &[1, 2]), Some(Interval { low: 0.6, high: 0.8 }));
        let mut twice = FishDays::none(3);
        twice.add(&days, 2.0);
        assert_eq!((twice.placed_days(4), twice.unplaced_days[4]), (16.0, 4.0));
    }
}
