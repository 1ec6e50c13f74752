//! The reader's units and clock: every number that a person sees passes here.

use chrono::{DateTime, NaiveDate, Offset as _, Utc};
use chrono_tz::Tz;

use crate::units;

/// Units of the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// Feet, cubic feet a second, acre-feet, miles an hour, Fahrenheit.
    Us,
    /// Metres, cubic metres, metres a second, Celsius.
    Metric,
}

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

/// Between thousands where the comma is the decimal sign (ISO 80000-1, 7.3.1: a small space).
const NARROW_SPACE: &str = "\u{202f}";

/// Who reads: units, time zone, and how numbers and hours are written.
#[derive(Debug, Clone, Copy)]
pub struct Reader {
    /// Units.
    pub units: Units,
    /// Time zone of the lake.
    pub zone: Tz,
    /// Numbers and hours.
    pub notation: Notation,
}

impl Reader {
    /// One who reads decimal points and 24 hours.
    pub fn new(units: Units, zone: Tz) -> Reader {
        Reader {
            units,
            zone,
            notation: Notation::default(),
        }
    }

    /// A number as [`rounded`], [`signed`], [`significant`] or [`thousands`] give it, with the reader's mark.
    fn marked(&self, number: String) -> String {
        match self.notation.decimal {
            DecimalSign::Point => number,
            DecimalSign::Comma => number.replace(',', NARROW_SPACE).replace('.', ","),
        }
    }

    /// A number rounded to so many places, never "-0".
    pub fn rounded(&self, value: f64, places: usize) -> String {
        self.marked(rounded(value, places))
    }

    /// A number with its sign, rounded; zero carries none.
    pub fn signed(&self, value: f64, places: usize) -> String {
        self.marked(signed(value, places))
    }

    /// A positive number to three significant figures.
    pub fn significant(&self, value: f64) -> String {
        self.marked(significant(value))
    }

    /// A whole number, its thousands parted.
    pub fn thousands(&self, value: f64) -> String {
        self.marked(thousands(value))
    }

    /// A length or depth, to the foot or half metre as a counter shows it.
    pub fn depth(&self, depth_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", self.rounded(depth_m / units::M_PER_FT, 0)),
            Units::Metric => format!("{} m", self.rounded(depth_m, 1)),
        }
    }

    /// Two depths of a band.
    pub fn band(&self, top_m: f64, bottom_m: f64) -> String {
        match self.units {
            Units::Us => {
                let feet = |m: f64| self.rounded(m / units::M_PER_FT, 0);
                format!("{} to {} ft", feet(top_m), feet(bottom_m))
            }
            Units::Metric => format!("{} to {} m", self.rounded(top_m, 1), self.rounded(bottom_m, 1)),
        }
    }

    /// An elevation.
    pub fn elevation(&self, elevation_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", self.rounded(elevation_m / units::M_PER_FT, 2)),
            Units::Metric => format!("{} m", self.rounded(elevation_m, 2)),
        }
    }

    /// An elevation that is not known to hundredths.
    pub fn elevation_about(&self, elevation_m: f64) -> String {
        let unit = match self.units {
            Units::Us => "ft",
            Units::Metric => "m",
        };
        format!("{} {unit}", self.elevation_number(elevation_m))
    }

    /// The same without its unit.
    pub fn elevation_number(&self, elevation_m: f64) -> String {
        match self.units {
            Units::Us => self.rounded(elevation_m / units::M_PER_FT, 1),
            Units::Metric => self.rounded(elevation_m, 1),
        }
    }

    /// A small length: a change of level, a wave.
    pub fn length(&self, length_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", self.rounded(length_m / units::M_PER_FT, 1)),
            Units::Metric => format!("{} m", self.rounded(length_m, 2)),
        }
    }

    /// A change from one level to another, so rounded that it is the difference of the two as [`Reader::elevation`] shows them.
    pub fn change_between(&self, from_m: f64, to_m: f64) -> String {
        let (scale, unit) = match self.units {
            Units::Us => (units::M_PER_FT, "ft"),
            Units::Metric => (1.0, "m"),
        };
        let shown = |m: f64| (100.0 * m / scale).round() / 100.0;
        format!("{} {unit}", self.signed(shown(to_m) - shown(from_m), 2))
    }

    /// A change of level to the tenth, with its sign.
    pub fn change_about(&self, change_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", self.signed(change_m / units::M_PER_FT, 1)),
            Units::Metric => format!("{} m", self.signed(change_m, 1)),
        }
    }

    /// A change of level, with its sign.
    pub fn change(&self, change_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", self.signed(change_m / units::M_PER_FT, 2)),
            Units::Metric => format!("{} m", self.signed(change_m, 2)),
        }
    }

    /// A spread of levels, without a sign.
    pub fn level_spread(&self, spread_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", self.rounded(spread_m / units::M_PER_FT, 2)),
            Units::Metric => format!("{} m", self.rounded(spread_m, 2)),
        }
    }

    /// A discharge, three significant figures as gauges report it.
    pub fn discharge(&self, discharge_m3s: f64) -> String {
        match self.units {
            Units::Us => format!("{} cfs", self.significant(discharge_m3s / units::M3S_PER_CFS)),
            Units::Metric => format!("{} m³/s", self.significant(discharge_m3s)),
        }
    }

    /// An area.
    pub fn area(&self, area_m2: f64) -> String {
        match self.units {
            Units::Us => format!("{} acres", self.thousands(area_m2 / units::M2_PER_ACRE)),
            Units::Metric => format!("{} km²", self.rounded(area_m2 / 1e6, 2)),
        }
    }

    /// A volume.
    pub fn volume(&self, volume_m3: f64) -> String {
        match self.units {
            Units::Us => format!("{} acre-ft", self.thousands(volume_m3 / units::M3_PER_ACRE_FT)),
            Units::Metric => format!("{} million m³", self.rounded(volume_m3 / 1e6, 1)),
        }
    }

    /// A temperature.
    pub fn temp(&self, temp_degc: f64) -> String {
        match self.units {
            Units::Us => format!("{} °F", self.rounded(units::degf_from_degc(temp_degc), 0)),
            Units::Metric => format!("{} °C", self.rounded(temp_degc, 1)),
        }
    }

    /// A temperature without its unit, for tables.
    pub fn temp_number(&self, temp_degc: f64) -> String {
        match self.units {
            Units::Us => self.rounded(units::degf_from_degc(temp_degc), 0),
            Units::Metric => self.rounded(temp_degc, 1),
        }
    }

    /// A temperature's sign of unit.
    pub fn temp_unit(&self) -> &'static str {
        match self.units {
            Units::Us => "°F",
            Units::Metric => "°C",
        }
    }

    /// A temperature difference or rate, with its sign.
    pub fn temp_change(&self, change_degc: f64) -> String {
        match self.units {
            Units::Us => format!("{} °F", self.signed(change_degc / units::DEGC_PER_DEGF, 1)),
            Units::Metric => format!("{} °C", self.signed(change_degc, 2)),
        }
    }

    /// A spread of temperatures or the size of a difference, without a sign.
    pub fn temp_spread(&self, spread_degc: f64) -> String {
        match self.units {
            Units::Us => format!("{} °F", self.rounded(spread_degc / units::DEGC_PER_DEGF, 1)),
            Units::Metric => format!("{} °C", self.rounded(spread_degc, 1)),
        }
    }

    /// A wind or boat speed.
    pub fn speed(&self, speed_m_s: f64) -> String {
        match self.units {
            Units::Us => format!("{} mph", self.rounded(speed_m_s / units::M_S_PER_MPH, 0)),
            Units::Metric => format!("{} m/s", self.rounded(speed_m_s, 1)),
        }
    }

    /// Two trolling speeds, to the tenth.
    pub fn speeds(&self, slow_m_s: f64, fast_m_s: f64) -> String {
        let (slow, fast, unit) = match self.units {
            Units::Us => (
                slow_m_s / units::M_S_PER_MPH,
                fast_m_s / units::M_S_PER_MPH,
                "mph",
            ),
            Units::Metric => (slow_m_s, fast_m_s, "m/s"),
        };
        let (slow, fast) = (self.rounded(slow, 1), self.rounded(fast, 1));
        if slow == fast {
            format!("{slow} {unit}")
        } else {
            format!("{slow} to {fast} {unit}")
        }
    }

    /// A trolling speed to the tenth, without its unit.
    pub fn trolling(&self, speed_m_s: f64) -> String {
        let said = self.speeds(speed_m_s, speed_m_s);
        said.split(' ').next().unwrap_or_default().to_owned()
    }

    /// A lead: inches or centimetres.
    pub fn lead(&self, lead_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} in", self.rounded(lead_m / units::M_PER_IN, 0)),
            Units::Metric => format!("{} cm", self.rounded(lead_m * 100.0, 0)),
        }
    }

    /// A distance over water.
    pub fn distance(&self, distance_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} mi", self.rounded(distance_m / units::M_PER_MI, 2)),
            Units::Metric => format!("{} km", self.rounded(distance_m / 1000.0, 2)),
        }
    }

    /// Rain.
    pub fn rain(&self, rain_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} in", self.rounded(rain_m / units::M_PER_IN, 2)),
            Units::Metric => format!("{} mm", self.rounded(rain_m * 1000.0, 1)),
        }
    }

    /// Rain in words: `no rain`, `hardly any rain`, `rain 0.12 in`.
    pub fn rain_said(&self, rain_m: f64) -> String {
        let amount = self.rain(rain_m);
        let shown = amount.split(' ').next().unwrap_or_default();
        if rain_m == 0.0 {
            "no rain".to_owned()
        } else if shown.chars().all(|c| matches!(c, '0' | '.' | ',')) {
            "hardly any rain".to_owned()
        } else {
            format!("rain {amount}")
        }
    }

    /// An hour of the day at the lake.
    pub fn hour(&self, instant: DateTime<Utc>) -> String {
        let pattern = self.hour_pattern();
        instant.with_timezone(&self.zone).format(pattern).to_string()
    }

    fn hour_pattern(&self) -> &'static str {
        match self.notation.hours {
            HourClock::Hours24 => "%H:%M",
            HourClock::Hours12 => "%-I:%M %P",
        }
    }

    /// A day and hour at the lake.
    pub fn day_hour(&self, instant: DateTime<Utc>) -> String {
        let pattern = format!("%a %-d %b {}", self.hour_pattern());
        instant.with_timezone(&self.zone).format(&pattern).to_string()
    }

    /// The clock of a brief.
    pub fn stamp(&self, instant: DateTime<Utc>) -> String {
        let pattern = format!("%a %-d %b %Y, {} %Z", self.hour_pattern());
        instant.with_timezone(&self.zone).format(&pattern).to_string()
    }

    /// How far the lake's clocks are from UTC at an instant: `UTC-7`, `UTC+5:30`.
    pub fn utc_offset(&self, instant: DateTime<Utc>) -> String {
        let offset = instant.with_timezone(&self.zone).offset().fix();
        let seconds = offset.local_minus_utc();
        let (sign, minutes) = (if seconds < 0 { '-' } else { '+' }, seconds.abs() / 60);
        match minutes % 60 {
            0 => format!("UTC{sign}{}", minutes / 60),
            rest => format!("UTC{sign}{}:{rest:02}", minutes / 60),
        }
    }

    /// The civil day of an instant at the lake.
    pub fn local_day(&self, instant: DateTime<Utc>) -> NaiveDate {
        instant.with_timezone(&self.zone).date_naive()
    }

    /// A day.
    pub fn day(&self, date: NaiveDate) -> String {
        date.format("%a %-d %b").to_string()
    }
}

/// Percent of a share, whole.
pub fn percent(share_frac: f64) -> String {
    format!("{} %", rounded(share_frac * 100.0, 0))
}

/// A probability in percent, whole; one that rounds to certainty is said to be near it.
pub fn chance(prob: f64) -> String {
    match rounded(prob * 100.0, 0).as_str() {
        "0" => "under 1 %".to_owned(),
        "100" => "over 99 %".to_owned(),
        whole => format!("{whole} %"),
    }
}

/// A number rounded to so many places, never "-0".
pub fn rounded(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

/// A number with its sign, rounded; zero carries none.
pub fn signed(value: f64, places: usize) -> String {
    let text = rounded(value, places);
    if text.starts_with('-') || text.chars().all(|c| c == '0' || c == '.') {
        text
    } else {
        format!("+{text}")
    }
}

/// A positive number to three significant figures, with a comma between thousands.
pub fn significant(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return rounded(value, 0);
    }
    let digits = value.abs().log10().floor() as i32;
    let places = (2 - digits).max(0) as usize;
    if digits > 2 {
        let step = 10f64.powi(digits - 2);
        thousands((value / step).round() * step)
    } else {
        rounded(value, places.min(2))
    }
}

/// A whole number with a comma between thousands.
pub fn thousands(value: f64) -> String {
    let text = rounded(value, 0);
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", text.as_str()),
    };
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    format!("{sign}{out}")
}

/// An age in the unit that fits it.
pub fn age(age_h: f64) -> String {
    if age_h < 1.0 {
        format!("{} min", rounded(age_h * 60.0, 0))
    } else if age_h < 48.0 {
        format!("{} h", rounded(age_h, 0))
    } else {
        format!("{} days", rounded(age_h / 24.0, 0))
    }
}

/// Compass point of a direction, sixteen points.
pub fn compass(direction_deg: f64) -> &'static str {
    const POINTS: [&str; 16] = [
        "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
    ];
    let index = (direction_deg.rem_euclid(360.0) / 22.5).round() as usize % 16;
    POINTS[index]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_round_without_a_negative_zero() {
        assert_eq!(rounded(-0.04, 1), "0.0");
        assert_eq!(signed(0.04, 1), "0.0");
        assert_eq!(signed(2.26, 1), "+2.3");
        assert_eq!(signed(-2.26, 1), "-2.3");
    }

    #[test]
    fn discharges_keep_three_figures() {
        assert_eq!(significant(12_345.0), "12,300");
        assert_eq!(significant(618.4), "618");
        assert_eq!(significant(12.34), "12.3");
        assert_eq!(significant(1.234), "1.23");
        assert_eq!(significant(0.0), "0");
    }

    #[test]
    fn thousands_are_parted() {
        assert_eq!(thousands(1_234_567.0), "1,234,567");
        assert_eq!(thousands(-1_234.0), "-1,234");
        assert_eq!(thousands(12.0), "12");
    }

    #[test]
    fn directions_have_names() {
        assert_eq!(compass(0.0), "N");
        assert_eq!(compass(359.0), "N");
        assert_eq!(compass(225.0), "SW");
        assert_eq!(compass(-90.0), "W");
    }

    #[test]
    fn feet_and_fahrenheit_are_those_of_the_handbooks() {
        let reader = Reader::new(Units::Us, chrono_tz::UTC);
        assert_eq!(reader.temp(15.0), "59 °F"); // NIST SP 811: 15 degC = 59 degF, exact
        assert_eq!(reader.depth(30.48), "100 ft"); // exact: 1 ft = 0.3048 m
        assert_eq!(reader.volume(1_233_481.837_547_52), "1,000 acre-ft"); // exact: 43 560 ft3
    }

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

    #[test]
    fn a_change_is_the_difference_of_the_levels_shown() {
        let reader = Reader::new(Units::Metric, chrono_tz::UTC);
        // 10.004 and 9.996 are shown as 10.00 and 10.00, 0.005 apart or not.
        assert_eq!(reader.change_between(10.004, 9.996), "0.00 m");
        assert_eq!(reader.change_between(10.006, 9.994), "-0.02 m"); // 10.01 to 9.99
        assert_eq!(reader.change_about(-0.744), "-0.7 m");
    }
}
