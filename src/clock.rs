//! Instants, the lake's civil day, and its standard-time day.
//!
//! Everything inside is UTC. Two kinds of local day exist and are never mixed: the **civil** day of
//! the people at the lake (23 or 25 h long at a clock change), and the **standard** day, midnight to
//! midnight in local standard time all year, which gauges and climate stations use.

use chrono::{
    DateTime, Duration, FixedOffset, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone, Utc,
};
use chrono_tz::{OffsetComponents, Tz};

/// The lake's clock: its time zone, and what follows from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LakeClock {
    zone: Tz,
}

impl LakeClock {
    /// The clock of a lake in time zone `zone`.
    pub fn new(zone: Tz) -> Self {
        LakeClock { zone }
    }

    /// The time zone.
    pub fn zone(&self) -> Tz {
        self.zone
    }

    /// `instant` in the lake's civil time.
    pub fn local(&self, instant: DateTime<Utc>) -> DateTime<Tz> {
        instant.with_timezone(&self.zone)
    }

    /// The offset of local standard time at `instant`, daylight saving left out.
    pub fn standard_offset(&self, instant: DateTime<Utc>) -> FixedOffset {
        let base = self
            .zone
            .offset_from_utc_datetime(&instant.naive_utc())
            .base_utc_offset();
        FixedOffset::east_opt(base.num_seconds() as i32).unwrap_or_else(|| Utc.fix())
    }

    /// The standard-time day that holds `instant`.
    pub fn standard_day(&self, instant: DateTime<Utc>) -> NaiveDate {
        instant.with_timezone(&self.standard_offset(instant)).date_naive()
    }

    /// The instant at which standard-time day `date` begins.
    pub fn standard_day_start(&self, date: NaiveDate) -> DateTime<Utc> {
        let midnight = date.and_time(NaiveTime::MIN);
        let offset = self.standard_offset(Utc.from_utc_datetime(&midnight));
        Utc.from_utc_datetime(&(midnight - Duration::seconds(i64::from(offset.local_minus_utc()))))
    }

    /// The civil day that holds `instant`.
    pub fn civil_day(&self, instant: DateTime<Utc>) -> NaiveDate {
        self.local(instant).date_naive()
    }

    /// The instant at which civil day `date` begins. Where a clock change skips midnight, the first
    /// instant that exists.
    pub fn civil_day_start(&self, date: NaiveDate) -> DateTime<Utc> {
        self.instant(date.and_time(NaiveTime::MIN))
    }

    /// The instant of a civil date-time at the lake. Of an hour that occurs twice, the first; of one
    /// that a clock change skips, the instant that stands an hour later on the clock.
    pub fn instant(&self, civil: NaiveDateTime) -> DateTime<Utc> {
        for shift_h in 0..=3 {
            let candidate = civil + Duration::hours(shift_h);
            if let Some(found) = self.zone.from_local_datetime(&candidate).earliest() {
                return found.with_timezone(&Utc);
            }
        }
        Utc.from_utc_datetime(&civil)
    }

    /// Length of the civil day `date` in hours: 23, 24 or 25 where clocks change by one hour.
    pub fn civil_day_length_h(&self, date: NaiveDate) -> f64 {
        let next = date.succ_opt().unwrap_or(date);
        (self.civil_day_start(next) - self.civil_day_start(date)).num_seconds() as f64 / 3600.0
    }
}

/// The hour at which a morning begins for the program: an `--as-of` that names only a day means 04:30
/// at the lake, when the boat is hitched up.
const MORNING: (u32, u32) = (4, 30);

/// An `--as-of` that is no one instant.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AsOfError {
    /// A text of no known form.
    #[error(
        "reading the clock: found {text:?}, wanted a day (2025-10-09, meaning 04:30 at the lake), a time at the lake (2025-10-09T06:00), or an instant with its offset (2025-10-09T11:30:00Z, 2025-10-09T04:30-07:00)"
    )]
    Form {
        /// The text.
        text: String,
    },
    /// A time that a clock change skips.
    #[error(
        "reading the clock: found {text:?}, which the clocks of {zone} skip that day, wanted a time that they show; write an earlier or later one, or an instant with its offset"
    )]
    Skipped {
        /// The text.
        text: String,
        /// Time zone of the lake.
        zone: String,
    },
    /// A time that a clock change repeats.
    #[error(
        "reading the clock: found {text:?}, which the clocks of {zone} show twice that day, wanted one instant; write {first} or {second}"
    )]
    Twice {
        /// The text.
        text: String,
        /// Time zone of the lake.
        zone: String,
        /// The earlier instant.
        first: String,
        /// The later one.
        second: String,
    },
}

impl LakeClock {
    /// The instant that the text of an `--as-of` means: a day alone is 04:30 civil time that day, a
    /// time without an offset is civil time at the lake, a time with an offset (or `Z`) is that instant.
    ///
    /// # Errors
    /// [`AsOfError::Form`] for any other text, such as a date that no calendar has; [`AsOfError::Skipped`] and
    /// [`AsOfError::Twice`] for a civil time that a clock change skips or repeats: a brief must not stand on
    /// another hour than the one that was asked for.
    ///
    /// ```
    /// use plungeline::clock::LakeClock;
    /// let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
    /// let morning = clock.read_as_of("2025-10-09").unwrap();
    /// assert_eq!(morning.to_rfc3339(), "2025-10-09T11:30:00+00:00");
    /// ```
    pub fn read_as_of(&self, text: &str) -> Result<DateTime<Utc>, AsOfError> {
        let trimmed = text.trim();
        if let Ok(date) = trimmed.parse::<NaiveDate>() {
            let morning = date.and_hms_opt(MORNING.0, MORNING.1, 0);
            return self.one_instant(morning.expect("04:30:00 is a time of day"), text);
        }
        for format in [
            "%Y-%m-%dT%H:%M",
            "%Y-%m-%dT%H:%M:%S",
            "%Y-%m-%d %H:%M",
            "%Y-%m-%d %H:%M:%S",
        ] {
            if let Ok(civil) = NaiveDateTime::parse_from_str(trimmed, format) {
                return self.one_instant(civil, text);
            }
        }
        for format in ["%Y-%m-%dT%H:%M%:z", "%Y-%m-%d %H:%M%:z"] {
            if let Ok(instant) = DateTime::parse_from_str(&trimmed.replace(['Z', 'z'], "+00:00"), format) {
                return Ok(instant.with_timezone(&Utc));
            }
        }
        match DateTime::parse_from_rfc3339(trimmed) {
            Ok(instant) => Ok(instant.with_timezone(&Utc)),
            Err(_) => Err(AsOfError::Form {
                text: text.to_owned(),
            }),
        }
    }

    /// The instant of a civil time that occurs once.
    fn one_instant(&self, civil: NaiveDateTime, text: &str) -> Result<DateTime<Utc>, AsOfError> {
        let (text, zone) = (text.to_owned(), self.zone.name().to_owned());
        match self.zone.from_local_datetime(&civil) {
            LocalResult::Single(found) => Ok(found.with_timezone(&Utc)),
            LocalResult::Ambiguous(first, second) => Err(AsOfError::Twice {
                text,
                zone,
                first: first.to_rfc3339(),
                second: second.to_rfc3339(),
            }),
            LocalResult::None => Err(AsOfError::Skipped { text, zone }),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn read(text: &str) -> String {
        let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
        clock
            .read_as_of(text)
            .map_or_else(|e| e.to_string(), |t| t.format("%Y-%m-%dT%H:%M:%SZ").to_string())
    }

    #[test]
    fn a_day_alone_means_half_past_four_at_the_lake() {
        assert_eq!(read("2025-07-24"), "2025-07-24T11:30:00Z");
        assert_eq!(read(" 2026-01-17 "), "2026-01-17T12:30:00Z");
    }

    #[test]
    fn a_time_without_an_offset_is_lake_time() {
        for text in [
            "2025-10-09T06:15",
            "2025-10-09 06:15",
            "2025-10-09T06:15:00",
            "2025-10-09 06:15:00",
        ] {
            assert_eq!(read(text), "2025-10-09T13:15:00Z", "{text}");
        }
    }

    #[test]
    fn a_time_with_an_offset_is_that_instant() {
        for text in [
            "2025-10-09T11:30:00Z",
            "2025-10-09T04:30:00-07:00",
            "2025-10-09T11:30Z",
            "2025-10-09T13:30+02:00",
        ] {
            assert_eq!(read(text), "2025-10-09T11:30:00Z", "{text}");
        }
    }

    #[test]
    fn a_time_that_a_clock_change_skips_or_repeats_is_refused_with_what_to_write() {
        let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
        // Energy Policy Act of 2005, section 110: clocks change on the second Sunday of March and the first of
        // November, at 2:00; 8 March and 1 November 2026 are those Sundays.
        for text in ["2026-03-08T02:30", "2026-03-08 02:00:00"] {
            let error = clock.read_as_of(text).unwrap_err();
            assert!(matches!(error, AsOfError::Skipped { .. }), "{error}");
            assert!(error.to_string().contains("America/Los_Angeles skip"), "{error}");
        }
        let error = clock.read_as_of("2026-11-01T01:30").unwrap_err();
        assert!(matches!(error, AsOfError::Twice { .. }), "{error}");
        // Pacific time is UTC-7 with daylight saving, UTC-8 without; what is offered is read.
        for offered in ["2026-11-01T01:30:00-07:00", "2026-11-01T01:30:00-08:00"] {
            assert!(error.to_string().contains(offered), "{error}");
            assert!(clock.read_as_of(offered).is_ok(), "{offered}");
        }
        assert_eq!(read("2026-03-08T03:00"), "2026-03-08T10:00:00Z");
        assert_eq!(read("2026-03-08"), "2026-03-08T11:30:00Z"); // 04:30 less -7 h
    }

    #[test]
    fn what_is_no_time_is_named_with_the_forms_that_are() {
        for text in [
            "",
            "yesterday",
            "2025-02-30",
            "09.10.2025",
            "2025-10-09T25:00",
            "2025-10-09T04:30 PST",
        ] {
            let message = read(text);
            assert!(
                message.contains(&format!("{text:?}")) && message.contains("2025-10-09T06:00"),
                "{message}"
            );
        }
    }

    proptest! {
        #[test]
        fn no_text_at_all_stops_the_program(text in "\\PC{0,40}") {
            read(&text);
        }

        #[test]
        fn an_instant_written_out_is_read_back(seconds in 0i64..4_102_444_800) {
            let instant = DateTime::<Utc>::from_timestamp(seconds, 0).unwrap();
            let clock = LakeClock::new(chrono_tz::Europe::Stockholm);
            prop_assert_eq!(clock.read_as_of(&instant.to_rfc3339()), Ok(instant));
        }
    }
}
