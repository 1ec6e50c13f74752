//! Times in a table: days, instants with an offset, and civil times whose zone the lake file declares.

use chrono::{
    DateTime, FixedOffset, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone, Utc,
};
use chrono_tz::Tz;

use crate::sources::error::ReadError;
use crate::sources::stamp::{Stamp, read_civil, read_day, read_rfc3339};

/// Forms of a civil time without offset.
const FORMS: [&str; 6] = [
    "%Y-%m-%dT%H:%M:%S%.f",
    "%Y-%m-%d %H:%M:%S%.f",
    "%Y-%m-%dT%H:%M",
    "%Y-%m-%d %H:%M",
    "%Y/%m/%d %H:%M",
    "%m/%d/%Y %H:%M",
];
/// Forms of a day.
const DAY_FORMS: [&str; 3] = ["%Y-%m-%d", "%Y/%m/%d", "%m/%d/%Y"];

/// Zone of stamps that carry none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StampZone {
    /// A fixed offset all year.
    Fixed(FixedOffset),
    /// A zone with clock changes.
    Named(Tz),
}

impl StampZone {
    /// The zone of a text: an IANA name, `UTC`, `Z`, or an offset such as `-08:00`.
    ///
    /// # Errors
    /// [`ReadError::Zone`].
    pub fn read(text: &str) -> Result<StampZone, ReadError> {
        let text = text.trim();
        if matches!(text, "UTC" | "utc" | "Z" | "GMT") {
            return Ok(StampZone::Fixed(Utc.fix()));
        }
        if let Some(offset) = read_offset(text) {
            return Ok(StampZone::Fixed(offset));
        }
        text.parse::<Tz>()
            .map(StampZone::Named)
            .map_err(|_| ReadError::Zone {
                found: text.to_owned(),
            })
    }

    /// The instant of a civil time. Of an hour that occurs twice it is the first that is not before
    /// `earliest`, or the second. An hour that a clock change skips has none.
    pub fn instant(self, civil: NaiveDateTime, earliest: Option<DateTime<Utc>>) -> Option<DateTime<Utc>> {
        match self {
            StampZone::Fixed(offset) => offset
                .from_local_datetime(&civil)
                .single()
                .map(|instant| instant.with_timezone(&Utc)),
            StampZone::Named(zone) => match zone.from_local_datetime(&civil) {
                LocalResult::Single(instant) => Some(instant.with_timezone(&Utc)),
                LocalResult::Ambiguous(first, second) => {
                    let (first, second) = (first.with_timezone(&Utc), second.with_timezone(&Utc));
                    Some(if earliest.is_some_and(|earliest| first < earliest) {
                        second
                    } else {
                        first
                    })
                }
                LocalResult::None => None,
            },
        }
    }

    /// The first instant of a day, where days are wanted as instants.
    pub fn day_start(self, day: NaiveDate) -> Option<DateTime<Utc>> {
        self.instant(day.and_time(NaiveTime::MIN), None)
    }
}

fn read_offset(text: &str) -> Option<FixedOffset> {
    let (sign, rest) = match text.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-", rest) => (-1, rest),
        _ => return None,
    };
    let (hours, minutes) = match rest.split_once(':') {
        Some((hours, minutes)) => (hours, minutes),
        None if rest.len() == 4 && rest.is_ascii() => rest.split_at(2),
        None => (rest, "0"),
    };
    let digits = |text: &str| {
        text.parse::<i32>()
            .ok()
            .filter(|_| text.bytes().all(|b| b.is_ascii_digit()))
    };
    let (hours, minutes) = (digits(hours)?, digits(minutes)?);
    if hours > 14 || minutes > 59 {
        return None;
    }
    FixedOffset::east_opt(sign * (hours * 3600 + minutes * 60))
}

/// Reads one stamp; `earliest` is where a table in order of time can have it at the earliest, and
/// decides in an hour that occurs twice. The error says what was wanted.
pub(super) fn read_stamp(
    text: &str,
    zone: StampZone,
    earliest: Option<DateTime<Utc>>,
) -> Result<Stamp, &'static str> {
    let text = text.trim();
    let civil = match read_iso(text) {
        Some((day, None)) => return Ok(Stamp::Day(day)),
        Some((day, Some(time))) => Some(day.and_time(time)),
        None => None,
    };
    if let Some(day) = civil.is_none().then(|| read_day(text, &DAY_FORMS)).flatten() {
        return Ok(Stamp::Day(day));
    }
    // RFC 3339 allows a blank for the T.
    if let Some(instant) = civil.is_none().then(|| read_rfc3339(text)).flatten() {
        return Ok(Stamp::Instant(instant));
    }
    let civil = civil
        .or_else(|| read_civil(text, &FORMS))
        .ok_or("a day, a time such as 2025-03-09T04:30:00, or one with an offset")?;
    zone.instant(civil, earliest)
        .map(Stamp::Instant)
        .ok_or("a time that exists: clocks skip this hour on that day")
}

/// The day, and the time of the day, of `2025-03-09` and `2025-03-09T04:30:00` (a blank for the T), padded and without
/// offset: the forms of nearly all tables, read without trying every form there is. `None` for any other text.
fn read_iso(text: &str) -> Option<(NaiveDate, Option<NaiveTime>)> {
    let bytes = text.as_bytes();
    let number = |from: usize, to: usize| {
        let digits = bytes.get(from..to)?;
        let all = digits.iter().all(u8::is_ascii_digit);
        all.then(|| {
            digits
                .iter()
                .fold(0, |sum, digit| 10 * sum + u32::from(digit - b'0'))
        })
    };
    let is = |at: usize, mark: u8| bytes.get(at) == Some(&mark);
    if !(is(4, b'-') && is(7, b'-')) {
        return None;
    }
    let year = i32::try_from(number(0, 4)?).ok().filter(|year| *year >= 1000)?;
    let day = NaiveDate::from_ymd_opt(year, number(5, 7)?, number(8, 10)?)?;
    match bytes.len() {
        10 => Some((day, None)),
        19 if (is(10, b'T') || is(10, b' ')) && is(13, b':') && is(16, b':') => {
            let time = NaiveTime::from_hms_opt(number(11, 13)?, number(14, 16)?, number(17, 19)?)?;
            Some((day, Some(time)))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, zone: &str, earliest: Option<&str>) -> Result<String, &'static str> {
        let earliest = earliest.map(|p| DateTime::parse_from_rfc3339(p).unwrap().with_timezone(&Utc));
        read_stamp(text, StampZone::read(zone).unwrap(), earliest).map(|stamp| match stamp {
            Stamp::Day(day) => day.to_string(),
            Stamp::Instant(instant) => instant.format("%Y-%m-%dT%H:%MZ").to_string(),
        })
    }

    #[test]
    fn a_declared_zone_gives_a_naive_stamp_its_instant() {
        // Offsets of America/Los_Angeles: -08:00 in winter, -07:00 in summer.
        assert_eq!(
            read("2025-01-10T04:30:00", "America/Los_Angeles", None).unwrap(),
            "2025-01-10T12:30Z"
        );
        assert_eq!(
            read("2025-07-24 04:30", "America/Los_Angeles", None).unwrap(),
            "2025-07-24T11:30Z"
        );
        assert_eq!(
            read("2025-07-24 04:30", "-08:00", None).unwrap(),
            "2025-07-24T12:30Z"
        );
        assert_eq!(
            read("2025-07-24 04:30", "UTC", None).unwrap(),
            "2025-07-24T04:30Z"
        );
    }

    #[test]
    fn an_offset_in_the_stamp_wins_over_the_declared_zone() {
        assert_eq!(
            read("2025-07-24T04:30:00-05:00", "UTC", None).unwrap(),
            "2025-07-24T09:30Z"
        );
        assert_eq!(
            read("2025-07-24T04:30:00Z", "-08:00", None).unwrap(),
            "2025-07-24T04:30Z"
        );
    }

    #[test]
    fn the_hour_that_clocks_skip_is_refused() {
        // 2025-03-09 02:00 to 03:00 does not exist in Los Angeles.
        let wanted = read("2025-03-09T02:30:00", "America/Los_Angeles", None).unwrap_err();
        assert!(wanted.contains("clocks skip"), "{wanted}");
    }

    #[test]
    fn of_the_hour_that_occurs_twice_the_order_of_the_rows_decides() {
        // 2025-11-02 01:30 in Los Angeles: first at 08:30Z (daylight time), again at 09:30Z.
        let read = |earliest| read("2025-11-02T01:30:00", "America/Los_Angeles", earliest).unwrap();
        assert_eq!(read(None), "2025-11-02T08:30Z");
        assert_eq!(read(Some("2025-11-02T08:30:00Z")), "2025-11-02T08:30Z");
        assert_eq!(read(Some("2025-11-02T08:30:01Z")), "2025-11-02T09:30Z");
    }

    #[test]
    fn the_short_way_reads_what_the_long_way_does() {
        let long = |text: &str| {
            read_day(text, &DAY_FORMS)
                .map(|day| (day, None))
                .or_else(|| read_civil(text, &FORMS).map(|civil| (civil.date(), Some(civil.time()))))
        };
        for text in [
            "2025-03-09",
            "1000-01-01",
            "9999-12-31",
            "2024-02-29",
            "2025-03-09T23:59:59",
            "2025-03-09 00:00:00",
        ] {
            assert!(read_iso(text).is_some(), "{text}");
            assert_eq!(read_iso(text), long(text), "{text}");
        }
        for text in [
            "2025-02-29",
            "0025-03-09",
            "2025-3-9",
            "2025-03-09T24:00:00",
            "2025-03-09T04:30:60",
            "2025-03-09é",
        ] {
            assert_eq!(read_iso(text), None, "{text}");
        }
    }

    #[test]
    fn days_and_zones_are_read_in_their_usual_forms() {
        for text in ["2025-07-04", "2025/07/04", "07/04/2025"] {
            assert_eq!(read(text, "UTC", None).unwrap(), "2025-07-04");
        }
        for zone in ["-08:00", "-0800", "-8"] {
            assert_eq!(
                StampZone::read(zone).unwrap(),
                StampZone::Fixed(FixedOffset::west_opt(8 * 3600).unwrap())
            );
        }
        for zone in ["Pacific", "", "-99:00", "+1:70", "+é"] {
            assert!(
                matches!(StampZone::read(zone), Err(ReadError::Zone { .. })),
                "{zone}"
            );
        }
    }
}
