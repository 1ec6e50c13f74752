//! The season in which the turnover of a lake is asked for.

use chrono::{Datelike as _, NaiveDate};

/// A day of the year, month and day; one that a year lacks (29 February) is the last of its month there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MonthDay {
    month: u32,
    day: u32,
}

impl MonthDay {
    /// From `MM-DD`; `None` for what is no day of a leap year.
    pub fn read(text: &str) -> Option<MonthDay> {
        let (month, day) = text.trim().split_once('-')?;
        let (month, day) = (month.parse().ok()?, day.parse().ok()?);
        NaiveDate::from_ymd_opt(2024, month, day)?;
        Some(MonthDay { month, day })
    }

    /// The day in a year.
    pub fn in_year(self, year: i32) -> Option<NaiveDate> {
        NaiveDate::from_ymd_opt(year, self.month, self.day)
            .or_else(|| NaiveDate::from_ymd_opt(year, self.month, self.day - 1))
    }
}

/// The season: from its first day to its last, which may lie in the next year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TurnoverSeason {
    /// First day on which an outlook is made.
    pub from: MonthDay,
    /// Last day that it looks at.
    pub until: MonthDay,
}

impl TurnoverSeason {
    /// From July to the end of February; half a year later south of the equator (project choice: no lake of the temperate zones turns over
    /// in autumn before July, and what has not by February will not).
    pub fn of_latitude(latitude_deg: f64) -> TurnoverSeason {
        let day = |month, day| MonthDay { month, day };
        if latitude_deg >= 0.0 {
            TurnoverSeason {
                from: day(7, 1),
                until: day(2, 29),
            }
        } else {
            TurnoverSeason {
                from: day(1, 1),
                until: day(8, 31),
            }
        }
    }

    /// The season that `today` lies in, its first and last day.
    pub fn around(&self, today: NaiveDate) -> Option<(NaiveDate, NaiveDate)> {
        let begun = [today.year(), today.year() - 1].into_iter();
        let spans = begun.filter_map(|year| {
            let from = self.from.in_year(year)?;
            let until = self.until.in_year(year).filter(|until| *until > from);
            Some((from, until.or_else(|| self.until.in_year(year + 1))?))
        });
        spans
            .into_iter()
            .find(|(from, until)| (*from..=*until).contains(&today))
    }

    /// First day of the next season after `today`.
    pub fn next(&self, today: NaiveDate) -> Option<NaiveDate> {
        let years = [today.year(), today.year() + 1].into_iter();
        years
            .filter_map(|year| self.from.in_year(year))
            .find(|day| *day > today)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    #[test]
    fn the_season_goes_over_the_new_year_and_ends_with_february() {
        let north = TurnoverSeason::of_latitude(42.0);
        let of_2025 = Some((day(2025, 7, 1), day(2026, 2, 28)));
        for inside in [
            day(2025, 7, 1),
            day(2025, 12, 31),
            day(2026, 1, 17),
            day(2026, 2, 28),
        ] {
            assert_eq!(north.around(inside), of_2025, "{inside}");
        }
        assert_eq!(
            north.around(day(2024, 2, 29)),
            Some((day(2023, 7, 1), day(2024, 2, 29)))
        );
        for outside in [day(2026, 3, 1), day(2026, 6, 30)] {
            assert_eq!(north.around(outside), None, "{outside}");
            assert_eq!(north.next(outside), Some(day(2026, 7, 1)));
        }
    }

    #[test]
    fn in_the_south_it_lies_within_the_year() {
        let south = TurnoverSeason::of_latitude(-38.0);
        assert_eq!(
            south.around(day(2026, 8, 31)),
            Some((day(2026, 1, 1), day(2026, 8, 31)))
        );
        assert_eq!(south.around(day(2026, 9, 1)), None);
        assert_eq!(south.next(day(2026, 9, 1)), Some(day(2027, 1, 1)));
    }

    #[test]
    fn what_is_no_day_is_refused() {
        for text in ["", "7", "13-01", "02-30", "07/01", "00-10", "-1-5"] {
            assert_eq!(MonthDay::read(text), None, "{text}");
        }
        assert_eq!(
            MonthDay::read("02-29").and_then(|d| d.in_year(2025)),
            Some(day(2025, 2, 28))
        );
    }
}
