//! The National Weather Service's API (api.weather.gov): grid cell of a position, raw grid forecast,
//! observations of stations, official alerts.
//!
//! The raw grid is read, not the forecast in words: its layers are figures with units. Equal neighbours
//! come merged and are expanded ([`GridLayer::hourly`]). A forecast is one run without members.

mod alert;
mod grid;
mod interval;
mod observation;
mod point;
mod problem;
pub mod table;

pub use alert::{Alert, Alerts, read_alerts};
pub use grid::{Grid, GridLayer, read_grid};
pub use interval::{Interval, read_interval};
pub use observation::{Observations, Observed, ObservedFigure, read_observations};
pub use point::{Point, read_point, read_stations};
pub use table::{LAYERS, Layer, Spread, layer_of, plain_unit};
