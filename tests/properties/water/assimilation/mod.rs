//! Observations in an ensemble of an invented lake.

pub mod invented;
mod saved;
mod twin;
mod update;
