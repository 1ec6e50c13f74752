//! Observations in an ensemble of an invented lake.

mod invented;
mod saved;
mod twin;
mod update;
