//! Open-Meteo: past and coming weather of a position, from reanalysis and forecast models.
//!
//! Instants are asked for in GMT, so that no clock change repeats or skips an hour; wind in m/s.
//! Daily figures are of the GMT day of their date, and are booked on the lake's standard-time day of
//! the same date: west of Greenwich they run ahead of it by the offset (8 h in a -08:00 lake).
//! Rain, radiation and gusts of an hour are sum, mean and maximum of the hour that **ends** at the
//! stamp; stamps are kept as served.

mod batch;
mod calls;
mod get;
mod read;
mod request;
pub mod table;

use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::Cadence;

pub use batch::{Context, to_batch, to_forecast};
pub use calls::calls;
pub use get::get_weather;
pub use read::{Column, Table, Times, Weather, read_weather};
pub use table::{VARIABLES, Variable, variable_of};

/// Name in lake files.
pub const NAME: &str = "open-meteo";

/// Host of forecasts.
pub const FORECAST_HOST: &str = "api.open-meteo.com";
/// Host of the archive.
pub const ARCHIVE_HOST: &str = "archive-api.open-meteo.com";
/// Host of ensembles.
pub const ENSEMBLE_HOST: &str = "ensemble-api.open-meteo.com";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "Open-Meteo: past weather, forecast and ensemble of the lake's position (data CC BY 4.0)",
    station: StationNeed::Position,
    key: None,
    cadences: &[Cadence::Daily, Cadence::Continuous, Cadence::Forecast],
    takes_statistic: false,
    takes_ensemble_model: true,
    needs_keys: &[],
    parameter_quantities: Some(table::quantities),
    refuses: table::refuses,
    refuses_station: None,
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
