//! Heat, vapour and stress at an open surface.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use super::state::{Column, Lanes};
use crate::column::forcing::Weather;
use crate::math::wide::wide;
use crate::physics::constants::WATER_EMISSIVITY;
use crate::physics::longwave::water_longwave_w_m2;
use crate::physics::radiation::direct_albedo_of_height;
use crate::physics::turbulent_flux::{SurfaceAir, TurbulentFlux, evaporation_m_s};
use crate::physics::water::HEAT_CAPACITY_J_M3_K;

/// Height of the forcing's wind, and of its temperature and humidity, m.
const HEIGHT_M: (f64, f64) = (10.0, 2.0);
/// Albedo of water for light from the whole sky (0.06-0.07 in the literature).
const DIFFUSE_ALBEDO: f64 = 0.065;
/// Share of the light that comes from the whole sky, where only the sum is known (project choice).
const DIFFUSE_FRAC: f64 = 0.5;

/// What a surface gains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceGain {
    /// Heat that acts on the surface itself, all but sunlight, W/m2.
    pub heat_w_m2: f64,
    /// Water that evaporates, m/s; dew counts below 0.
    pub evaporation_m_s: f64,
    /// Friction velocity in the water, m/s.
    pub friction_m_s: f64,
}

impl SurfaceGain {
    /// Nothing.
    pub const NONE: SurfaceGain = SurfaceGain {
        heat_w_m2: 0.0,
        evaporation_m_s: 0.0,
        friction_m_s: 0.0,
    };
}

/// Albedo of the water under each lane's sky: half for the direct beam at the sun's height of the step, half for light from the
/// whole sky.
pub fn surface_albedos<const L: usize>(weather: &[Weather; L]) -> Lanes<L> {
    wide(
        #[inline(always)]
        || {
            let (mut height, mut albedo) = ([0.0; L], [0.0; L]);
            for lane in 0..L {
                height[lane] = weather[lane].sun_height_frac.min(1.0);
            }
            if height == [0.0; L] {
                return [DIFFUSE_ALBEDO; L];
            }
            for lane in 0..L {
                // Of a sun that is down any number will do.
                let up = if height[lane] > 0.0 { height[lane] } else { 1.0 };
                let direct = direct_albedo_of_height(up);
                albedo[lane] = DIFFUSE_FRAC * DIFFUSE_ALBEDO + (1.0 - DIFFUSE_FRAC) * direct;
            }
            for lane in 0..L {
                albedo[lane] = if height[lane] > 0.0 {
                    albedo[lane]
                } else {
                    DIFFUSE_ALBEDO
                };
            }
            albedo
        },
    )
}

/// Air over the surface of a lane, under the wind of the lane.
pub fn surface_air<const L: usize>(
    column: &Column<L>,
    lane: usize,
    weather: &Weather,
    wind_speed_m_s: f64,
) -> SurfaceAir {
    SurfaceAir {
        wind_speed_m_s,
        wind_height_m: HEIGHT_M.0,
        air_temp_degc: weather.air_temp_degc,
        vapour_pressure_pa: weather.vapour_pressure_pa,
        temp_height_m: HEIGHT_M.1,
        water_temp_degc: column.temp_degc[column.top[lane]][lane],
        pressure_pa: weather.pressure_pa,
    }
}

/// Gain of the surface of a lane: `0.97 (La - sigma Ts^4) - H - LE` with the fluxes of
/// [`stable_fluxes`](crate::physics::turbulent_flux::stable_fluxes).
///
/// Taken with the surface's temperature at the beginning of the step. Where the layer is so thin that it would overshoot
/// its equilibrium within the step, the gain is cut back to reach that, evaporation with it.
pub fn surface_gain<const L: usize>(
    column: &Column<L>,
    lane: usize,
    (air, flux): (&SurfaceAir, &TurbulentFlux),
    sky_w_m2: f64,
    step_s: f64,
) -> SurfaceGain {
    let top = column.top[lane];
    let (water_temp_degc, wind_speed_m_s) = (air.water_temp_degc, air.wind_speed_m_s);
    let sent_w_m2 = water_longwave_w_m2(water_temp_degc);
    let heat_w_m2 = WATER_EMISSIVITY * sky_w_m2 - sent_w_m2 - flux.sensible_w_m2 - flux.latent_w_m2;
    // Loss that a degree more would bring: of radiation, and of the law of the wall at its least stable about
    // 3 W/m2 for each m/s of wind of sensible and twice that of latent heat.
    let slope_w_m2_k = 4.0 * sent_w_m2 / (water_temp_degc + 273.15) + 9.0 * wind_speed_m_s.max(1.0);
    let thick_m = column.volume_m3[top][lane] / column.surface_area_m2[lane];
    let pull = slope_w_m2_k * step_s / (HEAT_CAPACITY_J_M3_K * thick_m);
    let kept = if pull > 1.0 { 1.0 / pull } else { 1.0 };
    SurfaceGain {
        heat_w_m2: kept * heat_w_m2,
        evaporation_m_s: kept * evaporation_m_s(flux.latent_w_m2, water_temp_degc),
        friction_m_s: flux.water_friction_m_s(water_temp_degc),
    }
}
