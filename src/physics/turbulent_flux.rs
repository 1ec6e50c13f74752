//! Sensible and latent heat between water and air, by the law of the wall with stability.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use std::f64::consts::FRAC_PI_2;

use super::atmosphere::{air_density_kg_m3, saturation_vapour_pressure_pa, specific_humidity_kg_kg};
use super::constants::{AIR_SPECIFIC_HEAT_J_KG_K, GRAVITY_M_S2, VON_KARMAN, ZERO_DEGC_K};
use super::water::{vaporisation_heat_j_kg, water_density_kg_m3};
use crate::math::fast;
use crate::math::powers::TWO_THIRDS;
use crate::math::wide::wide;

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
/// What a step of the iteration still changes when it ends, relative.
const SETTLED: f64 = 1e-6;
/// Most steps of the iteration; it takes about seven.
const MOST_STEPS: usize = 100;
/// Share of what is off that the first step goes, of friction velocity and of heat; the transfer of heat at the beginning.
const FIRST: (f64, f64) = (0.7, 0.9);
const FIRST_HEAT: f64 = 0.03;
/// Most by which a step changes a scale, as a share of it.
const MOST_MOVED: f64 = 0.5;
/// Least part of a move that has to show in what is off, for the secant to learn from it.
const LEAST_ALONG: f64 = 0.1;

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
/// zeta = z/L; u* and the transfer of heat are sought together, step by step, by a secant in both (Broyden 1965), until neither is
/// off by more than 1e-6 of itself; what the last step leaves is less. Logarithms are those of [`crate::math::fast`],
/// the gust is by [`TWO_THIRDS`]. Wind is taken as 0.1 m/s where it is less, zeta is held
/// within -50 and 5. Source: Zeng et al. 1998, as used for lakes by Verburg & Antenucci 2010.
pub fn stable_flux(air: &SurfaceAir) -> TurbulentFlux {
    let [flux] = stable_fluxes(&[*air]);
    flux
}

/// [`stable_flux`] of several surfaces side by side, each of which gets what it gets alone.
pub fn stable_fluxes<const L: usize>(air: &[SurfaceAir; L]) -> [TurbulentFlux; L] {
    wide(
        #[inline(always)]
        || sought_fluxes(air),
    )
}

#[inline(always)]
fn sought_fluxes<const L: usize>(air: &[SurfaceAir; L]) -> [TurbulentFlux; L] {
    let moist: [Moist; L] = std::array::from_fn(|lane| Moist::of(&air[lane]));
    let held: [Held; L] = std::array::from_fn(|lane| Held::of(&air[lane], &moist[lane]));
    let mut scales = Scales {
        friction_m_s: std::array::from_fn(|lane| 0.035 * held[lane].wind_m_s),
        heat: [FIRST_HEAT; L],
    };
    // 1 of a lane that goes on; one that has settled stays, or it would depend on its neighbours.
    let mut goes = [1.0; L];
    let mut secant = Secant::new();
    for _ in 0..MOST_STEPS {
        let found = scales.next(&held);
        let mut off = [[0.0; L]; 2];
        for lane in 0..L {
            off[0][lane] = found.friction_m_s[lane] / scales.friction_m_s[lane] - 1.0;
            off[1][lane] = found.heat[lane] / scales.heat[lane] - 1.0;
        }
        secant.go(&off);
        for lane in 0..L {
            scales.friction_m_s[lane] *= 1.0 + goes[lane] * secant.moved[0][lane];
            scales.heat[lane] *= 1.0 + goes[lane] * secant.moved[1][lane];
        }
        for lane in 0..L {
            let farthest = f64::max(off[0][lane].abs(), off[1][lane].abs());
            goes[lane] = if farthest > SETTLED { goes[lane] } else { 0.0 };
        }
        if goes == [0.0; L] {
            break;
        }
    }
    std::array::from_fn(|lane| {
        let rate = -moist[lane].density_kg_m3 * scales.friction_m_s[lane] * scales.heat[lane];
        let vaporisation_j_kg = vaporisation_heat_j_kg(air[lane].water_temp_degc);
        TurbulentFlux {
            sensible_w_m2: rate * AIR_SPECIFIC_HEAT_J_KG_K * held[lane].warmer_k,
            latent_w_m2: rate * vaporisation_j_kg * held[lane].moister_kg_kg,
            air_friction_m_s: scales.friction_m_s[lane],
            air_density_kg_m3: moist[lane].density_kg_m3,
        }
    })
}

/// The secant in two dimensions (Broyden 1965), lane by lane: from how far off the two scales were, to how far they are moved.
struct Secant<const L: usize> {
    /// The matrix that makes a move of what is off: its first row, then its second.
    matrix: [[f64; L]; 4],
    /// The last move, and what was off then; of each scale, as a share of it.
    moved: [[f64; L]; 2],
    off: [[f64; L]; 2],
}

impl<const L: usize> Secant<L> {
    #[inline(always)]
    fn new() -> Self {
        Secant {
            matrix: [[FIRST.0; L], [0.0; L], [0.0; L], [FIRST.1; L]],
            moved: [[0.0; L]; 2],
            off: [[0.0; L]; 2],
        }
    }

    /// The next move: learns from the last one, and begins anew where that went against what was off.
    #[inline(always)]
    fn go(&mut self, off: &[[f64; L]; 2]) {
        let [a, b, c, d] = &mut self.matrix;
        let [moved_u, moved_heat] = &mut self.moved;
        for lane in 0..L {
            let (u, heat) = (moved_u[lane], moved_heat[lane]);
            let (less_u, less_heat) = (self.off[0][lane] - off[0][lane], self.off[1][lane] - off[1][lane]);
            // What the matrix would have made of what is no longer off; it should have been the move.
            let (made_u, made_heat) = (
                a[lane] * less_u + b[lane] * less_heat,
                c[lane] * less_u + d[lane] * less_heat,
            );
            let (back_u, back_heat) = (u * a[lane] + heat * c[lane], u * b[lane] + heat * d[lane]);
            let (along, square) = (u * made_u + heat * made_heat, u * u + heat * heat);
            let is_with = along > LEAST_ALONG * square;
            let per = if is_with { 1.0 / along } else { 0.0 };
            let (by_u, by_heat) = ((u - made_u) * per, (heat - made_heat) * per);
            a[lane] = if is_with { a[lane] + by_u * back_u } else { FIRST.0 };
            b[lane] = if is_with { b[lane] + by_u * back_heat } else { 0.0 };
            c[lane] = if is_with { c[lane] + by_heat * back_u } else { 0.0 };
            d[lane] = if is_with {
                d[lane] + by_heat * back_heat
            } else {
                FIRST.1
            };
        }
        for lane in 0..L {
            let (u, heat) = (
                a[lane] * off[0][lane] + b[lane] * off[1][lane],
                c[lane] * off[0][lane] + d[lane] * off[1][lane],
            );
            let farthest = f64::max(u.abs(), heat.abs());
            let cut = if farthest > MOST_MOVED {
                MOST_MOVED / farthest
            } else {
                1.0
            };
            moved_u[lane] = cut * u;
            moved_heat[lane] = cut * heat;
        }
        self.off = *off;
    }
}

/// What stays while the scales are sought.
#[derive(Clone, Copy)]
struct Held {
    wind_m_s: f64,
    wind_height_m: f64,
    temp_height_m: f64,
    /// Virtual temperature of the air, K.
    virtual_k: f64,
    /// Air less water: potential temperature, specific humidity, virtual temperature.
    warmer_k: f64,
    moister_kg_kg: f64,
    virtually_warmer_k: f64,
}

impl Held {
    fn of(air: &SurfaceAir, moist: &Moist) -> Held {
        let kelvin = air.air_temp_degc + ZERO_DEGC_K;
        // Dry adiabatic: what the air would have at the surface.
        let theta_degc = air.air_temp_degc + GRAVITY_M_S2 / AIR_SPECIFIC_HEAT_J_KG_K * air.temp_height_m;
        let warmer_k = theta_degc - air.water_temp_degc;
        let moister_kg_kg = moist.air_kg_kg - moist.water_kg_kg;
        Held {
            wind_m_s: air.wind_speed_m_s.max(LEAST_WIND_M_S),
            wind_height_m: air.wind_height_m,
            temp_height_m: air.temp_height_m,
            virtual_k: kelvin * (1.0 + 0.61 * moist.air_kg_kg),
            warmer_k,
            moister_kg_kg,
            virtually_warmer_k: warmer_k * (1.0 + 0.61 * moist.air_kg_kg) + 0.61 * kelvin * moister_kg_kg,
        }
    }
}

/// Scales of the surface layer while they are sought: u*, and `k / [ln(z/z0T) - psi_h]`, of which T* and q* are multiples.
#[derive(Clone, Copy)]
struct Scales<const L: usize> {
    friction_m_s: [f64; L],
    heat: [f64; L],
}

impl<const L: usize> Scales<L> {
    /// The scales that follow from these.
    #[inline(always)]
    fn next(&self, held: &[Held; L]) -> Scales<L> {
        let mut found = *self;
        for lane in 0..L {
            let (u, held) = (self.friction_m_s[lane], &held[lane]);
            let virtual_scale_k = self.heat[lane] * held.virtually_warmer_k;
            let per_m = VON_KARMAN * GRAVITY_M_S2 * virtual_scale_k / (held.virtual_k * u * u);
            let zeta = |height_m: f64| (per_m * height_m).clamp(MOST_UNSTABLE, MOST_STABLE);
            let gust_cubed = (-GRAVITY_M_S2 / held.virtual_k * u * virtual_scale_k * CONVECTIVE_DEPTH_M)
                .max(LEAST_GUST_CUBED);
            let gust_squared = TWO_THIRDS.of(gust_cubed);
            let felt_m_s = (held.wind_m_s * held.wind_m_s + gust_squared).sqrt();
            let rough_m = 0.013 * u * u / GRAVITY_M_S2 + 0.11 * AIR_VISCOSITY_M2_S / u;
            let reynolds = u * rough_m / AIR_VISCOSITY_M2_S;
            let heat_less = 2.57 - 2.67 * reynolds.sqrt().sqrt();
            found.friction_m_s[lane] = VON_KARMAN * felt_m_s
                / log_less_psi(
                    held.wind_height_m / rough_m,
                    zeta(held.wind_height_m),
                    psi_momentum,
                );
            found.heat[lane] = VON_KARMAN
                / (log_less_psi(held.temp_height_m / rough_m, zeta(held.temp_height_m), psi_heat)
                    - heat_less);
        }
        found
    }
}

/// Gust that counts as none, (m/s)^3: its square is under 1e-12 m2/s2.
const LEAST_GUST_CUBED: f64 = 1e-18;

/// `ln(height) - psi(zeta)`. Of unstable air `psi` gives e^psi without its part that is no logarithm, and that part.
#[inline(always)]
fn log_less_psi(height: f64, zeta: f64, psi: impl Fn(f64) -> (f64, f64)) -> f64 {
    let (factor, part) = psi(zeta.min(0.0));
    let stable = zeta.max(0.0);
    let beyond = stable.max(1.0);
    fast::ln(height / factor * (beyond * beyond) * (beyond * beyond)) - part
        + (5.0 * stable.min(1.0) + (beyond - 1.0))
}

/// psi_m of unstable air as `ln(first) + second`.
#[inline(always)]
fn psi_momentum(zeta: f64) -> (f64, f64) {
    let square = (1.0 - 16.0 * zeta).sqrt();
    let x = square.sqrt();
    let half = 0.5 * (1.0 + x);
    (
        half * half * (0.5 * (1.0 + square)),
        FRAC_PI_2 - 2.0 * fast::atan(x),
    )
}

/// psi_h of unstable air, likewise.
#[inline(always)]
fn psi_heat(zeta: f64) -> (f64, f64) {
    let half = 0.5 * (1.0 + (1.0 - 16.0 * zeta).sqrt());
    (half * half, 0.0)
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
            let momentum = |zeta| log_less_psi(1.0, zeta, psi_momentum);
            let heat = |zeta| log_less_psi(1.0, zeta, psi_heat);
            assert!((momentum(left) - momentum(right)).abs() < 1e-7);
            assert!((heat(left) - heat(right)).abs() < 1e-7);
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
