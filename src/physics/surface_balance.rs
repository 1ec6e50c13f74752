//! Where the surface is heading: equilibrium temperature, and how fast it is approached.

use super::constants::WATER_EMISSIVITY;
use super::longwave::{sky_longwave_w_m2, water_longwave_w_m2};
use super::turbulent_flux::{SurfaceAir, TurbulentFlux};
use crate::math::roots::bisect;

/// Weather that the quick form of the equilibrium temperature looks at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuickExchange {
    /// Wind speed, m/s.
    pub wind_speed_m_s: f64,
    /// Dew point, degC.
    pub dew_point_degc: f64,
}

impl QuickExchange {
    /// Heat exchange with the air for a degree of difference.
    ///
    /// ```text
    /// K = 4.5 + 0.05 Ts + beta f + 0.47 f,  f = 9.2 + 0.46 W^2,  beta = 0.35 + 0.015 Tm + 0.0012 Tm^2,  Tm = (Ts + Td)/2
    /// ```
    ///
    /// W/(m2 K). Source: Edinger, Brady & Geyer 1974.
    pub fn exchange_w_m2_k(&self, water_temp_degc: f64) -> f64 {
        let wind = 9.2 + 0.46 * self.wind_speed_m_s * self.wind_speed_m_s;
        let mean_degc = 0.5 * (water_temp_degc + self.dew_point_degc);
        let beta = 0.35 + 0.015 * mean_degc + 0.0012 * mean_degc * mean_degc;
        4.5 + 0.05 * water_temp_degc + (beta + 0.47) * wind
    }

    /// Temperature at which exchange and sunlight balance: `Te = Td + Hs/K(Te)`, degC.
    ///
    /// Hs = `sunlight_w_m2` that enters the water. `None` where no temperature under 60 degC does.
    pub fn equilibrium_degc(&self, sunlight_w_m2: f64) -> Option<f64> {
        let surplus = |temp_degc: f64| {
            self.dew_point_degc + sunlight_w_m2 / self.exchange_w_m2_k(temp_degc) - temp_degc
        };
        bisect(surplus, self.dew_point_degc, 60.0, 1e-6)
    }
}

/// Heat that a surface gains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceHeat {
    /// Sunlight that enters the water, W/m2.
    pub sunlight_w_m2: f64,
    /// Longwave radiation from the sky that the water takes up, W/m2.
    pub sky_w_m2: f64,
    /// Longwave radiation of the water, W/m2.
    pub sent_w_m2: f64,
    /// Sensible and latent heat lost.
    pub turbulent: TurbulentFlux,
}

impl SurfaceHeat {
    /// All but sunlight, W/m2: what acts on the surface itself.
    pub fn non_solar_w_m2(&self) -> f64 {
        self.sky_w_m2 - self.sent_w_m2 - self.turbulent.sensible_w_m2 - self.turbulent.latent_w_m2
    }

    /// All of it, W/m2.
    pub fn net_w_m2(&self) -> f64 {
        self.sunlight_w_m2 + self.non_solar_w_m2()
    }
}

/// The heat that a surface gains under a sky: `(1 - albedo) Rs + 0.97 (La - sigma Ts^4) - H - LE`.
///
/// `sunlight_w_m2` is what enters the water, `sky_emissivity` of the sky with its cloud, `flux` the law of the
/// turbulent fluxes. Source: Henderson-Sellers 1986.
pub fn surface_heat(
    air: &SurfaceAir,
    sunlight_w_m2: f64,
    sky_emissivity: f64,
    flux: impl Fn(&SurfaceAir) -> TurbulentFlux,
) -> SurfaceHeat {
    SurfaceHeat {
        sunlight_w_m2,
        sky_w_m2: WATER_EMISSIVITY * sky_longwave_w_m2(sky_emissivity, air.air_temp_degc),
        sent_w_m2: water_longwave_w_m2(air.water_temp_degc),
        turbulent: flux(air),
    }
}

/// Water temperature at which a surface neither gains nor loses heat, degC; `None` where it is not within 0-60 degC.
pub fn equilibrium_temp_degc(
    air: &SurfaceAir,
    sunlight_w_m2: f64,
    sky_emissivity: f64,
    flux: impl Fn(&SurfaceAir) -> TurbulentFlux,
) -> Option<f64> {
    let net = |water_temp_degc: f64| {
        let air = SurfaceAir {
            water_temp_degc,
            ..*air
        };
        surface_heat(&air, sunlight_w_m2, sky_emissivity, &flux).net_w_m2()
    };
    bisect(net, 0.0, 60.0, 1e-6)
}
