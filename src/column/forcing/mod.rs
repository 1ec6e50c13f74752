//! What drives the columns, step by step: weather over the lake, water in and out.

mod blend;
mod flows;
mod record;
mod sky;
mod weather;
mod wind_direction;

#[cfg(test)]
mod tests;

use chrono::{DateTime, Duration, Utc};

pub use blend::{giving_way, mixed};
pub use flows::{FlowNote, FlowRecord, RiverTracks, level_steps, release_steps, river_steps};
pub use record::{ForcingError, Site, Steps, Track, WeatherRecord};
pub(in crate::column) use sky::SunOver;
pub(in crate::column) use weather::limits;
pub use weather::{WeatherNote, weather_steps};

/// Weather over the lake, means of one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Air temperature at 2 m, degC.
    pub air_temp_degc: f64,
    /// Vapour pressure at 2 m, Pa.
    pub vapour_pressure_pa: f64,
    /// Air pressure at the lake, Pa.
    pub pressure_pa: f64,
    /// Wind speed at 10 m, m/s, before the lake's wind factor.
    pub wind_speed_m_s: f64,
    /// Direction that the wind comes from, clockwise from north, 0 to 360: that of the mean vector of the step; `None` where it is
    /// not known.
    pub wind_from_deg: Option<f64>,
    /// Sunlight on a level surface, W/m2, before reflection.
    pub sunlight_w_m2: f64,
    /// Cosine of the sun's zenith, mean over the sunlit part of the step; 0 at night.
    pub sun_height_frac: f64,
    /// Longwave radiation from the sky, W/m2, before reflection.
    pub sky_longwave_w_m2: f64,
    /// Rain and melted snow, m/s of water; `None` where it is not known.
    pub precipitation_m_s: Option<f64>,
}

/// Water of a river, means of one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiverFlow {
    /// Discharge, m3/s.
    pub discharge_m3s: f64,
    /// Temperature, degC.
    pub temp_degc: f64,
    /// Dissolved oxygen, mg/L; `None` where it is not known, and then saturated at that temperature.
    pub oxygen_mg_l: Option<f64>,
}

/// Everything that drives a lake over a span of time, in steps of one length.
#[derive(Debug, Clone, PartialEq)]
pub struct Forcing {
    /// Beginning of the first step.
    pub start: DateTime<Utc>,
    /// Length of a step, s.
    pub step_s: f64,
    /// Weather, shape `[step]`.
    pub weather: Vec<Weather>,
    /// Rivers in the order of the lake's inflows, shape `[inflow][step]`; empty where none is known.
    pub rivers: Vec<Vec<RiverFlow>>,
    /// Releases in the order of the lake's outlets, m3/s, shape `[outlet][step]`; empty where none is known.
    pub release_m3s: Vec<Vec<f64>>,
    /// Observed level at the end of each step, m, shape `[step]`; empty where none is known, and then the level
    /// follows from the flows, or stays where there are none.
    pub level_m: Vec<f64>,
}

impl Forcing {
    /// Beginning of a step, counted from 0.
    pub fn step_start(&self, step: usize) -> DateTime<Utc> {
        self.start + Duration::milliseconds((self.step_s * 1000.0 * step as f64).round() as i64)
    }
}
