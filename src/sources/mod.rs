//! One file a public service: `get_` fetches, `read_` turns bytes into records in SI, UTC and the
//! lake's datum.
//!
//! The way through: [`jobs`] turns what a lake needs into requests, [`run`] does one of them over the
//! one [`Client`], and out come [`Fetched`] batches. A service is one row of [`SERVICES`]; to add one,
//! write its file and its row.

pub mod cdec;
pub mod client;
pub mod csv;
pub mod cwms;
pub mod error;
pub mod find;
pub mod hydromet;
pub mod job;
pub mod lake_rules;
pub mod markup;
pub mod number;
pub mod nwps;
pub mod nws;
pub mod open_meteo;
pub mod registry;
pub mod replay;
pub mod reply;
pub mod rise;
pub mod saved;
pub mod stamp;
pub mod text;
pub mod unit;
pub mod usgs_legacy;
pub mod usgs_ogc;
pub mod waterml;

pub use client::{
    Client, Endpoints, FileValidators, Key, KeyRule, Mode, Patience, Settings, ValidatorStore, Validators,
};
pub use error::{FetchError, ReadError, ReplayError, SourceError};
pub use find::{Candidate, FINDERS, Finder, Found, Place, Search, Site, datum_word};
pub use job::{
    Fetched, Job, Need, RowFault, Station, Want, alert_job, check_series, jobs, run, station_jobs,
};
pub use lake_rules::service_rules;
pub use registry::{SERVICES, Service, StationNeed, service};
pub use reply::{read_file, read_standard_input};
pub use saved::{Saved, SavedRecord, read_saved};

#[cfg(test)]
mod tests;
