//! National Water Prediction Service of the NWS (`api.water.noaa.gov`): observed and forecast stage and flow of
//! river gauges.
//!
//! A block of values (names, units, UTC stamps): seen in a recorded reply. Addresses, the whole reply with both blocks,
//! status codes, -999 and -9999, the year 1 for no time, order not assured, empty data without a forecast: from the
//! documentation of clients and notes of users.
//!
//! `stage` and `flow` are found by the names that the reply gives its primary and secondary figure, in the unit it
//! states: kcfs at one gauge, cfs at another. A forecast is one run without members, issued when the reply says so.

mod batch;
mod get;
mod read;
mod request;
mod saved;
pub mod table;

use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::Cadence;

pub use batch::{Filled, to_batch, to_forecast};
pub use get::get_block;
pub use read::{Block, Column, Part, Point, read_stageflow};

/// Name in lake files.
pub const NAME: &str = "nwps";

/// Host.
pub const HOST: &str = "api.water.noaa.gov";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "National Water Prediction Service: river forecasts, stage and flow of gauges (United States, public domain)",
    station: StationNeed::Station("station (five letters and digits, such as XHGA1)"),
    key: None,
    cadences: &[Cadence::Continuous, Cadence::Forecast],
    takes_statistic: false,
    takes_ensemble_model: false,
    needs_keys: &[],
    parameter_quantities: Some(table::quantities),
    refuses: table::refuses,
    refuses_station: Some(table::refuses_station),
    refuses_parameter: None,
    accept: None,
    needs_contact: false,
    alert_job: None,
    jobs: request::jobs,
    station_jobs: no_station_jobs,
    run: |client, _, job| Box::pin(get::run(client, job)),
    recognises: saved::recognises,
    read_saved: saved::read_saved,
};
