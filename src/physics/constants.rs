//! Constants of nature that several parts share.

/// Standard gravity, m/s2 (CGPM 1901).
pub const GRAVITY_M_S2: f64 = 9.80665;
/// Gravity as the indices of stratification are usually reckoned with, m/s2 (Read et al. 2011).
pub const GRAVITY_OF_INDICES_M_S2: f64 = 9.81;
/// Zero of the Celsius scale, K (exact, SI).
pub const ZERO_DEGC_K: f64 = 273.15;
/// Pascals in a bar; exact.
pub const PA_PER_BAR: f64 = 1e5;
/// Stefan-Boltzmann constant, W/(m2 K4) (CODATA 2018).
pub const STEFAN_BOLTZMANN_W_M2_K4: f64 = 5.670374419e-8;
/// Gas constant of dry air, J/(kg K).
pub const DRY_AIR_J_KG_K: f64 = 287.05;
/// Specific heat of air at constant pressure, J/(kg K).
pub const AIR_SPECIFIC_HEAT_J_KG_K: f64 = 1005.0;
/// Von Karman's constant.
pub const VON_KARMAN: f64 = 0.40;
/// Share of the molar mass of water in that of dry air.
pub const WATER_TO_AIR_MASS: f64 = 0.622;
/// Emissivity of a water surface, for what it sends and what it takes up of longwave radiation.
pub const WATER_EMISSIVITY: f64 = 0.97;
/// Standard atmosphere, Pa (exact).
pub const STANDARD_ATMOSPHERE_PA: f64 = 101_325.0;
