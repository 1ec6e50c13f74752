//! Units that the columns of a hindcast may have, and the way to SI. Factors come from `units.rs` alone.
//!
//! Lake files name units as suffixes do (`m_s`, `W_m2`, `acre_ft_day`), so that a fault stands at its place in the
//! lake file, before any table is opened. What falls or shines in a span becomes a rate over the span's length.

use crate::units::{
    DEGC_PER_DEGF, M_PER_FT, M_PER_IN, M_S_PER_KMH, M_S_PER_KT, M_S_PER_MPH, M2_PER_ACRE, M2_PER_HA,
    M3_PER_ACRE_FT, M3S_PER_CFS, PA_PER_HPA, S_PER_DAY, degc_from_degf,
};

/// Joules in a megajoule; exact (SI prefix).
const J_PER_MJ: f64 = 1e6;
/// Seconds in an hour; exact.
const S_PER_H: f64 = 3600.0;
/// 0 K in degC; exact (SI).
const ZERO_K_DEGC: f64 = -273.15;

/// How a figure in a unit becomes the figure in SI: `si = figure * factor + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// SI units in one of the unit.
    pub factor: f64,
    /// Figure in SI where that of the unit is 0.
    pub offset: f64,
}

impl Scale {
    /// The figure in SI.
    pub fn to_si(self, figure: f64) -> f64 {
        figure * self.factor + self.offset
    }
}

/// Over which time the amount of a unit has gathered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Span {
    /// The unit says so itself, or has nothing to do with time.
    OfUnit,
    /// The span of the row.
    OfRow,
}

type Row = (&'static str, f64, f64, Span);

const fn of(name: &'static str, factor: f64) -> Row {
    (name, factor, 0.0, Span::OfUnit)
}

const fn in_row(name: &'static str, factor: f64) -> Row {
    (name, factor, 0.0, Span::OfRow)
}

const FRACTION: &[Row] = &[
    of("frac", 1.0),
    of("pct", 0.01),
    of("tenths", 0.1),
    of("oktas", 0.125),
];
const HUMIDITY: &[Row] = &[of("kg_kg", 1.0), of("g_kg", 0.001)];
const PRESSURE: &[Row] = &[
    of("Pa", 1.0),
    of("hPa", PA_PER_HPA),
    of("mbar", PA_PER_HPA),
    of("kPa", 1000.0),
];
const SPEED: &[Row] = &[
    of("m_s", 1.0),
    of("km_h", M_S_PER_KMH),
    of("kt", M_S_PER_KT),
    of("mph", M_S_PER_MPH),
];
const ANGLE: &[Row] = &[of("deg", 1.0), of("rad", 180.0 / std::f64::consts::PI)];
const RADIATION: &[Row] = &[
    of("W_m2", 1.0),
    of("MJ_m2_day", J_PER_MJ / S_PER_DAY),
    in_row("MJ_m2", J_PER_MJ),
    in_row("J_m2", 1.0),
];
const RAIN: &[Row] = &[
    in_row("mm", 0.001),
    in_row("m", 1.0),
    in_row("in", M_PER_IN),
    of("mm_h", 0.001 / S_PER_H),
    of("m_h", 1.0 / S_PER_H),
    of("mm_day", 0.001 / S_PER_DAY),
    of("m_day", 1.0 / S_PER_DAY),
    of("in_day", M_PER_IN / S_PER_DAY),
];
const FLOW: &[Row] = &[
    of("m3s", 1.0),
    of("cfs", M3S_PER_CFS),
    of("m3_day", 1.0 / S_PER_DAY),
    of("acre_ft_day", M3_PER_ACRE_FT / S_PER_DAY),
];
const LENGTH: &[Row] = &[of("m", 1.0), of("ft", M_PER_FT)];
const AREA: &[Row] = &[
    of("m2", 1.0),
    of("km2", 1e6),
    of("ha", M2_PER_HA),
    of("acres", M2_PER_ACRE),
];
const OXYGEN: &[Row] = &[of("mg_l", 1.0)];

fn rows_of(what: &str) -> Vec<Row> {
    match what {
        "air_temp" | "dew_point" | "temp" | "water_temp" => vec![
            of("degC", 1.0),
            ("degF", DEGC_PER_DEGF, degc_from_degf(0.0), Span::OfUnit),
            ("K", 1.0, ZERO_K_DEGC, Span::OfUnit),
        ],
        "relative_humidity" | "cloud_cover" => FRACTION.to_vec(),
        "specific_humidity" => HUMIDITY.to_vec(),
        "vapour_pressure" | "pressure" => PRESSURE.to_vec(),
        "wind_speed" | "wind_u" | "wind_v" => SPEED.to_vec(),
        "wind_direction" => ANGLE.to_vec(),
        "shortwave" | "longwave" => RADIATION.to_vec(),
        "precipitation" | "snowfall" => RAIN.to_vec(),
        "discharge" | "release" => FLOW.to_vec(),
        "depth" | "elevation" => LENGTH.to_vec(),
        "area" => AREA.to_vec(),
        "oxygen" => OXYGEN.to_vec(),
        _ => Vec::new(),
    }
}

/// The units that a column of `what` may have, by the lake file's words; none for a word that is not known.
pub fn units_of(what: &str) -> Vec<&'static str> {
    rows_of(what).into_iter().map(|(name, ..)| name).collect()
}

impl Scale {
    /// The way from `unit` to the SI unit of `what`; `step_s` is the span of a row, over which an amount becomes a
    /// rate. `None` for a unit that `what` does not have.
    ///
    /// ```
    /// use plungeline::lake::Scale;
    /// // 0.36 mm in an hour are 1e-7 m/s.
    /// let scale = Scale::of("precipitation", "mm", 3600.0).unwrap();
    /// assert!((scale.to_si(0.36) - 1e-7).abs() < 1e-20);
    /// assert_eq!(Scale::of("precipitation", "hPa", 3600.0), None);
    /// ```
    pub fn of(what: &str, unit: &str, step_s: f64) -> Option<Scale> {
        let (_, factor, offset, span) = rows_of(what).into_iter().find(|(name, ..)| *name == unit)?;
        let factor = match span {
            Span::OfUnit => factor,
            Span::OfRow => factor / step_s,
        };
        Some(Scale { factor, offset })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lake::{RiverWhat, WeatherWhat};
    use rstest::rstest;

    /// Worked by hand from the exact definitions (NIST SP 811, appendix B.8, from memory).
    #[rstest]
    #[case("air_temp", "degF", 3600.0, 50.0, 10.0)]
    #[case("air_temp", "K", 3600.0, 273.15, 0.0)]
    #[case("vapour_pressure", "hPa", 10_800.0, 1.377, 137.7)]
    #[case("pressure", "kPa", 3600.0, 98.7, 98_700.0)]
    #[case("wind_speed", "km_h", 3600.0, 36.0, 10.0)]
    #[case("wind_speed", "kt", 3600.0, 10.0, 5.144_444_444)]
    #[case("shortwave", "MJ_m2_day", 3600.0, 25.92, 300.0)] // 25.92e6 / 86400
    #[case("shortwave", "MJ_m2", 3600.0, 1.08, 300.0)] // 1.08e6 / 3600
    #[case("cloud_cover", "oktas", 3600.0, 4.0, 0.5)]
    #[case("cloud_cover", "tenths", 3600.0, 7.0, 0.7)]
    #[case("precipitation", "m_day", 3600.0, 0.0864, 1e-6)]
    #[case("precipitation", "in", 86_400.0, 3.401_574_803_149_606, 1e-6)] // 0.0864 m / 0.0254
    #[case("specific_humidity", "g_kg", 3600.0, 8.0, 0.008)]
    #[case("discharge", "cfs", 86_400.0, 600.0, 16.990_107_955_2)]
    #[case("discharge", "acre_ft_day", 86_400.0, 70.0, 0.999_348_711)]
    #[case("area", "acres", 0.0, 2.0, 8_093.712_844_8)]
    fn a_unit_becomes_si(
        #[case] what: &str,
        #[case] unit: &str,
        #[case] step_s: f64,
        #[case] figure: f64,
        #[case] si: f64,
    ) {
        let found = Scale::of(what, unit, step_s).unwrap().to_si(figure);
        // Nine figures are given above.
        assert!(
            (found - si).abs() <= 1e-9 * si.abs().max(1e-6),
            "{found} against {si}"
        );
    }

    #[test]
    fn every_quantity_has_its_units() {
        for word in WeatherWhat::WORDS.iter().chain(RiverWhat::WORDS) {
            assert!(!units_of(word).is_empty(), "{word}");
        }
        assert!(units_of("clouds").is_empty());
    }
}
