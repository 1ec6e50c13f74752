//! Simple ice: one sheet, its temperature in step with the weather, frozen and melted by what heat is over.

use super::state::{Column, Lanes};
use crate::column::forcing::Weather;
use crate::physics::atmosphere::air_density_kg_m3;
use crate::physics::atmosphere::specific_humidity_kg_kg;
use crate::physics::constants::{
    AIR_SPECIFIC_HEAT_J_KG_K, STEFAN_BOLTZMANN_W_M2_K4, WATER_EMISSIVITY, ZERO_DEGC_K,
};
use crate::physics::mixing::{ICE_KG_M3, ICE_W_M_K, MOLECULAR_M2_S};
use crate::physics::water::{FUSION_HEAT_J_KG, HEAT_CAPACITY_J_M3_K};

/// Albedo of snow, of bare ice, and of a sheet whose snow is not known, each in frost and melting (snow 0.5-0.85 and ice 0.3-0.5
/// in the literature; chosen within it by the days on which ice went from recorded lakes, as far as their water tells).
const SNOW_ALBEDO: (f64, f64) = (0.75, 0.5);
const UNKNOWN_ALBEDO: (f64, f64) = (0.55, 0.35);
const ICE_ALBEDO: (f64, f64) = (0.5, 0.45);
/// Share of the sunlight that goes through the skin of the ice (Maykut & Untersteiner 1971, from memory).
const THROUGH_SKIN_FRAC: f64 = 0.17;
/// Extinction of light in ice (Maykut & Untersteiner 1971, from memory) and in snow (from memory), 1/m.
const EXTINCTION_PER_M: (f64, f64) = (1.5, 10.0);
/// Conduction of the sheet against bare ice where snowfall is not known: with usual snow ice grows to about 0.7 of what
/// bare ice does, and thickness goes with the root of the conduction (0.5-0.8, USACE EM 1110-2-1612, from memory).
const SNOW_UNKNOWN_FRAC: f64 = 0.5;
/// Density of settled snow, kg/m3, and its conductivity, W/(m K) (from memory).
const SNOW_KG_M3: f64 = 300.0;
const SNOW_W_M_K: f64 = 0.3;
/// Snow thinner than this does not hide the ice, m.
const HIDING_M: f64 = 0.01;
/// Transfer coefficient of sensible heat over ice (Fischer et al. 1979).
const TRANSFER: f64 = 1.3e-3;
/// Least thickness in the conduction, m.
const THINNEST_M: f64 = 0.02;
/// Heat of melting a cubic metre of ice, J/m3.
pub const MELT_J_M3: f64 = ICE_KG_M3 * FUSION_HEAT_J_KG;
/// Heat of melting snow that makes a cubic metre of water, J/m3.
pub const MELT_SNOW_J_M3: f64 = 1000.0 * FUSION_HEAT_J_KG;

/// Freezes water below 0 degC: layers from the surface down are brought to 0 and what they lacked becomes ice. Heat is
/// kept: that of a lane is the water's less [`MELT_J_M3`] times the ice. Returns the first layer from the surface down that
/// stayed as it was, or the lowest.
pub fn freeze<const L: usize>(column: &mut Column<L>, lane: usize) -> usize {
    let mut layer = column.top[lane];
    while column.temp_degc[layer][lane] < 0.0 {
        let lacking_j = -HEAT_CAPACITY_J_M3_K * column.volume_m3[layer][lane] * column.temp_degc[layer][lane];
        column.ice_m3[lane] += lacking_j / MELT_J_M3;
        column.temp_degc[layer][lane] = 0.0;
        if layer == 0 {
            break;
        }
        layer -= 1;
    }
    layer
}

/// What a step did to a lane under ice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IceStep {
    /// Heat that water and ice gained through the surface, sunlight into the water left out, J.
    pub heat_j: f64,
    /// Sunlight that reaches the water, W/m2.
    pub entering_w_m2: f64,
}

/// The sheet as sun and frost see it.
struct Sheet {
    albedo_frac: f64,
    /// Share of what is not reflected that reaches the water.
    through_frac: f64,
    conduction_w_m2_k: f64,
}

fn sheet(ice_m: f64, snow_water_m: f64, weather: &Weather) -> Sheet {
    let ice_m = ice_m.max(THINNEST_M);
    let snow_m = snow_water_m * 1000.0 / SNOW_KG_M3;
    let (frost, melting) = if weather.precipitation_m_s.is_none() {
        UNKNOWN_ALBEDO
    } else if snow_m > HIDING_M {
        SNOW_ALBEDO
    } else {
        ICE_ALBEDO
    };
    let unknown_frac = if weather.precipitation_m_s.is_none() {
        SNOW_UNKNOWN_FRAC
    } else {
        1.0
    };
    Sheet {
        albedo_frac: if weather.air_temp_degc < 0.0 {
            frost
        } else {
            melting
        },
        through_frac: THROUGH_SKIN_FRAC * (-EXTINCTION_PER_M.0 * ice_m - EXTINCTION_PER_M.1 * snow_m).exp(),
        conduction_w_m2_k: unknown_frac / (ice_m / ICE_W_M_K + snow_m / SNOW_W_M_K),
    }
}

/// Steps the ice of a lane and the snow on it.
///
/// ```text
/// absorbed + 0.97 (La - sigma Ti^4) - rho cp C U (Ti - Ta) + (0 - Ti)/(h/k + h_s/k_s) = 0,  Ti <= 0
/// rho_i L dh/dt = (0 - Ti)/(h/k + h_s/k_s) - F_w,  F_w = rho cp K (T1 - 0) / (h1/2)
/// ```
///
/// h, h_s thickness of ice and snow, T1 and h1 temperature and thickness of the surface water, K molecular. What is over
/// at 0 degC melts snow, then ice; no vapour leaves them. What melting has over when the ice is gone warms the surface
/// layer. Snow falls below 0 degC. Source: quasi-steady ice after Stefan 1891 with a balance of the surface.
pub fn step_ice<const L: usize>(
    column: &mut Column<L>,
    lane: usize,
    weather: &Weather,
    (sky_w_m2, wind_speed_m_s): (f64, f64),
    step_s: f64,
) -> IceStep {
    let area_m2 = column.surface_area_m2[lane];
    let mut through_surface_j = 0.0;
    if weather.air_temp_degc < 0.0 {
        let fallen_m3 = weather.precipitation_m_s.unwrap_or(0.0) * area_m2 * step_s;
        column.snow_m3[lane] += fallen_m3;
        through_surface_j -= MELT_SNOW_J_M3 * fallen_m3;
    }
    let sheet = sheet(
        column.ice_m3[lane] / area_m2,
        column.snow_m3[lane] / area_m2,
        weather,
    );
    let kept_w_m2 = weather.sunlight_w_m2 * (1.0 - sheet.albedo_frac);
    let through_w_m2 = kept_w_m2 * sheet.through_frac;
    let (upward_w_m2, surplus_w_m2) = skin(
        &sheet,
        weather,
        (kept_w_m2 - through_w_m2, sky_w_m2, wind_speed_m_s),
    );
    through_surface_j += (surplus_w_m2 - upward_w_m2) * area_m2 * step_s;
    let top = column.top[lane];
    let layer_m3 = column.volume_m3[top][lane];
    let thick_m = layer_m3 / area_m2;
    // Implicit, so that a thin layer does not fall below freezing.
    let cooled_degc =
        column.temp_degc[top][lane] / (1.0 + 2.0 * MOLECULAR_M2_S * step_s / (thick_m * thick_m));
    let from_water_j = HEAT_CAPACITY_J_M3_K * layer_m3 * (column.temp_degc[top][lane] - cooled_degc);
    column.temp_degc[top][lane] = cooled_degc;
    let surplus_j = surplus_w_m2 * area_m2 * step_s;
    let snow_m3 = f64::min(column.snow_m3[lane], surplus_j / MELT_SNOW_J_M3);
    column.snow_m3[lane] -= snow_m3;
    let to_ice_j = surplus_j - snow_m3 * MELT_SNOW_J_M3 - upward_w_m2 * area_m2 * step_s + from_water_j;
    column.ice_m3[lane] -= to_ice_j / MELT_J_M3;
    if column.ice_m3[lane] < 0.0 {
        // The last ice takes its snow with it.
        let over_j = -column.ice_m3[lane] * MELT_J_M3 - column.snow_m3[lane] * MELT_SNOW_J_M3;
        column.temp_degc[top][lane] += over_j / (HEAT_CAPACITY_J_M3_K * layer_m3);
        column.ice_m3[lane] = 0.0;
        column.snow_m3[lane] = 0.0;
    }
    IceStep {
        heat_j: through_surface_j,
        entering_w_m2: through_w_m2,
    }
}

/// Heat that goes up through the sheet, and what is over for melting it from above, W/m2: the skin's temperature by three
/// steps of Newton.
fn skin(
    sheet: &Sheet,
    weather: &Weather,
    (absorbed_w_m2, sky_w_m2, wind_speed_m_s): (f64, f64, f64),
) -> (f64, f64) {
    let humidity = specific_humidity_kg_kg(weather.vapour_pressure_pa, weather.pressure_pa);
    let sensible_w_m2_k = air_density_kg_m3(weather.air_temp_degc, humidity, weather.pressure_pa)
        * AIR_SPECIFIC_HEAT_J_KG_K
        * TRANSFER
        * wind_speed_m_s;
    // Gain of the skin at a temperature, and its slope.
    let gain = |skin_degc: f64| {
        let kelvin = skin_degc + ZERO_DEGC_K;
        let sent = WATER_EMISSIVITY * STEFAN_BOLTZMANN_W_M2_K4 * kelvin.powi(4);
        let value = absorbed_w_m2 + WATER_EMISSIVITY * sky_w_m2
            - sent
            - sensible_w_m2_k * (skin_degc - weather.air_temp_degc);
        (value, -4.0 * sent / kelvin - sensible_w_m2_k)
    };
    let mut skin_degc = 0.0;
    for _ in 0..3 {
        let (value, slope) = gain(skin_degc);
        skin_degc -= (value - sheet.conduction_w_m2_k * skin_degc) / (slope - sheet.conduction_w_m2_k);
        skin_degc = f64::min(skin_degc, 0.0);
    }
    let surplus_w_m2 = if skin_degc < 0.0 {
        0.0
    } else {
        gain(0.0).0.max(0.0)
    };
    (-sheet.conduction_w_m2_k * skin_degc, surplus_w_m2)
}

/// Ice of each lane, m.
pub fn thickness_m<const L: usize>(column: &Column<L>) -> Lanes<L> {
    std::array::from_fn(|lane| column.ice_m3[lane] / column.surface_area_m2[lane])
}
