//! The analysed ensemble of a day: what a run is taken up from, as long as nothing that it rests on has changed.
//!
//! A state rests on everything that drove the run up to its day, on the lake file and on the program. Each is told by a hash, and a
//! state of which one differs is not taken up: a value that comes late, or is revised, makes the states from its day on
//! stale by itself.

mod bytes;
mod error;
mod folder;
mod inputs;
mod state;

pub use error::StateError;
pub use folder::{AnalysedStates, Found, PassedOver};
pub use inputs::{InputHash, hash_of, in_hexadecimal};
pub use state::{AnalysedState, Basis, FORMAT, SavedPlace, code_version};
