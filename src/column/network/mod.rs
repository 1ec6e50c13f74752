//! The network of columns: the main body one column, each arm a row of reaches from its mouth to its head, joined
//! through faces.
//!
//! All columns have one grid of elevations and one level. A step lets rivers in and water out, evens the level through
//! the faces, lets waters of different density run past each other, and then hands each column to its own physics.
//! Every part is exact in volume, heat, oxygen and river water, and is booked.

mod budget;
mod closed;
mod error;
mod exchange;
mod face;
mod flow;
mod layout;
#[allow(clippy::module_inception)]
mod network;
mod pair;
mod plunge;
mod rest;
mod river;
mod slot;
mod through;
mod underflow;
mod valley;

pub use budget::{Budget, Content};
pub use closed::{Closed, Held};
pub use error::StepError;
pub use exchange::{Exchange, FRONT_FROUDE};
pub use layout::{Face, Layout, LayoutError, Part, Place};
pub use network::{DirectFlow, Inputs, Network, OutletFlow, Site};
pub use pair::Pair;
pub use plunge::{PlungeLine, plunge_line};
pub use river::{River, RiverOptions, RiverPath};
pub use valley::Valley;
