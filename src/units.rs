//! Every conversion factor of the program, each with its source.
//!
//! Factors live here and nowhere else: sources and the lake file convert on the way in, faces on the
//! way out, and equations in between see SI only.

/// 1 international foot in metres; exact (international yard and pound agreement, 1959).
pub const M_PER_FT: f64 = 0.3048;
/// 1 U.S. survey foot in metres; exact ratio 1200/3937 (Mendenhall order, retired 2022).
pub const M_PER_US_SURVEY_FT: f64 = 1200.0 / 3937.0;
/// 1 inch in metres; exact.
pub const M_PER_IN: f64 = 0.0254;
/// 1 statute mile in metres; exact.
pub const M_PER_MI: f64 = 1609.344;
/// 1 acre in square metres; exact: 43 560 international square feet.
pub const M2_PER_ACRE: f64 = 43_560.0 * M_PER_FT * M_PER_FT;
/// 1 hectare in square metres; exact.
pub const M2_PER_HA: f64 = 10_000.0;
/// 1 acre-foot in cubic metres; exact: 43 560 cubic feet.
pub const M3_PER_ACRE_FT: f64 = 43_560.0 * M_PER_FT * M_PER_FT * M_PER_FT;
/// 1 cubic foot a second in cubic metres a second; exact.
pub const M3S_PER_CFS: f64 = M_PER_FT * M_PER_FT * M_PER_FT;
/// 1 thousand cubic feet a second in cubic metres a second; exact.
pub const M3S_PER_KCFS: f64 = 1000.0 * M3S_PER_CFS;
/// 1 mile an hour in metres a second; exact.
pub const M_S_PER_MPH: f64 = 0.44704;
/// 1 knot in metres a second; exact (1852 m nautical mile).
pub const M_S_PER_KT: f64 = 1852.0 / 3600.0;
/// 1 kilometre an hour in metres a second; exact.
pub const M_S_PER_KMH: f64 = 1.0 / 3.6;
/// 1 hectopascal (millibar) in pascals; exact.
pub const PA_PER_HPA: f64 = 100.0;
/// Seconds in a day of 24 h; exact.
pub const S_PER_DAY: f64 = 86_400.0;
/// Size of a Fahrenheit degree in Celsius degrees; exact.
pub const DEGC_PER_DEGF: f64 = 5.0 / 9.0;
/// 1 pound (avoirdupois) in kilograms; exact.
pub const KG_PER_LB: f64 = 0.453_592_37;

/// Celsius from Fahrenheit: `C = (F - 32) / 1.8`.
pub fn degc_from_degf(temp_degf: f64) -> f64 {
    (temp_degf - 32.0) / 1.8
}

/// Fahrenheit from Celsius: `F = 1.8 C + 32`.
pub fn degf_from_degc(temp_degc: f64) -> f64 {
    temp_degc * 1.8 + 32.0
}
