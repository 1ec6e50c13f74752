//! What of a hindcast's input is not as it was given, as values: wording is for the faces.

use std::path::PathBuf;

use crate::column::forcing::{FlowNote, WeatherNote};
use crate::lake::InflowId;

/// What of the input is not as it was given, or was chosen for want of it.
#[derive(Debug, Clone, PartialEq)]
pub enum InputNote {
    /// Of the weather.
    Weather(WeatherNote),
    /// Of rivers, releases, the level.
    Flow(FlowNote),
    /// Rows that cannot be read were left out.
    RowsLeftOut {
        /// File as the lake file names it.
        file: PathBuf,
        /// How many.
        count: usize,
        /// The first, in words: place, found, wanted.
        first: String,
    },
    /// Observations of one time and depth that agree were made one.
    Merged {
        /// File.
        file: PathBuf,
        /// Times and depths with more than one.
        places: usize,
    },
    /// Observations of one time and depth that differ were left out, all of them: nothing says which is right, and
    /// their mean is a value that nobody measured.
    Contradicting {
        /// File.
        file: PathBuf,
        /// Times and depths with several values.
        places: usize,
        /// Greatest difference, in SI.
        spread: f64,
    },
    /// Observations beyond the limits of the lake file were left out.
    BeyondLimits {
        /// File.
        file: PathBuf,
        /// How many.
        count: usize,
    },
    /// Rows of weather that the source drew straight over a gap: sunlight is taken from the days around them, rain as none.
    Drawn {
        /// File.
        file: PathBuf,
        /// How many.
        count: usize,
    },
    /// Rows without a value.
    WithoutValue {
        /// File.
        file: PathBuf,
        /// How many.
        count: usize,
    },
    /// The level stays where it starts, and what flows in leaves at the surface.
    LevelHeld {
        /// Level.
        elevation_m: f64,
    },
    /// The level at the start is the full pool, for want of another.
    StartsFull,
    /// A river that the tables do not know: it brings nothing.
    RiverWithoutTable(InflowId),
    /// An outlet that the tables do not know: it lets nothing out.
    OutletWithoutTable(String),
}
