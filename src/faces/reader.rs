//! The reader's units and clock: every number that a person sees passes here.

use chrono::{DateTime, NaiveDate, Offset as _, Utc};
use chrono_tz::Tz;

pub use super::notation::{DecimalSign, HourClock, Notation};
pub use super::number::{age, chance, compass, percent, rounded, signed, significant, thousands};
use crate::units;

/// Units of the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// Feet, cubic feet a second, acre-feet, miles an hour, Fahrenheit.
    Us,
    /// Metres, cubic metres, metres a second, Celsius.
    Metric,
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

    /// Day of an instant.
    pub fn day_of(&self, instant: DateTime<Utc>) -> String {
        self.day(self.local_day(instant))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn feet_and_fahrenheit_are_those_of_the_handbooks() {
        let reader = Reader::new(Units::Us, chrono_tz::UTC);
        assert_eq!(reader.temp(15.0), "59 °F"); // NIST SP 811: 15 degC = 59 degF, exact
        assert_eq!(reader.depth(30.48), "100 ft"); // exact: 1 ft = 0.3048 m
        assert_eq!(reader.volume(1_233_481.837_547_52), "1,000 acre-ft"); // exact: 43 560 ft3
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
