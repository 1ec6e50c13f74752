//! Trips as JSON: SI and UTC, each trip as it is.

use serde::{Deserialize, Serialize};

use crate::trips::error::TripFault;
use crate::trips::model::Trip;
use crate::trips::rows::Placed;

/// What the file says it is.
const FORM: &str = "plungeline-trip-log";
const VERSION: u32 = 1;

#[derive(Serialize)]
struct Written<'a> {
    form: &'static str,
    version: u32,
    trips: &'a [Trip],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Read {
    form: String,
    version: u32,
    trips: Vec<Trip>,
}

/// Trips as JSON.
pub fn trips_json(trips: &[Trip]) -> String {
    let written = Written {
        form: FORM,
        version: VERSION,
        trips,
    };
    let mut json =
        serde_json::to_string_pretty(&written).expect("texts and finite numbers always become JSON");
    json.push('\n');
    json
}

/// The trips of a file that [`trips_json`] wrote.
///
/// # Errors
/// One fault: a file that is no such JSON, with line and column.
pub fn read_trips_json(bytes: &[u8]) -> Result<Vec<Placed>, Vec<TripFault>> {
    let fault = |place: String, found: String, mend: &str| {
        vec![TripFault::new(place, found, "an exported trip log in JSON", mend)]
    };
    let read: Read = serde_json::from_slice(bytes).map_err(|error| {
        let place = format!("line {}, column {}", error.line(), error.column());
        let mend = if error.is_eof() {
            "the file is cut short: export it again"
        } else {
            "export it again, or correct it there"
        };
        let message = error.to_string();
        // The place stands before it already.
        let said = message.split(" at line ").next().unwrap_or(&message).to_owned();
        fault(place, said, mend)
    })?;
    if read.form != FORM || read.version != VERSION {
        let found = format!("form {:?}, version {}", read.form, read.version);
        return Err(fault("the file".to_owned(), found, "export it with this program"));
    }
    let trips = read.trips.into_iter().enumerate();
    Ok(trips
        .map(|(i, trip)| Placed {
            place: format!("trip {}", i + 1),
            trip,
        })
        .collect())
}
