//! The reader's units and clock: every number that a person sees passes here.

use chrono::{DateTime, NaiveDate, Utc};
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

/// Who reads: units and time zone.
#[derive(Debug, Clone, Copy)]
pub struct Reader {
    /// Units.
    pub units: Units,
    /// Time zone of the lake.
    pub zone: Tz,
}

impl Reader {
    /// A length or depth, to the foot or half metre as a counter shows it.
    pub fn depth(&self, depth_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", rounded(depth_m / units::M_PER_FT, 0)),
            Units::Metric => format!("{} m", rounded(depth_m, 1)),
        }
    }

    /// Two depths of a band.
    pub fn band(&self, top_m: f64, bottom_m: f64) -> String {
        match self.units {
            Units::Us => {
                let feet = |m: f64| rounded(m / units::M_PER_FT, 0);
                format!("{} to {} ft", feet(top_m), feet(bottom_m))
            }
            Units::Metric => format!("{} to {} m", rounded(top_m, 1), rounded(bottom_m, 1)),
        }
    }

    /// An elevation.
    pub fn elevation(&self, elevation_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", rounded(elevation_m / units::M_PER_FT, 2)),
            Units::Metric => format!("{} m", rounded(elevation_m, 2)),
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
            Units::Us => rounded(elevation_m / units::M_PER_FT, 1),
            Units::Metric => rounded(elevation_m, 1),
        }
    }

    /// A small length: a change of level, a wave.
    pub fn length(&self, length_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", rounded(length_m / units::M_PER_FT, 1)),
            Units::Metric => format!("{} m", rounded(length_m, 2)),
        }
    }

    /// A change of level, with its sign.
    pub fn change(&self, change_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", signed(change_m / units::M_PER_FT, 2)),
            Units::Metric => format!("{} m", signed(change_m, 2)),
        }
    }

    /// A spread of levels, without a sign.
    pub fn level_spread(&self, spread_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", rounded(spread_m / units::M_PER_FT, 2)),
            Units::Metric => format!("{} m", rounded(spread_m, 2)),
        }
    }

    /// A discharge, three significant figures as gauges report it.
    pub fn discharge(&self, discharge_m3s: f64) -> String {
        match self.units {
            Units::Us => format!("{} cfs", significant(discharge_m3s / units::M3S_PER_CFS)),
            Units::Metric => format!("{} m³/s", significant(discharge_m3s)),
        }
    }

    /// An area.
    pub fn area(&self, area_m2: f64) -> String {
        match self.units {
            Units::Us => format!("{} acres", thousands(area_m2 / units::M2_PER_ACRE)),
            Units::Metric => format!("{} km²", rounded(area_m2 / 1e6, 2)),
        }
    }

    /// A volume.
    pub fn volume(&self, volume_m3: f64) -> String {
        match self.units {
            Units::Us => format!("{} acre-ft", thousands(volume_m3 / units::M3_PER_ACRE_FT)),
            Units::Metric => format!("{} million m³", rounded(volume_m3 / 1e6, 1)),
        }
    }

    /// A temperature.
    pub fn temp(&self, temp_degc: f64) -> String {
        match self.units {
            Units::Us => format!("{} °F", rounded(units::degf_from_degc(temp_degc), 0)),
            Units::Metric => format!("{} °C", rounded(temp_degc, 1)),
        }
    }

    /// A temperature without its unit, for tables.
    pub fn temp_number(&self, temp_degc: f64) -> String {
        match self.units {
            Units::Us => rounded(units::degf_from_degc(temp_degc), 0),
            Units::Metric => rounded(temp_degc, 1),
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
            Units::Us => format!("{} °F", signed(change_degc / units::DEGC_PER_DEGF, 1)),
            Units::Metric => format!("{} °C", signed(change_degc, 2)),
        }
    }

    /// A spread of temperatures or the size of a difference, without a sign.
    pub fn temp_spread(&self, spread_degc: f64) -> String {
        match self.units {
            Units::Us => format!("{} °F", rounded(spread_degc / units::DEGC_PER_DEGF, 1)),
            Units::Metric => format!("{} °C", rounded(spread_degc, 1)),
        }
    }

    /// A wind or boat speed.
    pub fn speed(&self, speed_m_s: f64) -> String {
        match self.units {
            Units::Us => format!("{} mph", rounded(speed_m_s / units::M_S_PER_MPH, 0)),
            Units::Metric => format!("{} m/s", rounded(speed_m_s, 1)),
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
        let (slow, fast) = (rounded(slow, 1), rounded(fast, 1));
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
            Units::Us => format!("{} in", rounded(lead_m / units::M_PER_IN, 0)),
            Units::Metric => format!("{} cm", rounded(lead_m * 100.0, 0)),
        }
    }

    /// A distance over water.
    pub fn distance(&self, distance_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} mi", rounded(distance_m / units::M_PER_MI, 2)),
            Units::Metric => format!("{} km", rounded(distance_m / 1000.0, 2)),
        }
    }

    /// Rain.
    pub fn rain(&self, rain_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} in", rounded(rain_m / units::M_PER_IN, 2)),
            Units::Metric => format!("{} mm", rounded(rain_m * 1000.0, 1)),
        }
    }

    /// Rain in words: `no rain`, `hardly any rain`, `rain 0.12 in`.
    pub fn rain_said(&self, rain_m: f64) -> String {
        let amount = self.rain(rain_m);
        match amount.split(' ').next() {
            _ if rain_m == 0.0 => "no rain".to_owned(),
            Some("0.00" | "0.0") => "hardly any rain".to_owned(),
            _ => format!("rain {amount}"),
        }
    }

    /// An hour of the day at the lake.
    pub fn hour(&self, instant: DateTime<Utc>) -> String {
        instant.with_timezone(&self.zone).format("%H:%M").to_string()
    }

    /// A day and hour at the lake.
    pub fn day_hour(&self, instant: DateTime<Utc>) -> String {
        instant
            .with_timezone(&self.zone)
            .format("%a %-d %b %H:%M")
            .to_string()
    }

    /// The clock of a brief.
    pub fn stamp(&self, instant: DateTime<Utc>) -> String {
        instant
            .with_timezone(&self.zone)
            .format("%a %-d %b %Y, %H:%M %Z")
            .to_string()
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
        let reader = Reader {
            units: Units::Us,
            zone: chrono_tz::UTC,
        };
        assert_eq!(reader.temp(15.0), "59 °F"); // NIST SP 811: 15 degC = 59 degF, exact
        assert_eq!(reader.depth(30.48), "100 ft"); // exact: 1 ft = 0.3048 m
        assert_eq!(reader.volume(1_233_481.837_547_52), "1,000 acre-ft"); // exact: 43 560 ft3
    }
}
