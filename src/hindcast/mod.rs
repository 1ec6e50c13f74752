//! A run of a lake's water over past weather: what goes in.

mod error;
mod hypsography;
mod input;
mod note;
mod profiles;
mod tables;

pub use error::InputError;
pub use input::{HindcastInput, Observed, Winter, assemble, load_hindcast};
pub use note::InputNote;
