//! Means by day of the year, from other years than the one that lacks a value: the last resort.

use chrono::{Datelike as _, Duration, NaiveDate};

use crate::series::Daily;

/// Days either side of the date, and values that a mean needs (project choices: a week is short against the season).
const WINDOW_DAYS: i64 = 7;
const FEWEST: usize = 5;
/// Days from the date within which a value is no other year's.
const OWN_YEAR_DAYS: i64 = 180;

/// Mean of the values within a week of the date in other years, of days before `today`; `None` for fewer than five.
pub(super) fn normal(table: &Daily, date: NaiveDate, today: NaiveDate) -> Option<f64> {
    let (first, last) = (table.first, table.last()?);
    let (mut sum, mut count) = (0.0, 0_usize);
    for year in first.year() - 1..=last.year() + 1 {
        // 29 February stands for the 28th of other years.
        let Some(there) = date
            .with_year(year)
            .or_else(|| (date - Duration::days(1)).with_year(year))
        else {
            continue;
        };
        if (there - date).num_days().abs() < OWN_YEAR_DAYS {
            continue;
        }
        for off in -WINDOW_DAYS..=WINDOW_DAYS {
            let day = there + Duration::days(off);
            if let Some(value) = table.get(day).filter(|_| day < today) {
                sum += value;
                count += 1;
            }
        }
    }
    (count >= FEWEST).then(|| sum / count as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    #[test]
    fn a_normal_is_of_other_years_and_of_the_past_alone() {
        // Each year has its own value: 2021 is 1, 2022 is 2, 2023 is 3.
        let value = |i: usize| {
            Some(f64::from(
                (day(2021, 1, 1) + Duration::days(i as i64)).year() - 2020,
            ))
        };
        let table = Daily::new(day(2021, 1, 1), (0..3 * 365).map(value).collect());
        let today = day(2024, 1, 1);
        // By hand: the mean of 2 and 3, of 1 and 3, of 1 and 2.
        for (year, wanted) in [(2021, 2.5), (2022, 2.0), (2023, 1.5), (2030, 2.0)] {
            let found = normal(&table, day(year, 6, 15), today).unwrap();
            // Rounding of a sum of thirty.
            assert!((found - wanted).abs() < 1e-12, "{year}: {found}");
        }
        // From the middle of 2022 on nothing was known: 2021 is left.
        assert_eq!(normal(&table, day(2030, 6, 30), day(2022, 6, 1)), Some(1.0));
        assert_eq!(normal(&table, day(2021, 6, 30), day(2022, 6, 1)), None);
        assert!(normal(&table, day(2024, 2, 29), today).is_some());
    }
}
