//! Why there is no draft.

use std::path::PathBuf;

use crate::lake::CapacityError;
use crate::sources::{Place, RowFault};

/// Why no draft of a lake file was made.
#[derive(Debug, thiserror::Error)]
pub enum DraftError {
    /// `--at` is no position that the program serves.
    #[error(
        "found the position \"{found}\", wanted latitude and longitude in degrees, such as 42.20,-119.60: north of the equator \
         (the southern hemisphere is not supported yet), west with a minus sign"
    )]
    Position {
        /// Text found.
        found: String,
    },
    /// `--within` is no distance.
    #[error("found the distance \"{found}\", wanted more than 0 and at most 200 km, such as 30km or 20mi")]
    Distance {
        /// Text found.
        found: String,
    },
    /// The file is there already.
    #[error("found a file {} already, wanted a new one; name another with --out, or write over it with --force", path.display())]
    Exists {
        /// File.
        path: PathBuf,
    },
    /// The draft could not be written.
    #[error("cannot write the draft to {}: {source}; name another place with --out", path.display())]
    Write {
        /// File.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// A CSV table whose columns are not named.
    #[error(
        "found no columns named of the table {}, wanted --elevation-column and either --area-column or --storage-column; \
         a rating file of the USACE (XML) names its own", path.display()
    )]
    NoColumns {
        /// File.
        path: PathBuf,
    },
    /// No catalogue has the name.
    #[error(
        "no catalogue has a lake named \"{name}\"{failed}; give its position with --at LATITUDE,LONGITUDE, read off any map"
    )]
    NoPlace {
        /// Name.
        name: String,
        /// Catalogues that did not answer, in words.
        failed: String,
    },
    /// Several places bear the name.
    #[error(
        "several places bear the name \"{name}\": choose one with --at{}",
        place_lines(places)
    )]
    SeveralPlaces {
        /// Name.
        name: String,
        /// Places.
        places: Vec<Place>,
    },
    /// The table of `--hypsography` makes no hypsography.
    #[error("table {}: {source}", path.display())]
    Table {
        /// File.
        path: PathBuf,
        /// Why.
        #[source]
        source: CapacityError,
    },
    /// None of the rows of the table of `--hypsography` could be read.
    #[error("table {}: none of its rows could be read; the first: {first}", path.display())]
    NoRows {
        /// File.
        path: PathBuf,
        /// The first fault.
        first: RowFault,
    },
}

fn place_lines(places: &[Place]) -> String {
    let line = |place: &Place| {
        format!(
            "\n  --at {:.4},{:.4}  {} ({} {})",
            place.latitude_deg, place.longitude_deg, place.name, place.service, place.station
        )
    };
    places.iter().map(line).collect()
}
