//! What a plan counts in: minutes, depths to set, tackle, and bare numbers for tables.

use super::reader::{Reader, Units, rounded};
use crate::units;

impl Reader {
    /// A depth as a downrigger counts it: whole feet, or half metres.
    pub fn set_depth(&self, depth_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} ft", rounded(depth_m / units::M_PER_FT, 0)),
            Units::Metric => format!("{} m", rounded((depth_m * 2.0).round() / 2.0, 1)),
        }
    }

    /// The same without its unit.
    pub fn set_depth_number(&self, depth_m: f64) -> String {
        let said = self.set_depth(depth_m);
        said.split(' ').next().unwrap_or_default().to_owned()
    }

    /// A run over water, to a tenth.
    pub fn run(&self, distance_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} mi", rounded(distance_m / units::M_PER_MI, 1)),
            Units::Metric => format!("{} km", rounded(distance_m / 1000.0, 1)),
        }
    }

    /// Mass of a ball.
    pub fn mass(&self, mass_kg: f64) -> String {
        match self.units {
            Units::Us => format!("{} lb", rounded(mass_kg / units::KG_PER_LB, 0)),
            Units::Metric => format!("{} kg", rounded(mass_kg, 1)),
        }
    }

    /// Diameter of a cable.
    pub fn wire(&self, diameter_m: f64) -> String {
        match self.units {
            Units::Us => format!("{} in", rounded(diameter_m / units::M_PER_IN, 3)),
            Units::Metric => format!("{} mm", rounded(diameter_m * 1000.0, 2)),
        }
    }

    /// How much shallower a ball may run than told, to the whole foot or half metre above; `None` where that is less than half of one, which a
    /// counter does not show.
    pub fn shallower(&self, by_m: f64) -> Option<String> {
        let (step_m, places) = match self.units {
            Units::Us => (units::M_PER_FT, 0),
            Units::Metric => (0.5, 1),
        };
        let steps = if by_m < 0.5 * step_m {
            0.0
        } else {
            (by_m / step_m - 0.1).ceil()
        };
        let number = match self.units {
            Units::Us => steps,
            Units::Metric => steps * step_m,
        };
        (steps > 0.0).then(|| format!("{} {}", rounded(number, places), self.length_unit()))
    }

    /// A wind without its unit.
    pub fn speed_number(&self, speed_m_s: f64) -> String {
        match self.units {
            Units::Us => rounded(speed_m_s / units::M_S_PER_MPH, 0),
            Units::Metric => rounded(speed_m_s, 0),
        }
    }

    /// The unit of speeds.
    pub fn speed_unit(&self) -> &'static str {
        match self.units {
            Units::Us => "mph",
            Units::Metric => "m/s",
        }
    }

    /// Height of a wave without its unit.
    pub fn wave_number(&self, height_m: f64) -> String {
        match self.units {
            Units::Us => rounded(height_m / units::M_PER_FT, 1),
            Units::Metric => rounded(height_m, 1),
        }
    }

    /// The unit of heights.
    pub fn length_unit(&self) -> &'static str {
        match self.units {
            Units::Us => "ft",
            Units::Metric => "m",
        }
    }
}

/// A time on the water: minutes, or hours and minutes.
pub fn minutes(time_h: f64) -> String {
    let whole = (time_h * 60.0).round().max(0.0) as u64;
    match (whole / 60, whole % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_depths_are_said_as_they_are_used() {
        assert_eq!([0.25, 1.0, 1.75].map(minutes), ["15 min", "1 h", "1 h 45 min"]);
        let reader = |units| Reader::new(units, chrono_tz::UTC);
        // 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, 1 in = 25.4 mm, exact.
        let us = reader(Units::Us);
        assert_eq!(
            (us.set_depth(12.192), us.mass(4.5359237)),
            ("40 ft".to_owned(), "10 lb".to_owned())
        );
        assert_eq!(us.wire(0.000_762), "0.030 in");
        let metric = reader(Units::Metric);
        assert_eq!(
            (metric.set_depth(12.3), metric.wire(0.000_762)),
            ("12.5 m".to_owned(), "0.76 mm".to_owned())
        );
    }
}
