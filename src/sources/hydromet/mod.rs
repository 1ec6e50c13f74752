//! Hydromet of the Pacific Northwest region, US Bureau of Reclamation (`www.usbr.gov/pn-bin`): level, storage, flow by the
//! quarter of an hour.
//!
//! A page of text with the values between `BEGIN DATA` and `END DATA`. It states neither unit nor zone: units are those of the
//! parameter codes (from clients' documentation), and the zone is a key of the lake file, for whether the times are standard
//! or daylight time is not stated and must not be guessed. Shape as in a recorded reply; what stands for no value is from
//! memory, unverified, and any other word is refused. The request's count of hours (`back`) is read off that recorded reply's
//! address; the daily values of the region, and the Great Plains region (`gp-bin/arcread.pl`), were found in no reply nor
//! documented closely enough, and are not read.

mod get;
mod read;
mod request;
mod table;

use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::Cadence;

pub use get::get_values;
pub use read::{Cell, Page, read_values, to_rows};
pub use table::{CODES, Code};

/// Name in lake files.
pub const NAME: &str = "hydromet";

/// Host.
pub const HOST: &str = "www.usbr.gov";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "USBR Hydromet, Pacific Northwest: level, storage, flow of the last weeks by the quarter of an hour",
    station: StationNeed::Station("station (its letters, such as UNY)"),
    key: None,
    cadences: &[Cadence::Continuous],
    takes_statistic: false,
    takes_ensemble_model: false,
    needs_keys: &["stamp_zone"],
    parameter_quantities: Some(table::quantities),
    refuses: table::refuses,
    refuses_station: Some(table::refuses_station),
    refuses_parameter: None,
    accept: None,
    needs_contact: false,
    alert_job: None,
    jobs: request::jobs,
    station_jobs: no_station_jobs,
    run: |client, lake, job| Box::pin(get::run(client, lake, job)),
    recognises: read::recognises,
    read_saved: read::read_saved,
};
