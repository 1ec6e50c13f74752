//! The CWMS Data API of the US Army Corps of Engineers (`cwms-data.usace.army.mil`): level, storage, flow and
//! temperature at its dams.
//!
//! A series has a name of six parts, `Location.Parameter.Type.Interval.Duration.Version`, within an office: the lake file
//! has the office as `station` and the name as `parameter`. Times are milliseconds of UTC, values come with a code of
//! quality, replies in pages whose totals need not agree. Shapes of time series, locations, levels, catalogues, offices,
//! pools and error bodies as in recorded replies; codes of quality beyond 0 from memory, unverified.

mod catalog;
mod find;
mod get;
mod levels;
mod name;
mod rating;
mod request;
mod saved;
mod series;

use super::find::Finder;
use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::Cadence;

pub use catalog::{CatalogLocation, CatalogSeries, Catalogue, read_catalogue, read_location};
pub(in crate::sources) use get::bare_datum;
pub use get::get_series;
pub use levels::{Level, read_levels};
pub use name::SeriesName;
pub use rating::{Rating, read_rating};
pub use series::{DatumInfo, Reading, TimeSeries, read_series, to_rows};

/// Name in lake files.
pub const NAME: &str = "cwms";

/// Host.
pub const HOST: &str = "cwms-data.usace.army.mil";

/// The row of the catalogues.
pub const FINDER: Finder = Finder {
    service: NAME,
    near: |client, search| Box::pin(find::near(client, search)),
    named: Some(|client, name| Box::pin(find::named(client, name))),
};

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "USACE CWMS Data API: level, storage, flow, water temperature at dams of the Corps of Engineers",
    station: StationNeed::Station("station (the office, such as SWT)"),
    key: None,
    cadences: &[Cadence::Daily, Cadence::Continuous],
    takes_statistic: false,
    takes_ensemble_model: false,
    needs_keys: &[],
    parameter_quantities: Some(name::quantities),
    refuses: name::refuses,
    refuses_station: Some(name::refuses_office),
    refuses_parameter: Some(name::refuses_cadence),
    accept: Some("application/json;version=2"),
    needs_contact: false,
    alert_job: None,
    jobs: request::jobs,
    station_jobs: no_station_jobs,
    run: |client, lake, job| Box::pin(get::run(client, lake, job)),
    recognises: saved::recognises,
    read_saved: saved::read_saved,
};
