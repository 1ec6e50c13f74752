//! Species as data: suitability curves, seasons, limits and the rows of rules, each number with its
//! source, read from `config/species`. Where the fish are today is not known here.

pub mod builtin;
pub mod catchability;
pub mod curve;
pub mod error;
pub mod model;
pub mod read;
mod read_rules;
#[cfg(test)]
mod read_tests;
pub mod response;
pub mod season;
mod walk;

pub use builtin::{builtin, builtin_ids};
pub use catchability::{CatchResponse, CatchRow, ReactionDistance};
pub use curve::{Curve, NamedCurve};
pub use error::{Fault, SpeciesError};
pub use model::*;
pub use read::read_species;
pub use response::{Ramp, Response};
pub use season::Season;
