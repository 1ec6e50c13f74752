//! Seasons of the year with soft edges.

use chrono::{Datelike, Days, NaiveDate};

/// A season that comes back every year, with linear edges outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Season {
    from: (u32, u32),
    to: (u32, u32),
    edge_days: u32,
}

impl Season {
    /// The season from day `from` to day `to`, both `(month, day)` and within it, with edges of
    /// `edge_days`. It may run over the end of the year. `None` where a day does not exist in every year.
    pub fn new(from: (u32, u32), to: (u32, u32), edge_days: u32) -> Option<Season> {
        let every_year = |(month, day)| NaiveDate::from_ymd_opt(2023, month, day).is_some();
        (every_year(from) && every_year(to)).then_some(Season { from, to, edge_days })
    }

    /// First day, `(month, day)`.
    pub fn from(&self) -> (u32, u32) {
        self.from
    }

    /// Last day, `(month, day)`.
    pub fn to(&self) -> (u32, u32) {
        self.to
    }

    /// Weight of `date`: 1 within the season, `1 - d / edge_days` at `d` days outside it, never below 0
    /// (project choice; the species files have edges of 14 days).
    pub fn weight(&self, date: NaiveDate) -> f64 {
        let outside = (date.year() - 2..=date.year() + 1)
            .filter_map(|year| self.days_outside(date, year))
            .min()
            .unwrap_or(i64::MAX);
        match outside {
            0 => 1.0,
            d if d >= i64::from(self.edge_days) => 0.0,
            d => 1.0 - d as f64 / f64::from(self.edge_days),
        }
    }

    /// Days from `date` to the season that begins in `year`; 0 within it.
    fn days_outside(&self, date: NaiveDate, year: i32) -> Option<i64> {
        let start = NaiveDate::from_ymd_opt(year, self.from.0, self.from.1)?;
        let end_year = if self.to < self.from { year + 1 } else { year };
        let mut end = NaiveDate::from_ymd_opt(end_year, self.to.0, self.to.1)?;
        if self.to == (2, 28) && end.leap_year() {
            end = end.checked_add_days(Days::new(1))?;
        }
        Some((start - date).num_days().max((date - end).num_days()).max(0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_season_over_the_new_year_is_full_inside_and_falls_to_nothing_in_two_weeks() {
        let run = Season::new((12, 1), (5, 31), 14).unwrap();
        for inside in [
            "2025-12-01",
            "2026-01-01",
            "2026-03-10",
            "2024-02-29",
            "2026-05-31",
        ] {
            assert_eq!(run.weight(day(inside)), 1.0, "{inside}");
        }
        assert_eq!(run.weight(day("2026-06-07")), 0.5, "7 of 14 days after the end");
        assert_eq!(
            run.weight(day("2025-11-24")),
            0.5,
            "7 of 14 days before the start"
        );
        assert_eq!(run.weight(day("2026-06-14")), 0.0);
        assert_eq!(run.weight(day("2025-11-17")), 0.0);
        assert_eq!(run.weight(day("2026-08-15")), 0.0);
    }

    #[test]
    fn a_season_within_one_year_does_not_leak_into_the_others() {
        let run = Season::new((9, 1), (11, 30), 14).unwrap();
        assert_eq!(run.weight(day("2026-10-15")), 1.0);
        assert_eq!(run.weight(day("2026-08-31")), 1.0 - 1.0 / 14.0);
        assert_eq!(run.weight(day("2026-12-13")), 1.0 - 13.0 / 14.0);
        assert_eq!(run.weight(day("2026-03-01")), 0.0);
    }

    #[test]
    fn an_edge_of_no_days_is_a_hard_edge() {
        let season = Season::new((3, 1), (3, 31), 0).unwrap();
        assert_eq!(season.weight(day("2026-03-31")), 1.0);
        assert_eq!(season.weight(day("2026-04-01")), 0.0);
    }

    #[test]
    fn a_season_that_ends_with_february_holds_the_leap_day() {
        let season = Season::new((12, 1), (2, 28), 0).unwrap();
        assert_eq!(season.weight(day("2024-02-29")), 1.0);
        assert_eq!(season.weight(day("2024-03-01")), 0.0);
    }

    #[test]
    fn a_day_that_does_not_exist_every_year_is_refused() {
        assert_eq!(Season::new((2, 29), (3, 1), 14), None);
        assert_eq!(Season::new((4, 1), (4, 31), 14), None);
    }
}
