//! RISE, the data service of the US Bureau of Reclamation (`data.usbr.gov`): level, storage, flow at its reservoirs.
//!
//! JSON:API. An item is one parameter at one place, by its number; its results have no unit: that stands in the parameter of
//! the item, which is asked for once a run. Shapes of location and parameter as in recorded replies; result from
//! clients' documentation; the fields of a catalogue item and the words for a step from memory, unverified: no complete page of
//! either was found. Where a location states a datum, a lake file that contradicts it is named.

mod find;
mod get;
mod item;
mod page;
mod request;
mod result;
mod saved;
mod table;

use super::find::Finder;
use super::registry::{Service, StationNeed, no_station_jobs};
use crate::lake::Cadence;

pub use get::{get_location, get_results};
pub use item::{Item, Locations, RiseLocation, read_items, read_locations};
pub use result::{Outcome, Results, read_results, to_rows};

/// Name in lake files.
pub const NAME: &str = "rise";

/// Host.
pub const HOST: &str = "data.usbr.gov";

/// The row of the catalogues.
pub const FINDER: Finder = Finder {
    service: NAME,
    near: |client, search| Box::pin(find::near(client, search)),
    named: Some(|client, name| Box::pin(find::named(client, name))),
};

/// The row of the registry.
pub const SERVICE: Service = Service {
    name: NAME,
    what: "USBR RISE: level, storage, inflow and release of reservoirs of the Bureau of Reclamation",
    station: StationNeed::Station("station (the number of the location)"),
    key: None,
    cadences: &[Cadence::Daily, Cadence::Continuous],
    takes_statistic: false,
    takes_ensemble_model: false,
    needs_keys: &[],
    parameter_quantities: Some(table::quantities),
    refuses: table::refuses,
    refuses_station: Some(table::refuses_location),
    refuses_parameter: None,
    accept: Some("application/vnd.api+json"),
    needs_contact: false,
    alert_job: None,
    jobs: request::jobs,
    station_jobs: no_station_jobs,
    run: |client, lake, job| Box::pin(get::run(client, lake, job)),
    recognises: saved::recognises,
    read_saved: saved::read_saved,
};
