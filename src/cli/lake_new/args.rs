//! What the command takes, and how its texts are read.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::error::DraftError;
use crate::cli::args::UnitsArg;
use crate::sources::Search;
use crate::units::M_PER_MI;

/// Farthest search, metres: what a service answers in one reply or a few.
const FARTHEST_M: f64 = 200_000.0;

/// Where the lake is, what is known of it, where the draft goes.
#[derive(Debug, Clone, Args)]
#[command(group = clap::ArgGroup::new("which").required(true).multiple(true).args(["at", "name"]))]
pub struct LakeNewArgs {
    /// Position of the lake, best of its dam: latitude and longitude in degrees, west with a minus sign
    #[arg(long, value_name = "LATITUDE,LONGITUDE", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// Name of the lake; without --at it is looked up in the catalogues
    #[arg(long)]
    pub name: Option<String>,
    /// How far to look for stations, in km or mi
    #[arg(
        long,
        value_name = "DISTANCE",
        default_value = "30km",
        allow_hyphen_values = true
    )]
    pub within: String,
    /// Your mail address, for the services' log; the National Weather Service is asked only with it
    #[arg(long, value_name = "MAIL")]
    pub contact: Option<String>,
    /// Vertical datum of the lake file, such as "NAVD 88"; without it that of the pool gauge, where it is stated
    #[arg(long)]
    pub datum: Option<String>,
    /// Table of the lake's area or storage by elevation
    #[command(flatten)]
    pub table: TableArgs,
    /// Where the draft goes; - for standard output; without it ID.toml in this folder
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long)]
    pub force: bool,
    /// Units of the draft
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub units: UnitsArg,
    /// Save every reply of the services in this folder
    #[arg(long, value_name = "DIR", conflicts_with = "replay")]
    pub record: Option<PathBuf>,
    /// Answer from a folder of saved replies instead of the services
    #[arg(long, value_name = "DIR")]
    pub replay: Option<PathBuf>,
}

/// A table of area or storage by elevation.
#[derive(Debug, Clone, Args)]
pub struct TableArgs {
    /// File of the lake's area or storage by elevation, plain or .gz: a CSV table, whose columns the next options name, or
    /// a rating file of the USACE (XML), which names its own
    #[arg(long, value_name = "FILE")]
    pub hypsography: Option<PathBuf>,
    /// Its column of elevations
    #[arg(long, value_name = "COLUMN", requires = "hypsography", requires = "what")]
    pub elevation_column: Option<String>,
    /// Unit of the elevations
    #[arg(long, value_enum, default_value_t = LengthUnit::Ft)]
    pub elevation_unit: LengthUnit,
    /// Its column of areas
    #[arg(
        long,
        value_name = "COLUMN",
        group = "what",
        requires = "hypsography",
        requires = "elevation_column"
    )]
    pub area_column: Option<String>,
    /// Unit of the areas: acres, ha, m2, km2
    #[arg(long, value_name = "UNIT", default_value = "acres")]
    pub area_unit: String,
    /// Its column of storages, from which areas are derived
    #[arg(
        long,
        value_name = "COLUMN",
        group = "what",
        requires = "hypsography",
        requires = "elevation_column"
    )]
    pub storage_column: Option<String>,
    /// Unit of the storages, such as acre-ft or m3
    #[arg(long, value_name = "UNIT", default_value = "acre-ft")]
    pub storage_unit: String,
    /// Vertical datum of its elevations, where the table states it, such as "NGVD 29"
    #[arg(long, value_name = "DATUM", requires = "hypsography")]
    pub hypsography_datum: Option<String>,
}

/// Unit of an elevation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LengthUnit {
    /// Feet
    Ft,
    /// Metres
    M,
}

impl LengthUnit {
    /// Its text, as units of services are read.
    pub fn word(self) -> &'static str {
        match self {
            LengthUnit::Ft => "ft",
            LengthUnit::M => "m",
        }
    }
}

/// Latitude and longitude of `--at`, degrees.
pub fn position(text: &str) -> Result<(f64, f64), DraftError> {
    let read = || {
        let (latitude, longitude) = text.split_once(',')?;
        let number = |part: &str| part.trim().parse::<f64>().ok();
        let (latitude_deg, longitude_deg) = (number(latitude)?, number(longitude)?);
        let within = (0.0..=90.0).contains(&latitude_deg) && (-180.0..=180.0).contains(&longitude_deg);
        within.then_some((latitude_deg, longitude_deg))
    };
    read().ok_or_else(|| DraftError::Position {
        found: text.to_owned(),
    })
}

/// The search around a position.
pub fn search((latitude_deg, longitude_deg): (f64, f64), within: &str) -> Result<Search, DraftError> {
    let read = || {
        let text = within.trim().to_lowercase();
        let (number, m_per_unit) = match (text.strip_suffix("km"), text.strip_suffix("mi")) {
            (Some(number), _) => (number, 1000.0),
            (None, Some(number)) => (number, M_PER_MI),
            (None, None) => return None,
        };
        let within_m = number.trim().parse::<f64>().ok()? * m_per_unit;
        (within_m > 0.0 && within_m <= FARTHEST_M).then_some(within_m)
    };
    let within_m = read().ok_or_else(|| DraftError::Distance {
        found: within.to_owned(),
    })?;
    Ok(Search {
        latitude_deg,
        longitude_deg,
        within_m,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_position_is_two_numbers_north_of_the_equator() {
        assert_eq!(position("42.20, -119.60").unwrap(), (42.2, -119.6));
        for text in [
            "42.2",
            "-42.2,119.6",
            "91,0",
            "42.2,181",
            "a,b",
            "NaN,0",
            "42.2,-119.6,3",
        ] {
            let fault = position(text).unwrap_err();
            assert!(
                matches!(&fault, DraftError::Position { found } if found == text),
                "{text}"
            );
        }
    }

    #[test]
    fn a_distance_has_its_unit() {
        let within_m = |text: &str| search((42.2, -119.6), text).map(|s| s.within_m);
        // 20 mi x 1609.344 m (exact definition).
        assert_eq!(
            (within_m("30km").unwrap(), within_m("20 mi").unwrap()),
            (30_000.0, 32_186.88)
        );
        for text in ["30", "0km", "-3km", "1000km", "km", "nankm"] {
            assert!(
                matches!(within_m(text), Err(DraftError::Distance { .. })),
                "{text}"
            );
        }
    }
}
