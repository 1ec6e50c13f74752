//! How numbers and hours are written, whatever the language.

/// Mark between whole and broken part of a number, whatever the language.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DecimalSign {
    /// 1,234.5
    #[default]
    Point,
    /// 1 234,5: thousands are parted by a narrow space that breaks no line, since a comma would say something else.
    Comma,
}

/// How an hour is written, whatever the language.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum HourClock {
    /// 18:30
    #[default]
    Hours24,
    /// 6:30 pm
    Hours12,
}

/// How numbers and hours are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Notation {
    /// Mark in numbers.
    pub decimal: DecimalSign,
    /// Clock.
    pub hours: HourClock,
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, Utc};

    use super::*;
    use crate::faces::{Reader, Units};
    use crate::units;

    fn other(units: Units) -> Reader {
        let notation = Notation {
            decimal: DecimalSign::Comma,
            hours: HourClock::Hours12,
        };
        Reader {
            notation,
            ..Reader::new(units, chrono_tz::America::Los_Angeles)
        }
    }

    // Closed form: the same digits with another mark; ISO 80000-1, 7.3.1 and 7.3.2, for mark and small space.
    #[test]
    fn numbers_bear_the_readers_mark() {
        let (point, comma) = (Reader::new(Units::Us, chrono_tz::UTC), other(Units::Us));
        let (level_m, change_m) = (778.94 * units::M_PER_FT, -2.44 * units::M_PER_FT);
        assert_eq!(point.elevation(level_m), "778.94 ft");
        assert_eq!(comma.elevation(level_m), "778,94 ft");
        assert_eq!(comma.change(change_m), "-2,44 ft");
        assert_eq!(
            comma.volume(1_233_481_837.547_52),
            "1\u{202f}000\u{202f}000 acre-ft"
        );
        assert_eq!(
            comma.discharge(12_345.0 * units::M3S_PER_CFS),
            "12\u{202f}300 cfs"
        );
        assert_eq!(other(Units::Metric).temp(18.25), "18,2 °C");
        assert_eq!(other(Units::Metric).rain_said(0.000_01), "hardly any rain");
        assert_eq!(other(Units::Metric).rain_said(0.001_2), "rain 1,2 mm");
        assert_eq!(other(Units::Metric).trolling(0.9), "0,9");
    }

    #[test]
    fn hours_are_those_of_the_readers_clock() {
        // Pacific daylight time is UTC-7 to 1 November 2026 (Energy Policy Act of 2005, section 110).
        let at = |text: &str| -> DateTime<Utc> { text.parse().expect("an instant") };
        let (long, short) = (
            Reader::new(Units::Us, chrono_tz::America::Los_Angeles),
            other(Units::Us),
        );
        for (instant, hours_24, hours_12) in [
            ("2026-10-10T01:30:00Z", "18:30", "6:30 pm"),
            ("2026-10-09T07:05:00Z", "00:05", "12:05 am"),
            ("2026-10-09T19:00:00Z", "12:00", "12:00 pm"),
        ] {
            assert_eq!(
                (long.hour(at(instant)), short.hour(at(instant))),
                (hours_24.to_owned(), hours_12.to_owned())
            );
        }
        assert_eq!(short.day_hour(at("2026-10-10T01:30:00Z")), "Fri 9 Oct 6:30 pm");
        assert_eq!(
            short.stamp(at("2026-10-10T01:30:00Z")),
            "Fri 9 Oct 2026, 6:30 pm PDT"
        );
        assert_eq!(short.utc_offset(at("2026-10-10T01:30:00Z")), "UTC-7");
        assert_eq!(short.utc_offset(at("2026-12-10T01:30:00Z")), "UTC-8");
        assert_eq!(
            Reader::new(Units::Us, chrono_tz::Asia::Kolkata).utc_offset(at("2026-12-10T01:30:00Z")),
            "UTC+5:30"
        ); // tz database
    }
}
