//! USGS NWIS, the older water services (`waterservices.usgs.gov`): instantaneous (`iv`) and daily (`dv`) values.
//!
//! **The service is being switched off.** The USGS announces the end of the NWIS servers for the time from the end of 2026
//! to the middle of 2027 (dates from clients' documentation); [`usgs_ogc`](super::usgs_ogc) has the same gauges under the
//! same parameter codes and comes first. What answers here may be gone (status 410), moved (a redirect, which is not
//! followed to another host), or a page; each is told as such.
//!
//! JSON is asked for; tab-separated files (RDB), as people save them, are read too. Shapes of both, of the list of sites and
//! of ratings as in recorded replies; words in place of values and error pages from memory, unverified.

mod get;
mod json;
mod rdb;
mod request;
mod saved;

use super::registry::{Service, StationNeed, no_station_jobs};
use super::usgs_ogc::table;
use crate::lake::Cadence;

pub use get::get_observations;
pub use json::read_observations;
pub use rdb::{Rdb, read_rdb, read_rdb_observations, read_sites};

/// Name in lake files.
pub const NAME: &str = "usgs-legacy";

/// Host.
pub const HOST: &str = "waterservices.usgs.gov";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "USGS NWIS, the older service that is being switched off: level, storage, flow, water temperature of gauges in \
           the United States; take usgs-ogc",
    station: StationNeed::Station("station (USGS- and the number)"),
    key: None,
    cadences: &[Cadence::Daily, Cadence::Continuous],
    takes_statistic: true,
    takes_ensemble_model: false,
    needs_keys: &[],
    parameter_quantities: Some(table::quantities),
    refuses: table::refuses,
    refuses_station: Some(request::refuses_station),
    refuses_parameter: None,
    accept: None,
    needs_contact: false,
    alert_job: None,
    jobs: request::jobs,
    station_jobs: no_station_jobs,
    run: |client, lake, job| Box::pin(get::run(client, lake, job)),
    recognises: saved::recognises,
    read_saved: saved::read_saved,
};
