//! Time intervals as the service writes them: ISO 8601, start and duration.

use chrono::{DateTime, Duration, Utc};

use crate::sources::stamp::read_rfc3339;

/// Longest interval that is believed: a forecast reaches eight days.
const LONGEST: Duration = Duration::days(60);

/// A half-open interval of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interval {
    /// First instant.
    pub from: DateTime<Utc>,
    /// First instant after it.
    pub to: DateTime<Utc>,
}

/// The interval of a text such as `2022-02-03T21:00:00+00:00/PT2H` or `.../P7DT14H`; `None` for any other
/// form, for months and years, whose length depends on the calendar, and for an empty or endless interval.
///
/// ```
/// use plungeline::sources::nws::read_interval;
/// let interval = read_interval("2022-02-03T21:00:00+00:00/P1DT2H").unwrap();
/// assert_eq!((interval.to - interval.from).num_hours(), 26);
/// assert_eq!(read_interval("2022-02-03T21:00:00+00:00/P1M"), None);
/// ```
pub fn read_interval(text: &str) -> Option<Interval> {
    let (from, duration) = text.trim().split_once('/')?;
    let from = read_rfc3339(from)?;
    let duration = read_duration(duration)?;
    if duration <= Duration::zero() || duration > LONGEST {
        return None;
    }
    let to = from.checked_add_signed(duration)?;
    Some(Interval { from, to })
}

/// ISO 8601 `PnW`, `PnDTnHnMnS` in whole numbers, each part at most once and in this order.
fn read_duration(text: &str) -> Option<Duration> {
    let body = text.strip_prefix('P')?;
    let (days, clock) = match body.split_once('T') {
        Some((_, "")) => return None,
        Some((days, clock)) => (days, clock),
        None => (body, ""),
    };
    if days.is_empty() && clock.is_empty() {
        return None;
    }
    let of_days = read_parts(days, &[('W', 7 * 86_400), ('D', 86_400)])?;
    let of_clock = read_parts(clock, &[('H', 3600), ('M', 60), ('S', 1)])?;
    Duration::try_seconds(of_days.checked_add(of_clock)?)
}

/// Sum of parts such as `7D` by their designators, in the order of `units`, in seconds.
fn read_parts(mut text: &str, units: &[(char, i64)]) -> Option<i64> {
    let mut sum: i64 = 0;
    let mut units = units.iter();
    while !text.is_empty() {
        let end = text.find(|c: char| !c.is_ascii_digit())?;
        let count: i64 = text[..end].parse().ok()?;
        let designator = text[end..].chars().next()?;
        let (_, seconds) = units.by_ref().find(|(unit, _)| *unit == designator)?;
        sum = sum.checked_add(count.checked_mul(*seconds)?)?;
        text = &text[end + designator.len_utf8()..];
    }
    Some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("PT1H", Some(3600))]
    #[case("P2D", Some(172_800))]
    #[case("P7DT14H", Some(655_200))] // (7 x 24 + 14) h, seen recorded
    #[case("PT1H30M", Some(5400))]
    #[case("P1W", Some(604_800))]
    #[case("P", None)]
    #[case("PT", None)]
    #[case("P1DT", None)]
    #[case("PT1D", None)] // a day after the T
    #[case("PT1M1H", None)] // out of order
    #[case("P1M", None)] // a month has no one length
    #[case("P1.5D", None)]
    #[case("PT-1H", None)]
    #[case("PT1", None)]
    #[case("1D", None)]
    #[case("P9999999999999999999D", None)]
    fn durations_follow_iso_8601(#[case] text: &str, #[case] seconds: Option<i64>) {
        assert_eq!(read_duration(text).map(|d| d.num_seconds()), seconds);
    }

    #[test]
    fn an_interval_keeps_its_offset_and_has_a_length() {
        let interval = read_interval("2022-02-03T21:00:00-08:00/PT2H").unwrap();
        assert_eq!(interval.from.to_rfc3339(), "2022-02-04T05:00:00+00:00");
        assert_eq!(interval.to.to_rfc3339(), "2022-02-04T07:00:00+00:00");
        for text in [
            "2022-02-03T21:00:00-08:00/PT0H",
            "2022-02-03T21:00:00-08:00/P99D",
            "2022-02-03/PT1H",
            "x",
        ] {
            assert_eq!(read_interval(text), None, "{text}");
        }
    }
}
