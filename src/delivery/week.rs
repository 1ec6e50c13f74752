//! The week of a letter, and when it is due, in the lake's civil time.

use chrono::{DateTime, Datelike as _, Days, Duration, NaiveDate, NaiveTime, Utc, Weekday};

use crate::clock::LakeClock;

/// An ISO week (ISO 8601): Monday to Sunday, the first being that with the year's first Thursday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Week {
    year: i32,
    number: u32,
}

impl Week {
    /// The week of a day.
    pub fn of(date: NaiveDate) -> Week {
        let week = date.iso_week();
        Week {
            year: week.year(),
            number: week.week(),
        }
    }

    /// Year of the week, which may differ from that of its days at a turn of the year.
    pub fn year(self) -> i32 {
        self.year
    }

    /// Number, 1 to 53.
    pub fn number(self) -> u32 {
        self.number
    }

    /// The week of a text such as `2026-W48`; `None` for a text of another form and for a week that the year does not have.
    pub fn read(text: &str) -> Option<Week> {
        let (year, number) = text.split_once("-W")?;
        let digits = |t: &str, count: usize| t.len() == count && t.bytes().all(|b| b.is_ascii_digit());
        if !digits(year, 4) || !digits(number, 2) {
            return None;
        }
        let (year, number) = (year.parse().ok()?, number.parse().ok()?);
        NaiveDate::from_isoywd_opt(year, number, Weekday::Mon)?;
        Some(Week { year, number })
    }
}

impl std::fmt::Display for Week {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-W{:02}", self.year, self.number)
    }
}

/// When the letter of a week is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Schedule {
    /// Day of the week at the lake.
    pub weekday: Weekday,
    /// Civil time at the lake.
    pub time: NaiveTime,
    /// For so many hours after it a letter is still worth sending.
    pub late_h: u32,
}

/// One time at which a letter was due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slot {
    /// The instant.
    pub at: DateTime<Utc>,
    /// Its week.
    pub week: Week,
    /// Whether it lies so far back that the letter is passed over.
    pub passed: bool,
}

impl Schedule {
    /// The last time at or before `now` at which a letter was due.
    ///
    /// The day and hour are those of the lake's clocks: a time that a clock change skips is an hour later that day, one that
    /// occurs twice is the first of the two, so each week has exactly one. The week is that of the civil day, whatever day it
    /// is in UTC.
    pub fn last_slot(&self, clock: &LakeClock, now: DateTime<Utc>) -> Slot {
        let today = clock.civil_day(now);
        let back = (7 + today.weekday().num_days_from_monday() - self.weekday.num_days_from_monday()) % 7;
        let day = |back: u32| today - Days::new(u64::from(back));
        let at = |day: NaiveDate| clock.instant(day.and_time(self.time));
        let chosen = if at(day(back)) <= now {
            day(back)
        } else {
            day(back + 7)
        };
        Slot {
            at: at(chosen),
            week: Week::of(chosen),
            passed: now - at(chosen) > Duration::hours(i64::from(self.late_h)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slot(weekday: Weekday, time: &str, now: &str) -> (String, String) {
        let schedule = Schedule {
            weekday,
            time: time.parse().expect("a time"),
            late_h: 48,
        };
        let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
        let slot = schedule.last_slot(&clock, now.parse().expect("an instant"));
        (slot.at.to_rfc3339(), slot.week.to_string())
    }

    #[test]
    fn the_slot_keeps_the_civil_hour_across_clock_changes() {
        // Pacific time is UTC-7 to 1 November 2026, 2:00, then UTC-8 (Energy Policy Act of 2005, section 110).
        let before = slot(Weekday::Thu, "18:00:00", "2026-10-30T12:00:00Z");
        assert_eq!(
            before,
            ("2026-10-30T01:00:00+00:00".to_owned(), "2026-W44".to_owned())
        );
        let after = slot(Weekday::Thu, "18:00:00", "2026-11-06T12:00:00Z");
        assert_eq!(
            after,
            ("2026-11-06T02:00:00+00:00".to_owned(), "2026-W45".to_owned())
        );
    }

    #[test]
    fn a_skipped_time_comes_an_hour_later_and_a_repeated_one_counts_once() {
        let skipped = slot(Weekday::Sun, "02:30:00", "2026-03-08T20:00:00Z");
        assert_eq!(skipped.0, "2026-03-08T10:30:00+00:00"); // 3:30 at UTC-7
        for now in [
            "2026-11-01T08:30:00Z",
            "2026-11-01T09:30:00Z",
            "2026-11-01T10:00:00Z",
        ] {
            assert_eq!(
                slot(Weekday::Sun, "01:30:00", now).0,
                "2026-11-01T08:30:00+00:00",
                "{now}"
            );
        }
    }

    #[test]
    fn the_week_is_that_of_the_civil_day() {
        // Sunday evening at the lake is Monday in UTC, in the next week there.
        let slot = slot(Weekday::Sun, "18:00:00", "2026-11-23T03:00:00Z");
        assert_eq!(
            slot,
            ("2026-11-23T02:00:00+00:00".to_owned(), "2026-W47".to_owned())
        );
    }

    #[test]
    fn every_week_has_exactly_one_slot() {
        let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
        for (weekday, time) in [
            (Weekday::Sun, "02:30:00"),
            (Weekday::Sun, "01:30:00"),
            (Weekday::Mon, "00:00:00"),
        ] {
            let schedule = Schedule {
                weekday,
                time: time.parse().expect("a time"),
                late_h: 48,
            };
            let mut slots = std::collections::BTreeSet::new();
            let mut weeks = std::collections::BTreeSet::new();
            let mut now: DateTime<Utc> = "2026-01-05T12:00:00Z".parse().expect("an instant");
            let end: DateTime<Utc> = "2027-01-04T12:00:00Z".parse().expect("an instant");
            while now < end {
                let slot = schedule.last_slot(&clock, now);
                assert!(slot.at <= now && now - slot.at < Duration::hours(7 * 24 + 1));
                slots.insert(slot.at);
                weeks.insert(slot.week);
                now += Duration::minutes(30);
            }
            assert_eq!((slots.len(), weeks.len()), (53, 53), "{weekday} {time}");
        }
    }

    #[test]
    fn weeks_are_read_as_they_are_written() {
        assert_eq!(
            Week::read("2026-W53").map(|w| w.to_string()),
            Some("2026-W53".to_owned())
        ); // ISO 8601: 2026 has 53
        for text in ["2025-W53", "2026-W00", "2026-48", "26-W48", "2026-W+8", ""] {
            assert_eq!(Week::read(text), None, "{text}");
        }
    }

    #[test]
    fn a_slot_that_lies_too_far_back_is_passed_over() {
        let clock = LakeClock::new(chrono_tz::UTC);
        let schedule = Schedule {
            weekday: Weekday::Thu,
            time: "18:00:00".parse().expect("a time"),
            late_h: 48,
        };
        let passed = |now: &str| {
            schedule
                .last_slot(&clock, now.parse().expect("an instant"))
                .passed
        };
        assert!(!passed("2026-11-28T18:00:00Z") && passed("2026-11-28T18:00:01Z"));
    }
}
