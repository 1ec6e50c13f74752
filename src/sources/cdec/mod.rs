//! California Data Exchange Center (`cdec.water.ca.gov`): reservoirs and rivers of California.
//!
//! `JSONDataServlet` is asked, since cut JSON is always seen; replies of `CSVDataServlet` are read as well.
//! Names of fields, the CSV's `YYYYMMDD HHMM`, the JSON's dates without leading zeros and `---` for a missing
//! value: seen in recorded replies. All stamps are Pacific **standard** time, UTC-8, the whole year; `m`, blank,
//! -9999, -9998, -9997 for a missing value, `BRT` and `ART` for below and above the rating table, commas in the
//! request: from notes of users. A header or an empty list alone for an unknown station, and a page during an
//! outage: from memory, unverified.
//!
//! A daily figure belongs to the day of its `date`, though it may be read at the midnight that ends it (`obsDate`
//! one day later, seen). Within the day `date` is the time of the reading; that `obsDate` may differ from it, and is
//! then when it really was taken: from memory, unverified. Neither is known before both have passed.

mod batch;
mod get;
mod read;
mod request;
pub mod table;

use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::Cadence;

pub use batch::{Filled, to_batch};
pub use get::get_readings;
pub use read::{Readings, Row, read_readings};
pub use table::{SENSORS, Sensor, Step, sensor};

/// Name in lake files.
pub const NAME: &str = "cdec";

/// Host.
pub const HOST: &str = "cdec.water.ca.gov";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "California CDEC: level, storage, inflow, release, flow, water temperature of stations in California",
    station: StationNeed::Station("station (three letters or digits, such as SHA)"),
    key: None,
    cadences: &[Cadence::Daily, Cadence::Continuous],
    takes_statistic: false,
    takes_ensemble_model: false,
    needs_keys: &[],
    parameter_quantities: Some(table::quantities),
    refuses: table::refuses,
    refuses_station: Some(table::refuses_station),
    refuses_parameter: Some(table::refuses_parameter),
    accept: None,
    needs_contact: false,
    alert_job: None,
    jobs: request::jobs,
    station_jobs: no_station_jobs,
    run: |client, lake, job| Box::pin(get::run(client, lake, job)),
    recognises: read::recognises,
    read_saved: read::read_saved,
};
