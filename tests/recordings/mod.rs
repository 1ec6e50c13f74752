//! Every parser on every recording of its service (validation data, not in the repository).

mod cdec;
mod csv;
mod cwms;
mod nwps;
mod nws;
mod open_meteo;
mod usbr;
mod usgs_legacy;
mod usgs_ogc;
mod waterml;

use chrono::{DateTime, Utc};
use plungeline::lake::{Cadence, SeriesSource};
use plungeline::quantity::Quantity;
use plungeline::sources::Want;

fn at(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().with_timezone(&Utc)
}

/// What a recording is read for.
fn want(quantity: Quantity, cadence: Cadence, service: &str, station: &str, parameter: &str) -> Want {
    let series = SeriesSource {
        station: station.to_owned(),
        cadences: vec![cadence],
        ..SeriesSource::of("recorded", quantity, service, parameter)
    };
    Want {
        series,
        cadence,
        from: None,
    }
}
