//! Local tables: CSV files, plain or gzip, whose columns the lake file explains.

mod batch;
mod capacity;
mod columns;
mod get;
mod read;
mod stamp;
mod water;

use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::Cadence;

pub use batch::to_batch;
pub use capacity::{CapacityColumns, CapacityRows, m2_per, read_capacity};
pub use columns::{Columns, DayRows, Wanted, read_columns, read_days};
pub use get::get_table;
pub use read::{Row, Table, read_table};
pub use stamp::StampZone;
pub use water::{WaterReading, WaterReadings, read_water_readings};

/// Name in lake files.
pub const NAME: &str = "csv";

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "a CSV file of your own, plain or .gz, with its columns named in the lake file",
    station: StationNeed::File,
    key: None,
    cadences: &[Cadence::Daily, Cadence::Continuous],
    takes_statistic: false,
    takes_ensemble_model: false,
    needs_keys: &[],
    parameter_quantities: None,
    refuses: get::refuses,
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
