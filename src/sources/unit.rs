//! The text of a unit to the SI unit of a quantity. Factors come from `units.rs` alone.
//!
//! Texts are compared without case, blanks, `^`, and with raised figures lowered, so that `ft^3/s`,
//! `ft³/s` and `FT3/S` are one. Turbidity in FNU is taken as NTU: the two instruments differ in light
//! and angle, and no general factor between them exists (common practice, no source).

use super::error::ReadError;
use crate::lake::Cadence;
use crate::quantity::Quantity;
use crate::units::{
    DEGC_PER_DEGF, M_PER_FT, M_PER_IN, M_PER_MI, M_PER_US_SURVEY_FT, M_S_PER_KMH, M_S_PER_KT, M_S_PER_MPH,
    M3_PER_ACRE_FT, M3S_PER_CFS, M3S_PER_KCFS, PA_PER_HPA, S_PER_DAY, degc_from_degf,
};

/// Joules in a megajoule; exact (SI prefix).
const J_PER_MJ: f64 = 1e6;

/// How a figure in a unit becomes the figure in SI: `si = figure * factor + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conversion {
    factor: f64,
    offset: f64,
}

impl Conversion {
    /// The figure in the SI unit of the quantity.
    pub fn to_si(self, figure: f64) -> f64 {
        figure * self.factor + self.offset
    }
}

/// The conversion of `unit` to the SI unit of `quantity`. At daily cadence a volume is the total of
/// the day, and becomes the mean flow of 86 400 s; a radiant energy likewise.
///
/// # Errors
/// [`ReadError::Unit`] where the unit is not known for the quantity, naming those that are; `what`
/// names the column or parameter.
pub fn conversion(
    quantity: Quantity,
    cadence: Cadence,
    unit: &str,
    what: &str,
) -> Result<Conversion, ReadError> {
    let known = table(quantity, cadence);
    let found = plain(unit);
    known
        .iter()
        .find(|(names, ..)| names.split('|').any(|name| name == found))
        .map(|&(_, factor, offset)| Conversion { factor, offset })
        .ok_or_else(|| ReadError::Unit {
            what: what.to_owned(),
            found: unit.to_owned(),
            quantity,
            wanted: known
                .iter()
                .filter_map(|(names, ..)| names.split('|').next())
                .collect::<Vec<_>>()
                .join(", "),
        })
}

/// A unit's text without what does not tell units apart.
fn plain(unit: &str) -> String {
    unit.trim()
        .chars()
        .filter(|c| !matches!(c, ' ' | '^' | '_'))
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            '²' => '2',
            '³' => '3',
            '−' => '-',
            other => other,
        })
        .collect()
}

/// One row: names that mean the unit, factor, offset.
type Row = (&'static str, f64, f64);

const LENGTH: &[Row] = &[
    ("m|metre|metres|meter|meters", 1.0, 0.0),
    ("ft|foot|feet", M_PER_FT, 0.0),
    ("ftus|ussurveyft", M_PER_US_SURVEY_FT, 0.0),
    ("km", 1000.0, 0.0),
    ("mi|mile|miles", M_PER_MI, 0.0),
];
const VOLUME: &[Row] = &[
    ("m3", 1.0, 0.0),
    ("acre-ft|acre-feet|acft|ac-ft|af", M3_PER_ACRE_FT, 0.0),
    ("kaf", 1000.0 * M3_PER_ACRE_FT, 0.0),
    ("hm3|millionm3|mcm", 1e6, 0.0),
    ("km3", 1e9, 0.0),
];
const FLOW: &[Row] = &[
    ("m3/s|m3s-1|cms|cumec", 1.0, 0.0),
    ("ft3/s|cfs|ft3s-1", M3S_PER_CFS, 0.0),
    ("kcfs", M3S_PER_KCFS, 0.0),
    ("m3/day|m3/d|m3perday", 1.0 / S_PER_DAY, 0.0),
    (
        "acre-ft/day|acre-ft/d|af/d|af/day",
        M3_PER_ACRE_FT / S_PER_DAY,
        0.0,
    ),
    ("l/s", 0.001, 0.0),
];
const DAILY_FLOW: &[Row] = &[
    ("m3/s|m3s-1|cms|cumec", 1.0, 0.0),
    ("ft3/s|cfs|ft3s-1", M3S_PER_CFS, 0.0),
    ("kcfs", M3S_PER_KCFS, 0.0),
    ("m3/day|m3/d|m3perday|m3", 1.0 / S_PER_DAY, 0.0),
    (
        "acre-ft/day|acre-ft/d|af/d|af/day|acre-ft|acre-feet|ac-ft|af",
        M3_PER_ACRE_FT / S_PER_DAY,
        0.0,
    ),
    ("l/s", 0.001, 0.0),
];
const TURBIDITY: &[Row] = &[("ntu|fnu|fntu|formazinnephelometricunits(fnu)", 1.0, 0.0)];
const CONCENTRATION: &[Row] = &[("mg/l|mgl-1|ppm|g/m3", 1.0, 0.0)];
const FRACTION: &[Row] = &[
    ("frac|fraction|1", 1.0, 0.0),
    ("%|pct|percent", 0.01, 0.0),
    ("tenths", 0.1, 0.0),
    ("okta|oktas", 0.125, 0.0),
];
const PRESSURE: &[Row] = &[
    ("pa", 1.0, 0.0),
    ("hpa|mbar|mb", PA_PER_HPA, 0.0),
    ("kpa", 1000.0, 0.0),
];
const SPEED: &[Row] = &[
    ("m/s|ms-1", 1.0, 0.0),
    ("km/h|kmh|kmh-1", M_S_PER_KMH, 0.0),
    ("mph|mp/h|mi/h", M_S_PER_MPH, 0.0),
    ("kn|kt|kts|knots", M_S_PER_KT, 0.0),
];
const ANGLE: &[Row] = &[
    ("°|deg|degrees|degree", 1.0, 0.0),
    ("rad", 180.0 / std::f64::consts::PI, 0.0),
];
const IRRADIANCE: &[Row] = &[("w/m2|wm-2", 1.0, 0.0)];
const DAILY_IRRADIANCE: &[Row] = &[
    ("w/m2|wm-2", 1.0, 0.0),
    ("mj/m2|mjm-2", J_PER_MJ / S_PER_DAY, 0.0),
    ("j/m2|jm-2", 1.0 / S_PER_DAY, 0.0),
];
const RAIN: &[Row] = &[
    ("m", 1.0, 0.0),
    ("mm|kg/m2", 0.001, 0.0),
    ("cm", 0.01, 0.0),
    ("in|inch|inches", M_PER_IN, 0.0),
];
const DAILY_RAIN: &[Row] = &[
    ("m|m/day|m/d", 1.0, 0.0),
    ("mm|mm/day|mm/d|kg/m2", 0.001, 0.0),
    ("cm|cm/day|cm/d", 0.01, 0.0),
    ("in|inch|inches|in/day", M_PER_IN, 0.0),
];

fn table(quantity: Quantity, cadence: Cadence) -> Vec<Row> {
    let daily = cadence == Cadence::Daily;
    let rows: &[Row] = match quantity {
        Quantity::PoolElevation | Quantity::Visibility => LENGTH,
        Quantity::Storage => VOLUME,
        Quantity::Inflow | Quantity::Release | Quantity::Evaporation => {
            if daily {
                DAILY_FLOW
            } else {
                FLOW
            }
        }
        Quantity::WaterTemp | Quantity::RiverTemp | Quantity::AirTemp | Quantity::DewPoint => {
            return vec![
                ("degc|°c|c|celsius", 1.0, 0.0),
                ("degf|°f|f|fahrenheit", DEGC_PER_DEGF, degc_from_degf(0.0)),
                // 0 degC = 273.15 K; exact (SI).
                ("k|kelvin", 1.0, -273.15),
            ];
        }
        Quantity::Turbidity => TURBIDITY,
        Quantity::DissolvedOxygen => CONCENTRATION,
        Quantity::RelativeHumidity | Quantity::CloudCover | Quantity::ThunderProbability => FRACTION,
        Quantity::VapourPressure | Quantity::SurfacePressure => PRESSURE,
        Quantity::WindSpeed | Quantity::WindGust => SPEED,
        Quantity::WindDirection => ANGLE,
        Quantity::Precipitation => {
            if daily {
                DAILY_RAIN
            } else {
                RAIN
            }
        }
        Quantity::Shortwave | Quantity::Longwave => {
            if daily {
                DAILY_IRRADIANCE
            } else {
                IRRADIANCE
            }
        }
    };
    rows.to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// Each row: a real magnitude in the trade's unit, and the figure it is in SI, worked by hand
    /// from the exact definitions (NIST SP 811, appendix B.8, from memory).
    #[rstest]
    #[case(Quantity::PoolElevation, Cadence::Daily, "ft", 845.0, 257.556)] // 845 x 0.3048
    #[case(Quantity::Storage, Cadence::Daily, "acre-ft", 520_500.0, 642_027_296.443_48)] // x 1233.48183754752
    #[case(Quantity::Inflow, Cadence::Continuous, "ft^3/s", 600.0, 16.990_107_955_2)] // x 0.028316846592
    #[case(Quantity::Inflow, Cadence::Continuous, "ft³/s", 20.2, 0.572_000_301_158_4)] // x 0.028316846592
    #[case(Quantity::Release, Cadence::Daily, "cfs", -717.0, -20.303_179_006)] // computed inflow below zero
    #[case(Quantity::Release, Cadence::Daily, "kcfs", 1.0, 28.316_846_592)]
    #[case(Quantity::Inflow, Cadence::Daily, "m3/day", 86_400.0, 1.0)]
    #[case(Quantity::Evaporation, Cadence::Daily, "acre-ft", 70.0, 0.999_348_711)] // 70 x 1233.48.. / 86400
    #[case(Quantity::WaterTemp, Cadence::Daily, "deg C", 12.5, 12.5)]
    #[case(Quantity::RiverTemp, Cadence::Daily, "degF", 50.0, 10.0)]
    #[case(Quantity::AirTemp, Cadence::Forecast, "°F", -40.0, -40.0)]
    #[case(Quantity::AirTemp, Cadence::Forecast, "K", 273.15, 0.0)]
    #[case(Quantity::Turbidity, Cadence::Continuous, "_FNU", 35.0, 35.0)]
    #[case(Quantity::DissolvedOxygen, Cadence::Continuous, "mg/l", 8.5, 8.5)]
    #[case(Quantity::RelativeHumidity, Cadence::Forecast, "%", 68.0, 0.68)]
    #[case(Quantity::CloudCover, Cadence::Continuous, "tenths", 7.0, 0.7)]
    #[case(Quantity::VapourPressure, Cadence::Continuous, "hPa", 1.377, 137.7)]
    #[case(Quantity::WindSpeed, Cadence::Forecast, "km/h", 36.0, 10.0)]
    #[case(Quantity::WindGust, Cadence::Forecast, "mp/h", 10.0, 4.4704)]
    #[case(Quantity::WindSpeed, Cadence::Forecast, "kn", 10.0, 5.144_444_444)]
    #[case(
        Quantity::WindDirection,
        Cadence::Continuous,
        "rad",
        std::f64::consts::PI,
        180.0
    )]
    #[case(Quantity::Precipitation, Cadence::Forecast, "mm", 2.0, 0.002)]
    #[case(Quantity::Precipitation, Cadence::Forecast, "inch", 1.0, 0.0254)]
    #[case(Quantity::Shortwave, Cadence::Daily, "MJ/m²", 25.92, 300.0)] // 25.92e6 / 86400
    #[case(Quantity::Shortwave, Cadence::Forecast, "W/m²", 812.0, 812.0)]
    #[case(Quantity::Visibility, Cadence::Forecast, "m", 24_140.0, 24_140.0)]
    #[case(Quantity::ThunderProbability, Cadence::Forecast, "%", 30.0, 0.3)]
    fn a_unit_becomes_si(
        #[case] quantity: Quantity,
        #[case] cadence: Cadence,
        #[case] unit: &str,
        #[case] figure: f64,
        #[case] si: f64,
    ) {
        let found = conversion(quantity, cadence, unit, "x").unwrap().to_si(figure);
        // Nine figures are given above.
        assert!(
            (found - si).abs() <= 1e-9 * si.abs().max(1.0),
            "{found} against {si}"
        );
    }

    #[test]
    fn a_unit_of_another_kind_is_refused_with_those_that_fit() {
        let fault = conversion(Quantity::Inflow, Cadence::Daily, "ft", "00060")
            .unwrap_err()
            .to_string();
        assert!(
            fault.contains("found unit \"ft\"") && fault.contains("m3/s, ft3/s"),
            "{fault}"
        );
    }

    #[test]
    fn a_volume_is_no_flow_within_the_day() {
        assert!(conversion(Quantity::Inflow, Cadence::Continuous, "acre-ft", "x").is_err());
        assert!(conversion(Quantity::Shortwave, Cadence::Continuous, "MJ/m2", "x").is_err());
    }

    #[test]
    fn an_undefined_unit_is_refused() {
        assert!(conversion(Quantity::AirTemp, Cadence::Forecast, "undefined", "x").is_err());
        assert!(conversion(Quantity::AirTemp, Cadence::Forecast, "", "x").is_err());
    }

    #[test]
    fn every_quantity_has_a_unit_at_every_cadence() {
        for quantity in Quantity::ALL {
            for cadence in [Cadence::Daily, Cadence::Continuous, Cadence::Forecast] {
                assert!(!table(quantity, cadence).is_empty(), "{}", quantity.word());
            }
        }
    }
}
