//! What the lake file says of past weather, flows and observed profiles: files, columns, units, time steps.
//!
//! Nothing here opens a file. Paths are as written; the reader joins them to the folder of the lake file, or to
//! one named on the command line.

mod scale;

use std::path::PathBuf;

use chrono::NaiveDate;

use super::model::InflowId;
pub use scale::{Scale, Span, units_of};

/// The block `[hindcast]`.
#[derive(Debug, Clone, PartialEq)]
pub struct Hindcast {
    /// First day whose profiles are compared, in UTC.
    pub start: NaiveDate,
    /// Last day, in UTC.
    pub end: NaiveDate,
    /// Days that the model runs before `start`.
    pub spin_up_days: u32,
    /// An observation no deeper than this counts as one of the surface.
    pub surface_depth_m: f64,
    /// Level at the first step; the full pool where the file gives none.
    pub start_elevation_m: Option<f64>,
    /// Whether the level stays where it starts whatever flows in: what comes in leaves at the surface.
    pub hold_level: bool,
    /// Parameters of the model that the file fixes: name and value, in the unit that the name ends in.
    pub fixed: Vec<(String, f64)>,
    /// Tables of weather; each quantity stands in one of them.
    pub weather: Vec<WeatherTable>,
    /// Tables of rivers; discharge and temperature of one river may stand in two of them.
    pub inflows: Vec<InflowTable>,
    /// Tables of releases.
    pub releases: Vec<ReleaseTable>,
    /// Table of the level.
    pub level: Option<LevelTable>,
    /// Tables of observed profiles.
    pub profiles: Vec<ProfileTable>,
    /// Table of winters.
    pub ice: Option<IceTable>,
}

/// A CSV file, its time column, and how its stamps and gaps are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableFile {
    /// File, plain or gzip.
    pub file: PathBuf,
    /// Column of the time.
    pub time: String,
    /// Zone of stamps that carry none: an IANA name, `UTC`, or an offset.
    pub stamp_zone: String,
    /// Texts that mean "no value", beside an empty field.
    pub missing: Vec<String>,
}

/// Where in the span that a row stands for its stamp lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StampAt {
    /// At its beginning.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// How rows stand in time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rows {
    /// Each row is the mean of a span.
    Means {
        /// Length of the span.
        step_s: f64,
        /// Where the stamp lies.
        stamp: StampAt,
    },
    /// Each row is an instant; between rows values run straight.
    Instants,
}

/// A quantity of the weather that a column may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum WeatherWhat {
    /// Air temperature, degC.
    AirTemp,
    /// Dew point, degC.
    DewPoint,
    /// Relative humidity, 0 to 1.
    RelativeHumidity,
    /// Specific humidity, kg/kg.
    SpecificHumidity,
    /// Vapour pressure, Pa.
    VapourPressure,
    /// Air pressure at the lake, Pa.
    Pressure,
    /// Wind speed, m/s.
    WindSpeed,
    /// Wind toward east, m/s.
    WindU,
    /// Wind toward north, m/s.
    WindV,
    /// Direction that the wind comes from, degrees.
    WindDirection,
    /// Sunlight on a level surface, W/m2.
    Shortwave,
    /// Longwave radiation of the sky, W/m2.
    Longwave,
    /// Share of the sky under cloud, 0 to 1.
    CloudCover,
    /// Rain, or rain and melted snow, m/s.
    Precipitation,
    /// Snow as water, m/s, added to the precipitation.
    Snowfall,
}

impl WeatherWhat {
    /// All, in the order of the documentation.
    pub const ALL: [WeatherWhat; 15] = [
        WeatherWhat::AirTemp,
        WeatherWhat::DewPoint,
        WeatherWhat::RelativeHumidity,
        WeatherWhat::SpecificHumidity,
        WeatherWhat::VapourPressure,
        WeatherWhat::Pressure,
        WeatherWhat::WindSpeed,
        WeatherWhat::WindU,
        WeatherWhat::WindV,
        WeatherWhat::WindDirection,
        WeatherWhat::Shortwave,
        WeatherWhat::Longwave,
        WeatherWhat::CloudCover,
        WeatherWhat::Precipitation,
        WeatherWhat::Snowfall,
    ];
    /// The words of the lake file, in that order.
    pub const WORDS: &'static [&'static str] = &[
        "air_temp",
        "dew_point",
        "relative_humidity",
        "specific_humidity",
        "vapour_pressure",
        "pressure",
        "wind_speed",
        "wind_u",
        "wind_v",
        "wind_direction",
        "shortwave",
        "longwave",
        "cloud_cover",
        "precipitation",
        "snowfall",
    ];

    /// The word of the lake file.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }

    /// The quantity of a word of the lake file.
    pub fn of(word: &str) -> Option<WeatherWhat> {
        let place = Self::WORDS.iter().position(|known| *known == word)?;
        Some(Self::ALL[place])
    }
}

/// A column of a weather table.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherColumn {
    /// What it holds.
    pub what: WeatherWhat,
    /// Name in the header.
    pub column: String,
    /// From its unit to SI.
    pub scale: Scale,
}

/// A table of weather.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherTable {
    /// File and stamps.
    pub table: TableFile,
    /// Span of a row.
    pub step_s: f64,
    /// Where in it the stamp lies.
    pub stamp: StampAt,
    /// Added to every stamp.
    pub stamp_shift_s: f64,
    /// Longest gap that is filled; `None` for the rule of the step.
    pub longest_gap_s: Option<f64>,
    /// Height of the wind above the ground.
    pub wind_height_m: f64,
    /// Columns.
    pub columns: Vec<WeatherColumn>,
}

/// A quantity of a river that a column may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RiverWhat {
    /// Discharge, m3/s.
    Discharge,
    /// Temperature, degC.
    Temp,
    /// Dissolved oxygen, mg/L.
    Oxygen,
}

impl RiverWhat {
    /// The words of the lake file.
    pub const WORDS: &'static [&'static str] = &["discharge", "temp", "oxygen"];

    /// The word of the lake file.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }

    /// The quantity of a word of the lake file.
    pub fn of(word: &str) -> Option<RiverWhat> {
        match word {
            "discharge" => Some(RiverWhat::Discharge),
            "temp" => Some(RiverWhat::Temp),
            "oxygen" => Some(RiverWhat::Oxygen),
            _ => None,
        }
    }
}

/// A column of a river's table.
#[derive(Debug, Clone, PartialEq)]
pub struct RiverColumn {
    /// What it holds.
    pub what: RiverWhat,
    /// Name in the header.
    pub column: String,
    /// From its unit to SI.
    pub scale: Scale,
}

/// A table of a river.
#[derive(Debug, Clone, PartialEq)]
pub struct InflowTable {
    /// The river.
    pub inflow: InflowId,
    /// File and stamps.
    pub table: TableFile,
    /// How rows stand in time.
    pub rows: Rows,
    /// Longest gap that is filled.
    pub longest_gap_s: f64,
    /// Columns.
    pub columns: Vec<RiverColumn>,
}

/// A table of what an outlet releases.
#[derive(Debug, Clone, PartialEq)]
pub struct ReleaseTable {
    /// Id of the outlet.
    pub outlet: String,
    /// File and stamps.
    pub table: TableFile,
    /// How rows stand in time.
    pub rows: Rows,
    /// Longest gap that is filled.
    pub longest_gap_s: f64,
    /// Name of the column in the header.
    pub column: String,
    /// From its unit to m3/s.
    pub scale: Scale,
}

/// A table of the level.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelTable {
    /// File and stamps.
    pub table: TableFile,
    /// How rows stand in time.
    pub rows: Rows,
    /// Longest gap that is filled.
    pub longest_gap_s: f64,
    /// Name of the column in the header.
    pub column: String,
    /// From its unit to m.
    pub scale: Scale,
    /// Added to come to the lake's datum.
    pub datum_offset_m: f64,
}

/// What a profile is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProfileWhat {
    /// Water temperature, degC.
    WaterTemp,
    /// Dissolved oxygen, mg/L.
    Oxygen,
}

/// How depths stand in a table of profiles.
#[derive(Debug, Clone, PartialEq)]
pub enum Depths {
    /// A row each: a column of depths and one of values.
    Long {
        /// Column of the depth.
        depth: String,
        /// Metres in one of its units.
        depth_scale: Scale,
        /// Column of the value.
        value: String,
    },
    /// A column each: its name and its depth, m.
    Wide(Vec<(String, f64)>),
}

/// A table of observed profiles; depths are down from the surface of the day.
#[derive(Debug, Clone, PartialEq)]
pub struct ProfileTable {
    /// File and stamps.
    pub table: TableFile,
    /// What it is of.
    pub what: ProfileWhat,
    /// How depths stand in it.
    pub depths: Depths,
    /// From the unit of the values to SI.
    pub scale: Scale,
    /// Hour of the day, in the zone of the stamps, of stamps that are days.
    pub day_hour_h: f64,
    /// Values below are left out, in SI.
    pub low: Option<f64>,
    /// Values above are left out, in SI.
    pub high: Option<f64>,
}

/// A table of winters: a row each, a day in either column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IceTable {
    /// File, plain or gzip.
    pub file: PathBuf,
    /// Column of the first day under ice.
    pub first: String,
    /// Column of the last.
    pub last: String,
    /// Texts that mean "no value", beside an empty field.
    pub missing: Vec<String>,
}

/// A hypsography that stands in a CSV file.
#[derive(Debug, Clone, PartialEq)]
pub struct HypsographyTable {
    /// File, plain or gzip.
    pub file: PathBuf,
    /// Column of the elevation, or of the depth under the full pool.
    pub height: String,
    /// Whether that is a depth, down from the full pool.
    pub is_depth: bool,
    /// From its unit to m.
    pub height_scale: Scale,
    /// Column of the area.
    pub area: String,
    /// From its unit to m2.
    pub area_scale: Scale,
}
