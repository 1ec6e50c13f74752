//! What a series measures: one word, one meaning, one SI unit.

use serde::{Deserialize, Serialize};

/// A measured or forecast quantity. The suffix of [`Quantity::column`] is its SI unit.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Elevation of the pool's surface above the lake's vertical datum.
    PoolElevation,
    /// Volume of water in the reservoir.
    Storage,
    /// Flow of a river or stream into the lake, or at a gauge upstream of it.
    Inflow,
    /// Flow out of the reservoir, all outlets together.
    Release,
    /// Water lost from the surface to the air, as a flow.
    Evaporation,
    /// Temperature of the lake's water at a stated depth.
    WaterTemp,
    /// Temperature of a river.
    RiverTemp,
    /// Turbidity.
    Turbidity,
    /// Dissolved oxygen.
    DissolvedOxygen,
    /// Air temperature at 2 m.
    AirTemp,
    /// Dew point at 2 m.
    DewPoint,
    /// Relative humidity at 2 m, as a fraction.
    RelativeHumidity,
    /// Vapour pressure at 2 m.
    VapourPressure,
    /// Mean wind speed at 10 m.
    WindSpeed,
    /// Highest gust at 10 m in the step.
    WindGust,
    /// Direction the wind blows from, clockwise from north.
    WindDirection,
    /// Share of the sky covered by cloud.
    CloudCover,
    /// Air pressure at the station.
    SurfacePressure,
    /// Rain and melted snow in the step.
    Precipitation,
    /// Downward shortwave radiation, mean of the step.
    Shortwave,
    /// Downward longwave radiation, mean of the step.
    Longwave,
    /// Horizontal visibility.
    Visibility,
    /// Chance of thunder in the step.
    ThunderProbability,
}

impl Quantity {
    /// All quantities, in the order of the glossary.
    pub const ALL: [Quantity; 23] = [
        Quantity::PoolElevation,
        Quantity::Storage,
        Quantity::Inflow,
        Quantity::Release,
        Quantity::Evaporation,
        Quantity::WaterTemp,
        Quantity::RiverTemp,
        Quantity::Turbidity,
        Quantity::DissolvedOxygen,
        Quantity::AirTemp,
        Quantity::DewPoint,
        Quantity::RelativeHumidity,
        Quantity::VapourPressure,
        Quantity::WindSpeed,
        Quantity::WindGust,
        Quantity::WindDirection,
        Quantity::CloudCover,
        Quantity::SurfacePressure,
        Quantity::Precipitation,
        Quantity::Shortwave,
        Quantity::Longwave,
        Quantity::Visibility,
        Quantity::ThunderProbability,
    ];

    /// Name with SI unit, as in columns, JSON keys and the glossary.
    pub fn column(self) -> &'static str {
        match self {
            Quantity::PoolElevation => "pool_elevation_m",
            Quantity::Storage => "storage_m3",
            Quantity::Inflow => "inflow_m3s",
            Quantity::Release => "release_m3s",
            Quantity::Evaporation => "evaporation_m3s",
            Quantity::WaterTemp => "water_temp_degc",
            Quantity::RiverTemp => "river_temp_degc",
            Quantity::Turbidity => "turbidity_ntu",
            Quantity::DissolvedOxygen => "dissolved_oxygen_mg_l",
            Quantity::AirTemp => "air_temp_degc",
            Quantity::DewPoint => "dew_point_degc",
            Quantity::RelativeHumidity => "relative_humidity_frac",
            Quantity::VapourPressure => "vapour_pressure_pa",
            Quantity::WindSpeed => "wind_speed_m_s",
            Quantity::WindGust => "wind_gust_m_s",
            Quantity::WindDirection => "wind_direction_deg",
            Quantity::CloudCover => "cloud_cover_frac",
            Quantity::SurfacePressure => "surface_pressure_pa",
            Quantity::Precipitation => "precipitation_m",
            Quantity::Shortwave => "shortwave_w_m2",
            Quantity::Longwave => "longwave_w_m2",
            Quantity::Visibility => "visibility_m",
            Quantity::ThunderProbability => "thunder_prob",
        }
    }

    /// SI unit, as text in tables for programs.
    pub fn si_unit(self) -> &'static str {
        match self {
            Quantity::PoolElevation | Quantity::Precipitation | Quantity::Visibility => "m",
            Quantity::Storage => "m3",
            Quantity::Inflow | Quantity::Release | Quantity::Evaporation => "m3/s",
            Quantity::WaterTemp | Quantity::RiverTemp | Quantity::AirTemp | Quantity::DewPoint => "degC",
            Quantity::Turbidity => "NTU",
            Quantity::DissolvedOxygen => "mg/L",
            Quantity::RelativeHumidity | Quantity::CloudCover | Quantity::ThunderProbability => "1",
            Quantity::VapourPressure | Quantity::SurfacePressure => "Pa",
            Quantity::WindSpeed | Quantity::WindGust => "m/s",
            Quantity::WindDirection => "deg",
            Quantity::Shortwave | Quantity::Longwave => "W/m2",
        }
    }

    /// The word used in lake files and messages (`pool_elevation`, `air_temp`, ...).
    pub fn word(self) -> &'static str {
        match self {
            Quantity::PoolElevation => "pool_elevation",
            Quantity::Storage => "storage",
            Quantity::Inflow => "inflow",
            Quantity::Release => "release",
            Quantity::Evaporation => "evaporation",
            Quantity::WaterTemp => "water_temp",
            Quantity::RiverTemp => "river_temp",
            Quantity::Turbidity => "turbidity",
            Quantity::DissolvedOxygen => "dissolved_oxygen",
            Quantity::AirTemp => "air_temp",
            Quantity::DewPoint => "dew_point",
            Quantity::RelativeHumidity => "relative_humidity",
            Quantity::VapourPressure => "vapour_pressure",
            Quantity::WindSpeed => "wind_speed",
            Quantity::WindGust => "wind_gust",
            Quantity::WindDirection => "wind_direction",
            Quantity::CloudCover => "cloud_cover",
            Quantity::SurfacePressure => "surface_pressure",
            Quantity::Precipitation => "precipitation",
            Quantity::Shortwave => "shortwave",
            Quantity::Longwave => "longwave",
            Quantity::Visibility => "visibility",
            Quantity::ThunderProbability => "thunder_probability",
        }
    }

    /// The quantity of a word of [`Quantity::word`]; `None` for any other text.
    pub fn from_word(word: &str) -> Option<Quantity> {
        Quantity::ALL.into_iter().find(|q| q.word() == word)
    }
}
