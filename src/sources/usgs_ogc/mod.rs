//! USGS Water Data, OGC API (`api.waterdata.usgs.gov`): gauges and reservoirs of the United States.
//!
//! Values come as strings with their unit beside them; daily values are stamped with the day of local
//! standard time, others with an instant; order in time is not assured; a reply comes in pages.

mod batch;
mod catalog;
mod find;
mod get;
mod read;
mod request;
mod station;
pub mod table;

use super::client::KeyRule;
use super::find::Finder;
use super::registry::{Service, StationNeed};
use crate::lake::Cadence;

pub use batch::Filled;
pub use batch::to_batch;
pub use catalog::{CatalogPage, Location, TimeSeries, read_locations, read_time_series};
pub use get::{Observed, get_observations, get_stations};
pub use read::{Page, Row, read_observations};
pub(super) use read::{is_gap_word, read_or_said};
pub use request::latest_job;
pub use station::read_stations;
pub(super) use station::{row_record, station_record};
pub(super) use table::parameter;
pub use table::{PARAMETERS, Parameter};

/// Name in lake files.
pub const NAME: &str = "usgs-ogc";

/// Host.
pub const HOST: &str = "api.waterdata.usgs.gov";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "USGS Water Data: level, storage, flow, water temperature, turbidity of gauges in the United States",
    station: StationNeed::Station("station (USGS- and the number)"),
    key: Some(KeyRule {
        host: HOST,
        header: "x-api-key",
        variable: "PLUNGELINE_USGS_KEY",
    }),
    cadences: &[Cadence::Daily, Cadence::Continuous],
    takes_statistic: true,
    takes_ensemble_model: false,
    needs_keys: &[],
    parameter_quantities: Some(table::quantities),
    refuses: table::refuses,
    refuses_station: None,
    refuses_parameter: None,
    accept: None,
    needs_contact: false,
    alert_job: None,
    jobs: request::jobs,
    station_jobs: request::station_jobs,
    run: |client, lake, job| Box::pin(get::run(client, lake, job)),
    recognises: read::recognises,
    read_saved: station::read_saved,
};

/// Its row among the catalogues.
pub const FINDER: Finder = Finder {
    service: NAME,
    near: |client, search| Box::pin(find::near(client, search)),
    named: Some(|client, name| Box::pin(find::named(client, name))),
};
