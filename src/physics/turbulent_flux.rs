//! Sensible and latent heat between water and air, by the law of the wall with stability.

use std::f64::consts::FRAC_PI_2;

use super::atmosphere::{air_density_kg_m3, saturation_vapour_pressure_pa, specific_humidity_kg_kg};
use super::constants::{AIR_SPECIFIC_HEAT_J_KG_K, GRAVITY_M_S2, VON_KARMAN, ZERO_DEGC_K};
use super::water::{vaporisation_heat_j_kg, water_density_kg_m3};

/// Kinematic viscosity of air, m2/s, near 15 degC.
const AIR_VISCOSITY_M2_S: f64 = 1.5e-5;
/// Depth of the convective layer of the air, m (Zeng et al. 1998).
const CONVECTIVE_DEPTH_M: f64 = 1000.0;
/// Least wind, m/s: below it the law of the wall means nothing.
const LEAST_WIND_M_S: f64 = 0.1;
/// Greatest stability height over length (Zeng et al. 1998 go on with a form of their own beyond 1).
const MOST_STABLE: f64 = 5.0;
/// Least unstable counterpart, so that a calm over warm water ends.
const MOST_UNSTABLE: f64 = -50.0;
/// Change of the friction velocity and scales at which the iteration ends, relative.
const SETTLED: f64 = 1e-6;
/// Most steps of the iteration; it takes about twenty.
const MOST_STEPS: usize = 100;

/// Air and water at the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceAir {
    /// Wind speed at `wind_height_m`, m/s.
    pub wind_speed_m_s: f64,
    /// Height of the wind, m.
    pub wind_height_m: f64,
    /// Air temperature at `temp_height_m`, degC.
    pub air_temp_degc: f64,
    /// Vapour pressure there, Pa.
    pub vapour_pressure_pa: f64,
    /// Height of temperature and humidity, m.
    pub temp_height_m: f64,
    /// Temperature of the surface, degC.
    pub water_temp_degc: f64,
    /// Air pressure at the lake, Pa.
    pub pressure_pa: f64,
}

/// Heat that goes from the water to the air, and what drives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TurbulentFlux {
    /// Sensible heat lost by the water, W/m2; negative where the air warms it.
    pub sensible_w_m2: f64,
    /// Latent heat lost by the water, W/m2; negative where dew falls.
    pub latent_w_m2: f64,
    /// Friction velocity in the air, m/s.
    pub air_friction_m_s: f64,
    /// Density of the air, kg/m3.
    pub air_density_kg_m3: f64,
}

impl TurbulentFlux {
    /// Friction velocity in the water: the stress is the same on both sides, `u*_w = u*_a sqrt(rho_a/rho_w)`, m/s.
    pub fn water_friction_m_s(&self, water_temp_degc: f64) -> f64 {
        self.air_friction_m_s * (self.air_density_kg_m3 / water_density_kg_m3(water_temp_degc)).sqrt()
    }
}

/// Humidities and density of a moment.
struct Moist {
    air_kg_kg: f64,
    water_kg_kg: f64,
    density_kg_m3: f64,
}

impl Moist {
    fn of(air: &SurfaceAir) -> Moist {
        let air_kg_kg = specific_humidity_kg_kg(air.vapour_pressure_pa, air.pressure_pa);
        let saturated_pa = saturation_vapour_pressure_pa(air.water_temp_degc);
        Moist {
            air_kg_kg,
            water_kg_kg: specific_humidity_kg_kg(saturated_pa, air.pressure_pa),
            density_kg_m3: air_density_kg_m3(air.air_temp_degc, air_kg_kg, air.pressure_pa),
        }
    }
}

/// Fluxes with one transfer coefficient whatever the stability.
///
/// ```text
/// H = rho cp C U (Ts - Ta),  LE = rho Lv C U (qs - qa)
/// ```
///
/// C = `coefficient`, 1.3e-3 at 10 m (Fischer et al. 1979); qs saturated over fresh water. The friction velocity is
/// that of the same coefficient.
pub fn neutral_flux(air: &SurfaceAir, coefficient: f64) -> TurbulentFlux {
    let moist = Moist::of(air);
    let exchange = moist.density_kg_m3 * coefficient * air.wind_speed_m_s;
    TurbulentFlux {
        sensible_w_m2: exchange * AIR_SPECIFIC_HEAT_J_KG_K * (air.water_temp_degc - air.air_temp_degc),
        latent_w_m2: exchange
            * vaporisation_heat_j_kg(air.water_temp_degc)
            * (moist.water_kg_kg - moist.air_kg_kg),
        air_friction_m_s: air.wind_speed_m_s * coefficient.sqrt(),
        air_density_kg_m3: moist.density_kg_m3,
    }
}

/// Scales of the surface layer while they are sought.
#[derive(Clone, Copy)]
struct Scales {
    friction_m_s: f64,
    temp_k: f64,
    humidity_kg_kg: f64,
}

/// Fluxes by Monin-Obukhov similarity.
///
/// ```text
/// z0 = 0.013 u*^2/g + 0.11 nu/u*,  z0T = z0q = z0 exp(2.57 - 2.67 Re*^(1/4)),  Re* = u* z0/nu
/// u* = k V / [ln(z/z0) - psi_m],  T* = k (theta - Ts) / [ln(z/z0T) - psi_h],  q* likewise
/// unstable: psi_m = 2 ln((1+x)/2) + ln((1+x^2)/2) - 2 atan x + pi/2,  psi_h = 2 ln((1+x^2)/2),  x = (1 - 16 zeta)^(1/4)
/// stable: psi = -5 zeta to zeta = 1, -(4 ln zeta + zeta + 4) beyond
/// unstable: V^2 = U^2 + w*^2,  w*^3 = -(g/theta_v) u* theta_v* zi;  stable: V = U
/// H = -rho cp u* T*,  LE = -rho Lv u* q*
/// ```
///
/// zeta = z/L; relaxed by half until it settles to 1e-6. Wind is taken as 0.1 m/s where it is less, zeta is held
/// within -50 and 5. Source: Zeng et al. 1998, as used for lakes by Verburg & Antenucci 2010.
pub fn stable_flux(air: &SurfaceAir) -> TurbulentFlux {
    let moist = Moist::of(air);
    let wind_m_s = air.wind_speed_m_s.max(LEAST_WIND_M_S);
    let kelvin = air.air_temp_degc + ZERO_DEGC_K;
    // Dry adiabatic: what the air would have at the surface.
    let theta_degc = air.air_temp_degc + GRAVITY_M_S2 / AIR_SPECIFIC_HEAT_J_KG_K * air.temp_height_m;
    let (warmer_k, moister) = (
        theta_degc - air.water_temp_degc,
        moist.air_kg_kg - moist.water_kg_kg,
    );
    let mut scales = Scales {
        friction_m_s: 0.035 * wind_m_s,
        temp_k: 0.0,
        humidity_kg_kg: 0.0,
    };
    for _ in 0..MOST_STEPS {
        let u = scales.friction_m_s;
        let virtual_k = kelvin * (1.0 + 0.61 * moist.air_kg_kg);
        let virtual_scale_k =
            scales.temp_k * (1.0 + 0.61 * moist.air_kg_kg) + 0.61 * kelvin * scales.humidity_kg_kg;
        let per_m = VON_KARMAN * GRAVITY_M_S2 * virtual_scale_k / (virtual_k * u * u);
        let zeta = |height_m: f64| (per_m * height_m).clamp(MOST_UNSTABLE, MOST_STABLE);
        let gust_m_s = (-GRAVITY_M_S2 / virtual_k * u * virtual_scale_k * CONVECTIVE_DEPTH_M)
            .max(0.0)
            .cbrt();
        let felt_m_s = wind_m_s.hypot(gust_m_s);
        let rough_m = 0.013 * u * u / GRAVITY_M_S2 + 0.11 * AIR_VISCOSITY_M2_S / u;
        let reynolds = u * rough_m / AIR_VISCOSITY_M2_S;
        let rough_heat_m = rough_m * (2.57 - 2.67 * reynolds.powf(0.25)).exp();
        let of_heat =
            VON_KARMAN / ((air.temp_height_m / rough_heat_m).ln() - psi_heat(zeta(air.temp_height_m)));
        let found = Scales {
            friction_m_s: VON_KARMAN * felt_m_s
                / ((air.wind_height_m / rough_m).ln() - psi_momentum(zeta(air.wind_height_m))),
            temp_k: of_heat * warmer_k,
            humidity_kg_kg: of_heat * moister,
        };
        let half = |held: f64, found: f64| 0.5 * (held + found);
        let next = Scales {
            friction_m_s: half(u, found.friction_m_s),
            temp_k: half(scales.temp_k, found.temp_k),
            humidity_kg_kg: half(scales.humidity_kg_kg, found.humidity_kg_kg),
        };
        let has_settled = (next.friction_m_s - u).abs() <= SETTLED * u
            && (next.temp_k - scales.temp_k).abs() <= SETTLED * (1.0 + scales.temp_k.abs());
        scales = next;
        if has_settled {
            break;
        }
    }
    let rate = -moist.density_kg_m3 * scales.friction_m_s;
    TurbulentFlux {
        sensible_w_m2: rate * AIR_SPECIFIC_HEAT_J_KG_K * scales.temp_k,
        latent_w_m2: rate * vaporisation_heat_j_kg(air.water_temp_degc) * scales.humidity_kg_kg,
        air_friction_m_s: scales.friction_m_s,
        air_density_kg_m3: moist.density_kg_m3,
    }
}

fn psi_momentum(zeta: f64) -> f64 {
    if zeta >= 0.0 {
        return psi_stable(zeta);
    }
    let x = (1.0 - 16.0 * zeta).powf(0.25);
    2.0 * (0.5 * (1.0 + x)).ln() + (0.5 * (1.0 + x * x)).ln() - 2.0 * x.atan() + FRAC_PI_2
}

fn psi_heat(zeta: f64) -> f64 {
    if zeta >= 0.0 {
        return psi_stable(zeta);
    }
    let x = (1.0 - 16.0 * zeta).powf(0.25);
    2.0 * (0.5 * (1.0 + x * x)).ln()
}

fn psi_stable(zeta: f64) -> f64 {
    if zeta <= 1.0 {
        -5.0 * zeta
    } else {
        -(4.0 * zeta.ln() + zeta + 4.0)
    }
}

/// Depth of water that a latent heat flux takes away in a second: `LE / (rho Lv)`, m/s.
pub fn evaporation_m_s(latent_w_m2: f64, water_temp_degc: f64) -> f64 {
    latent_w_m2 / (water_density_kg_m3(water_temp_degc) * vaporisation_heat_j_kg(water_temp_degc))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stability_functions_are_continuous_where_their_forms_meet() {
        for (left, right) in [(-1e-9, 0.0), (1.0, 1.0 + 1e-9)] {
            assert!((psi_momentum(left) - psi_momentum(right)).abs() < 1e-7);
            assert!((psi_heat(left) - psi_heat(right)).abs() < 1e-7);
        }
    }

    #[test]
    fn without_difference_of_temperature_or_vapour_nothing_goes_over() {
        let temp_degc = 15.0;
        let air = SurfaceAir {
            wind_speed_m_s: 6.0,
            wind_height_m: 10.0,
            // Potential temperature equal to that of the water.
            air_temp_degc: temp_degc - GRAVITY_M_S2 / AIR_SPECIFIC_HEAT_J_KG_K * 2.0,
            vapour_pressure_pa: saturation_vapour_pressure_pa(temp_degc),
            temp_height_m: 2.0,
            water_temp_degc: temp_degc,
            pressure_pa: 101_325.0,
        };
        let flux = stable_flux(&air);
        assert!(
            flux.sensible_w_m2.abs() < 1e-9 && flux.latent_w_m2.abs() < 1e-6,
            "{flux:?}"
        );
        assert!(flux.air_friction_m_s > 0.15, "{flux:?}");
    }
}
