//! Amounts in the reader's units, rounded as the trade writes them.

use crate::units::{M_PER_FT, M_PER_IN, M_PER_MI, M_S_PER_MPH, M2_PER_ACRE, M3_PER_ACRE_FT, M3S_PER_CFS};

/// Units that a text is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum ReaderUnits {
    /// Feet, acres, acre-feet, cubic feet a second, miles an hour.
    #[default]
    Us,
    /// Metres, square kilometres, million cubic metres, cubic metres a second.
    Metric,
}

impl ReaderUnits {
    /// An elevation, depth or height: `845.0 ft`, `257.56 m`.
    pub fn height(self, height_m: f64) -> String {
        match self {
            ReaderUnits::Us => format!("{} ft", grouped(height_m / M_PER_FT, 1)),
            ReaderUnits::Metric => format!("{} m", grouped(height_m, 2)),
        }
    }

    /// An area: `5,200 acres`, `21.04 km2`.
    pub fn area(self, area_m2: f64) -> String {
        match self {
            ReaderUnits::Us => format!("{} acres", grouped(area_m2 / M2_PER_ACRE, 0)),
            ReaderUnits::Metric => format!("{} km2", grouped(area_m2 / 1.0e6, 2)),
        }
    }

    /// A volume: `413,322 acre-ft`, `509.8 hm3` (1 hm3 is a million cubic metres).
    pub fn volume(self, volume_m3: f64) -> String {
        match self {
            ReaderUnits::Us => format!("{} acre-ft", grouped(volume_m3 / M3_PER_ACRE_FT, 0)),
            ReaderUnits::Metric => format!("{} hm3", grouped(volume_m3 / 1.0e6, 1)),
        }
    }

    /// A flow: `600 cfs`, `17.0 m3/s`.
    pub fn flow(self, flow_m3s: f64) -> String {
        match self {
            ReaderUnits::Us => format!("{} cfs", grouped(flow_m3s / M3S_PER_CFS, 0)),
            ReaderUnits::Metric => format!("{} m3/s", grouped(flow_m3s, 1)),
        }
    }

    /// A range of speeds: `2.5-3.5 mph`, `1.12-1.56 m/s`.
    pub fn speeds(self, slow_m_s: f64, fast_m_s: f64) -> String {
        match self {
            ReaderUnits::Us => format!("{:.1}-{:.1} mph", slow_m_s / M_S_PER_MPH, fast_m_s / M_S_PER_MPH),
            ReaderUnits::Metric => format!("{slow_m_s:.2}-{fast_m_s:.2} m/s"),
        }
    }

    /// A speed: `22 mph`, `9.8 m/s`.
    pub fn speed(self, speed_m_s: f64) -> String {
        match self {
            ReaderUnits::Us => format!("{:.0} mph", speed_m_s / M_S_PER_MPH),
            ReaderUnits::Metric => format!("{speed_m_s:.1} m/s"),
        }
    }

    /// A way over water: `2.4 mi`, `3.9 km`.
    pub fn way(self, way_m: f64) -> String {
        match self {
            ReaderUnits::Us => format!("{:.1} mi", way_m / M_PER_MI),
            ReaderUnits::Metric => format!("{:.1} km", way_m / 1000.0),
        }
    }

    /// A length of tackle: `15 in`, `38 cm`.
    pub fn lead(self, lead_m: f64) -> String {
        match self {
            ReaderUnits::Us => format!("{:.0} in", lead_m / M_PER_IN),
            ReaderUnits::Metric => format!("{:.0} cm", lead_m * 100.0),
        }
    }
}

/// A number with thousands set off by commas.
fn grouped(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let (sign, digits) = text
        .strip_prefix('-')
        .map_or(("", text.as_str()), |digits| ("-", digits));
    let (whole, rest) = digits.split_at(digits.find('.').unwrap_or(digits.len()));
    let mut out = String::from(sign);
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_set_off_and_signs_kept() {
        assert_eq!(grouped(1_234_567.0, 0), "1,234,567");
        assert_eq!(grouped(-845.25, 1), "-845.2"); // halves to even, as the standard library rounds
        assert_eq!(grouped(999.0, 0), "999");
    }

    #[test]
    fn amounts_carry_the_readers_unit() {
        assert_eq!(ReaderUnits::Us.height(257.556), "845.0 ft"); // 845 ft * 0.3048
        assert_eq!(ReaderUnits::Metric.area(21_043_653.4), "21.04 km2");
        assert_eq!(ReaderUnits::Metric.speeds(1.1176, 1.56464), "1.12-1.56 m/s"); // 2.5 and 3.5 mph
    }
}
