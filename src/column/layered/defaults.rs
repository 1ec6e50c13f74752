//! The parameters of a lake: one set of defaults for every lake, times a few factors that may be fitted.
//!
//! The numbers of this file that are called a project choice, and the stirring of [`MixingEfficiency`], lie within published
//! ranges and were chosen there by looking at seven recorded lakes (`tests/validation/lakes/`), by hand, by random
//! search and by a grid on their own profiles. What those lakes then show without a fit is no test of them; other lakes are. What is known
//! of that is in `docs/accuracy.md`.

use super::parameters::{ColumnParameters, OxygenDemand, Site};
use super::wind::MixingEfficiency;
use crate::physics::mixing::sheltering_frac;
use crate::physics::radiation::LightInWater;

/// Share of sunlight taken up at the surface (0.4-0.6: near infrared).
const SURFACE_LIGHT_FRAC: f64 = 0.4;
/// Least share of the wind's power that is let reach a small lake: the published form goes to nothing for a pond, which
/// no open shore bears out (project choice).
const LEAST_POWER_FRAC: f64 = 0.2;
/// Most of the background diffusivity, m2/s (1e-6 to 1e-5 in deep water of lakes).
const BACKGROUND_CAP_M2_S: f64 = 1e-5;
/// Power of the sheltering that is already in the wind over the water, which cools and evaporates; the rest is in the power that
/// mixes (project choice).
const WIND_POWER: f64 = 0.1;
/// Length along which a lake tilts, over the root of its area (project choice).
const LENGTH_OVER_ROOT: f64 = 1.5;

/// What the shores let through of the wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shelter {
    /// Factor on the wind over the water.
    pub wind_frac: f64,
    /// Factor on the power of that wind to mix.
    pub power_frac: f64,
}

impl Shelter {
    /// The shelter of open water of an area: [`sheltering_frac`], a little of it in the wind itself, the rest in its power.
    pub fn of_water(area_km2: f64) -> Shelter {
        let open_frac = sheltering_frac(area_km2).max(LEAST_POWER_FRAC);
        let wind_frac = open_frac.powf(WIND_POWER);
        Shelter {
            wind_frac,
            power_frac: open_frac / wind_frac.powi(3),
        }
    }
}

/// Factors on the published defaults, 1 where nothing is known better. They are what a fit moves and what members of an
/// ensemble differ in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelFactors {
    /// On the wind speed.
    pub wind_frac: f64,
    /// On the light extinction.
    pub extinction_frac: f64,
    /// On the longwave radiation of the sky.
    pub sky_frac: f64,
    /// On the background diffusivity and its cap.
    pub background_frac: f64,
    /// On the share of the wind's power that mixes.
    pub power_frac: f64,
    /// On the exchange between neighbouring columns; of no account in a lake of one column.
    pub exchange_frac: f64,
    /// On the oxygen demand.
    pub demand_frac: f64,
}

impl Default for ModelFactors {
    fn default() -> Self {
        ModelFactors::from_list([1.0; FACTORS.len()])
    }
}

/// Names of the factors, in the order of [`ModelFactors::list`].
pub const FACTORS: [&str; 7] = [
    "wind",
    "extinction",
    "sky",
    "background",
    "power",
    "exchange",
    "demand",
];

impl ModelFactors {
    /// The factors in the order of [`FACTORS`].
    pub fn list(&self) -> [f64; FACTORS.len()] {
        let ModelFactors {
            wind_frac,
            extinction_frac,
            sky_frac,
            background_frac,
            power_frac,
            exchange_frac,
            demand_frac,
        } = *self;
        [
            wind_frac,
            extinction_frac,
            sky_frac,
            background_frac,
            power_frac,
            exchange_frac,
            demand_frac,
        ]
    }

    /// Factors in the order of [`FACTORS`].
    pub fn from_list(list: [f64; FACTORS.len()]) -> ModelFactors {
        let [
            wind_frac,
            extinction_frac,
            sky_frac,
            background_frac,
            power_frac,
            exchange_frac,
            demand_frac,
        ] = list;
        ModelFactors {
            wind_frac,
            extinction_frac,
            sky_frac,
            background_frac,
            power_frac,
            exchange_frac,
            demand_frac,
        }
    }

    /// The parameters of a column in a lake of `lake_area_km2` whose light has `extinction_per_m`, with the oxygen demand of
    /// the lake before its factor.
    pub fn parameters(
        &self,
        lake_area_km2: f64,
        extinction_per_m: f64,
        demand: OxygenDemand,
    ) -> ColumnParameters {
        self.parameters_in(Shelter::of_water(lake_area_km2), extinction_per_m, demand)
    }

    /// As [`ModelFactors::parameters`], in the shelter that is given.
    pub fn parameters_in(
        &self,
        shelter: Shelter,
        extinction_per_m: f64,
        demand: OxygenDemand,
    ) -> ColumnParameters {
        ColumnParameters {
            wind_frac: self.wind_frac * shelter.wind_frac,
            power_frac: self.power_frac * shelter.power_frac,
            light: LightInWater {
                surface_frac: SURFACE_LIGHT_FRAC,
                extinction_per_m: self.extinction_frac * extinction_per_m,
            },
            sky_frac: self.sky_frac,
            background_frac: self.background_frac,
            background_cap_m2_s: self.background_frac * BACKGROUND_CAP_M2_S,
            mixing: MixingEfficiency::default(),
            demand: OxygenDemand {
                bed_g_m2_day: self.demand_frac * demand.bed_g_m2_day,
                water_mg_l_day: self.demand_frac * demand.water_mg_l_day,
            },
        }
    }
}

/// What a lake of an area is taken to be like around its column, where nothing more is known.
pub fn site_of(lake_area_m2: f64) -> Site {
    Site {
        lake_area_km2: lake_area_m2 / 1e6,
        length_m: LENGTH_OVER_ROOT * lake_area_m2.sqrt(),
    }
}
