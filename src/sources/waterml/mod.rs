//! WaterML 1.1 files: time series as the CUAHSI services and the older USGS service write them in XML.
//!
//! A file beside the lake file, of which a series names the site and the variable. A time carries its offset, or the file says
//! `timeOffset` or `dateTimeUTC` beside it; a midnight without any is the day of a daily value; another time without any is
//! refused. Shape as in a file recorded by the USGS; the attributes beside the time that it lacks are from the standard
//! (CUAHSI WaterML 1.1, from memory), unverified.

mod get;
mod read;

use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::{Cadence, SeriesSource};
use crate::quantity::Quantity;

pub use read::read_values;

/// Name in lake files.
pub const NAME: &str = "waterml";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "WaterML 1.1 files",
    station: StationNeed::Station(
        "station (agency or network, and code of the site, such as USGS-990000030)",
    ),
    key: None,
    cadences: &[Cadence::Daily, Cadence::Continuous],
    takes_statistic: false,
    takes_ensemble_model: false,
    needs_keys: &["file"],
    parameter_quantities: Some(quantities),
    refuses,
    refuses_station: None,
    refuses_parameter: None,
    accept: None,
    needs_contact: false,
    alert_job: None,
    jobs: get::jobs,
    station_jobs: no_station_jobs,
    run: |client, lake, job| Box::pin(get::run(client, lake, job)),
    recognises: read::recognises,
    read_saved: read::read_saved,
};

/// Any variable may be anything: the unit that the file states decides.
fn quantities(_: &str) -> &'static [Quantity] {
    &Quantity::ALL
}

fn refuses(_: &SeriesSource, cadence: Cadence) -> Option<(String, String)> {
    (cadence == Cadence::Forecast).then(|| ("cadence forecast".to_owned(), "daily or continuous".to_owned()))
}
