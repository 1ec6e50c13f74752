//! What a column of one member is like: the few numbers that may be fitted, and their published defaults.

use super::wind::MixingEfficiency;
use crate::physics::radiation::LightInWater;

/// Oxygen that bed and water take up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OxygenDemand {
    /// Of the bed at 20 degC, g/m2 a day.
    pub bed_g_m2_day: f64,
    /// Of the water at 20 degC, mg/L a day.
    pub water_mg_l_day: f64,
}

/// Parameters of one lane of one column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColumnParameters {
    /// Factor from the wind of the forcing to the wind over the water, 0.6-1.4 usually.
    pub wind_frac: f64,
    /// Share of the wind's power that reaches the water for mixing; a small lake lies in the lee of its shores.
    pub power_frac: f64,
    /// How sunlight goes down.
    pub light: LightInWater,
    /// Factor on the longwave radiation of the sky, 0.9-1.1.
    pub sky_frac: f64,
    /// Factor on the background diffusivity.
    pub background_frac: f64,
    /// Most that the background diffusivity is let be, m2/s.
    pub background_cap_m2_s: f64,
    /// How much of each kind of turbulence goes into mixing.
    pub mixing: MixingEfficiency,
    /// Oxygen demand.
    pub demand: OxygenDemand,
}

/// What of the lake around it a column needs to know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Area of the whole lake, km2, for the background diffusivity.
    pub lake_area_km2: f64,
    /// Length along which the lake tilts under the wind, m.
    pub length_m: f64,
}
