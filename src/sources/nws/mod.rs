//! The National Weather Service's API (api.weather.gov): grid cell of a position, raw grid forecast,
//! observations of stations, official alerts.
//!
//! The raw grid is read, not the forecast in words: its layers are figures with units. Equal neighbours
//! come merged and are expanded ([`GridLayer::hourly`]). A forecast is one run without members.

mod alert;
mod batch;
mod find;
mod get;
mod grid;
mod interval;
mod observation;
mod period;
mod point;
mod problem;
mod request;
mod saved;
pub mod table;

use super::find::Finder;
use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::Cadence;

pub use alert::{Alerts, read_alerts};
pub use batch::{Filled, to_batch, to_forecast};
pub use get::{get_alerts, get_grid};
pub use grid::{Grid, GridLayer, read_grid};
pub use interval::{Interval, read_interval};
pub use observation::{Observations, Observed, ObservedFigure, read_observations};
pub use point::{Point, read_point, read_stations};
pub use table::{LAYERS, Layer, Spread, layer_of, plain_unit};

/// Name in lake files.
pub const NAME: &str = "nws";

/// Host.
pub const HOST: &str = "api.weather.gov";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "National Weather Service: forecast of the lake's position, observations of stations, official alerts \
           (United States, public domain)",
    station: StationNeed::StationFor("station (such as KBOI)", &[Cadence::Continuous]),
    key: None,
    cadences: &[Cadence::Continuous, Cadence::Forecast],
    takes_statistic: false,
    takes_ensemble_model: false,
    needs_keys: &[],
    parameter_quantities: Some(table::quantities),
    refuses: table::refuses,
    refuses_station: Some(table::refuses_station),
    refuses_parameter: Some(table::refuses_parameter),
    accept: Some("application/geo+json"),
    needs_contact: true,
    alert_job: Some(request::alert_job),
    jobs: request::jobs,
    station_jobs: no_station_jobs,
    run: |client, lake, job| Box::pin(get::run(client, lake, job)),
    recognises: saved::recognises,
    read_saved: saved::read_saved,
};

/// Its row among the catalogues.
pub const FINDER: Finder = Finder {
    service: NAME,
    near: |client, search| Box::pin(find::near(client, search)),
    named: None,
};
