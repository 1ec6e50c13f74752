//! Fresh water: density, and the temperature at which it is greatest.

/// Temperature of greatest density at 1 atm: 3.98 degC (`temp_max_density` of the TEOS-10 library
/// gsw 3.6.23 gives 3.979; Tanaka et al. 2001 give 3.983).
pub const MAX_DENSITY_TEMP_DEGC: f64 = 3.98;

/// Density of pure water at 1 atm.
///
/// ```text
/// rho = 999.842594 + 6.793952e-2 T - 9.095290e-3 T^2 + 1.001685e-4 T^3 - 1.120083e-6 T^4 + 6.536332e-9 T^5
/// ```
///
/// T = `temp_degc`; rho in kg/m3. Valid for 0-40 degC, within 0.002 kg/m3 of IAPWS-95 over 0-30 degC;
/// outside, the polynomial runs on and is not to be trusted. Salt and suspended matter are left out.
/// Source: EOS-80, Millero & Poisson 1981; UNESCO Technical Paper 44 (Fofonoff & Millard 1983), whose
/// temperatures are IPTS-68 (at most 0.01 degC from today's scale; we do not convert).
///
/// ```
/// # use plungeline::physics::water::water_density_kg_m3;
/// // UNESCO Technical Paper 44, check value at 5 degC: 999.96675
/// assert!((water_density_kg_m3(5.0) - 999.96675).abs() < 1e-4);
/// ```
pub fn water_density_kg_m3(temp_degc: f64) -> f64 {
    let t = temp_degc;
    999.842594
        + t * (6.793952e-2 + t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9))))
}
