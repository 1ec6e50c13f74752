//! Dissolved oxygen: saturation, exchange with the air, demand.

use super::constants::{STANDARD_ATMOSPHERE_PA, ZERO_DEGC_K};
use crate::math::fast;
use crate::units::S_PER_DAY;

/// What oxygen saturation depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OxygenState {
    /// Water temperature, degC, 0-40.
    pub temp_degc: f64,
    /// Dissolved solids, g/kg, 0-40.
    pub solids_g_kg: f64,
    /// Air pressure at the lake, Pa: that of the station, never one reduced to sea level, which at 1500 m makes
    /// the saturation a fifth too high.
    pub pressure_pa: f64,
}

/// Oxygen saturation.
///
/// ```text
/// ln C* = -139.34411 + 1.575701e5/T - 6.642308e7/T^2 + 1.243800e10/T^3 - 8.621949e11/T^4
///         - S (0.017674 - 10.754/T + 2140.7/T^2)
/// C = C* P (1 - u/P)(1 - theta P) / ((1 - u)(1 - theta))
/// ln u = 11.8571 - 3840.70/T - 216961/T^2,  theta = 0.000975 - 1.426e-5 t + 6.436e-8 t^2
/// ```
///
/// T in K and t in degC of `temp_degc`, S = `solids_g_kg`, P = `pressure_pa` in atm; mg/L. 0-40 degC, 0.5-1.1 atm.
/// Source: Benson & Krause 1984, the standard of the USGS since its Technical Memorandum 2011.03.
#[inline(always)]
pub fn oxygen_saturation_mg_l(state: OxygenState) -> f64 {
    let kelvin = state.temp_degc + ZERO_DEGC_K;
    let i = 1.0 / kelvin;
    let at_one_atm = -139.34411 + i * (1.575701e5 + i * (-6.642308e7 + i * (1.243800e10 - i * 8.621949e11)))
        - state.solids_g_kg * (0.017674 + i * (-10.754 + i * 2140.7));
    let atm = state.pressure_pa / STANDARD_ATMOSPHERE_PA;
    fast::exp(at_one_atm) * atm * pressure_factor(state.temp_degc, atm)
}

/// What pressure does to the saturation beyond its own ratio; 1 at 1 atm.
#[inline(always)]
fn pressure_factor(temp_degc: f64, pressure_atm: f64) -> f64 {
    let kelvin = temp_degc + ZERO_DEGC_K;
    let vapour = fast::exp(11.8571 - 3840.70 / kelvin - 216_961.0 / (kelvin * kelvin));
    let theta = 0.000975 - 1.426e-5 * temp_degc + 6.436e-8 * temp_degc * temp_degc;
    (1.0 - vapour / pressure_atm) * (1.0 - theta * pressure_atm) / ((1.0 - vapour) * (1.0 - theta))
}

/// Schmidt number of oxygen in fresh water: `1800.6 - 120.10 T + 3.7818 T^2 - 0.047608 T^3`.
///
/// T = `temp_degc`, 0-30 degC. Source: Wanninkhof 1992. The fit of 2014 is 4 % lower at 20 degC; the gas transfer
/// velocity below was derived with that of 1992.
#[inline(always)]
pub fn oxygen_schmidt_number(temp_degc: f64) -> f64 {
    let t = temp_degc;
    1800.6 + t * (-120.10 + t * (3.7818 - t * 0.047608))
}

/// Schmidt number of oxygen in fresh water, the later fit:
/// `1745.1 - 124.34 T + 4.8055 T^2 - 0.10115 T^3 + 0.00086842 T^4`.
///
/// T = `temp_degc`, -2 to 40 degC. Source: Wanninkhof 2014 (coefficients from memory, held to P8-SC20B).
pub fn oxygen_schmidt_number_2014(temp_degc: f64) -> f64 {
    let t = temp_degc;
    1745.1 + t * (-124.34 + t * (4.8055 + t * (-0.10115 + t * 0.00086842)))
}

/// Gas transfer velocity of oxygen through the surface: `k = k600 (Sc/600)^-0.5`, `k600 = 2.07 + 0.215 U^1.7` cm/h.
///
/// U = `wind_speed_m_s` at 10 m, Sc of [`oxygen_schmidt_number`]; m/s. Source: Cole & Caraco 1998, small lakes,
/// wind to about 10 m/s.
#[inline(always)]
pub fn oxygen_transfer_m_s(wind_speed_m_s: f64, temp_degc: f64) -> f64 {
    // Of calm air, whose logarithm is none, the least number stands for 0.
    let k600_cm_h = 2.07 + 0.215 * fast::powf(wind_speed_m_s.max(f64::MIN_POSITIVE), 1.7);
    let k_cm_h = k600_cm_h / (oxygen_schmidt_number(temp_degc) / 600.0).sqrt();
    k_cm_h * 0.01 / 3600.0
}

/// Factor of a rate at `temp_degc` against 20 degC: `theta^(T - 20)`.
///
/// Relative error under 5e-9 at -10 to 50 degC ([`fast::exp_small`]).
/// theta 1.065 for the bed, 1.047 for the water, 1.08 for both together. Source: Arrhenius form as in use since
/// Streeter & Phelps 1925.
#[inline(always)]
pub fn rate_factor(theta: f64, temp_degc: f64) -> f64 {
    fast::exp_small(theta.ln() * (temp_degc - 20.0))
}

/// Demand of a water layer from the areal demand of its bed: `J / H`.
///
/// J = `areal_g_m2_day`, H = `mean_thickness_m` (volume over area); mg/(L day), since 1 g/m3 is 1 mg/L.
/// Under 0.25 g/m2 a day counts as poor in nutrients, over 0.55 as rich (Mortimer 1941, from memory).
pub fn volumetric_demand_mg_l_day(areal_g_m2_day: f64, mean_thickness_m: f64) -> f64 {
    areal_g_m2_day / mean_thickness_m
}

/// Oxygen of a closed bottom layer with a constant demand and exchange with the water above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BottomLayer {
    /// Areal demand J, g/m2 a day.
    pub demand_g_m2_day: f64,
    /// Mean thickness H, m.
    pub thickness_m: f64,
    /// Exchange velocity v with the water above, m/day.
    pub exchange_m_per_day: f64,
    /// Oxygen of the water above, mg/L.
    pub above_mg_l: f64,
    /// Oxygen at the beginning, mg/L.
    pub start_mg_l: f64,
}

impl BottomLayer {
    /// Oxygen after `time_s`, mg/L: the solution of `dC/dt = -J/H + (v/H)(C_above - C)`, never below 0, since the
    /// demand stops with the oxygen.
    ///
    /// `C = C_end + (C_start - C_end) exp(-v t / H)`, `C_end = C_above - J/v`; without exchange `C_start - J t / H`.
    /// Source: Livingstone & Imboden 1996, with one demand.
    pub fn oxygen_mg_l(&self, time_s: f64) -> f64 {
        let days = time_s / S_PER_DAY;
        let found = if self.exchange_m_per_day > 0.0 {
            let end = self.above_mg_l - self.demand_g_m2_day / self.exchange_m_per_day;
            end + (self.start_mg_l - end) * (-self.exchange_m_per_day * days / self.thickness_m).exp()
        } else {
            self.start_mg_l - volumetric_demand_mg_l_day(self.demand_g_m2_day, self.thickness_m) * days
        };
        found.max(0.0)
    }
}
