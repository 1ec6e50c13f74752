//! What a value belongs to: a day, or an instant.

use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, Utc};

/// A day, or an instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stamp {
    /// A day.
    Day(NaiveDate),
    /// An instant.
    Instant(DateTime<Utc>),
}

impl std::fmt::Display for Stamp {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Stamp::Day(day) => write!(f, "{day}"),
            Stamp::Instant(instant) => write!(f, "{}", instant.format("%Y-%m-%dT%H:%M:%SZ")),
        }
    }
}

/// Years with four digits. chrono reads `25-12-26` as a day of the year 25, and years so far off that
/// adding an offset to them overflows; neither is a measurement.
const YEARS: std::ops::RangeInclusive<i32> = 1000..=9999;

/// The day of a text in one of `forms`.
pub fn read_day(text: &str, forms: &[&str]) -> Option<NaiveDate> {
    forms
        .iter()
        .filter_map(|form| NaiveDate::parse_from_str(text, form).ok())
        .find(|day| YEARS.contains(&day.year()))
}

/// The civil time of a text in one of `forms`.
pub fn read_civil(text: &str, forms: &[&str]) -> Option<NaiveDateTime> {
    forms
        .iter()
        .filter_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
        .find(|civil| YEARS.contains(&civil.year()))
}

/// The instant of an RFC 3339 text, which carries its offset.
pub fn read_rfc3339(text: &str) -> Option<DateTime<Utc>> {
    let instant = DateTime::parse_from_rfc3339(text).ok()?.with_timezone(&Utc);
    YEARS.contains(&instant.year()).then_some(instant)
}

/// The instant of a unix time in whole seconds.
pub fn read_unix(unix_s: f64) -> Option<DateTime<Utc>> {
    if unix_s.fract() != 0.0 || unix_s.abs() > 1e12 {
        return None;
    }
    DateTime::from_timestamp(unix_s as i64, 0).filter(|instant| YEARS.contains(&instant.year()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_year_of_two_digits_is_no_year() {
        assert_eq!(read_day("25-12-26", &["%Y-%m-%d"]), None);
        assert_eq!(read_day("07/04/25", &["%m/%d/%Y"]), None);
        assert_eq!(read_day("262142-12-31", &["%Y-%m-%d"]), None);
        assert_eq!(
            read_day("2025-12-26", &["%Y-%m-%d"]),
            NaiveDate::from_ymd_opt(2025, 12, 26)
        );
        assert_eq!(read_rfc3339("0025-12-26T00:00:00Z"), None);
        assert_eq!(read_unix(1e12), None); // year 33658
    }
}
