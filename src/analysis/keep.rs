//! Which days' states are kept.

use chrono::{Datelike as _, Days, NaiveDate};

/// Newest days whose states are all kept: a gauge is late by hours, an archive of the weather by a week (project choice).
const NEWEST_DAYS: u64 = 10;

/// Whether the state of a day is kept in a run up to `today`: of the newest ten days every one, before them the last of each
/// month, so that a value revised long ago does not cost the whole year's run.
pub fn days_kept(day: NaiveDate, today: NaiveDate) -> bool {
    let last_of_month = day.succ_opt().is_some_and(|next| next.month() != day.month());
    last_of_month
        || today
            .checked_sub_days(Days::new(NEWEST_DAYS))
            .is_none_or(|oldest| day >= oldest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_a_year_ten_days_and_the_months_ends_are_kept() {
        let today = NaiveDate::from_ymd_opt(2025, 10, 9).unwrap();
        let kept: Vec<String> = (1..300)
            .filter_map(|ago| today.checked_sub_days(Days::new(ago)))
            .filter(|day| days_kept(*day, today))
            .map(|day| day.format("%m-%d").to_string())
            .collect();
        let newest = [
            "10-08", "10-07", "10-06", "10-05", "10-04", "10-03", "10-02", "10-01", "09-30", "09-29",
        ];
        assert_eq!(kept[..10], newest);
        // 300 days before 9 October is 13 December.
        let ends = [
            "08-31", "07-31", "06-30", "05-31", "04-30", "03-31", "02-28", "01-31", "12-31",
        ];
        assert_eq!(kept[10..], ends);
    }
}
