//! The call of one species: habitat, drivers, rules, draws and depth band, put together.

use chrono::NaiveDate;

use super::SpeciesCall;
use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::Lake;
use crate::species::Species;

/// How a call is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CallOptions {
    /// Joint draws of coefficients and members; at least 1. Design 5 wants 2000 or more.
    pub draws: usize,
    /// Seed of the random streams.
    pub seed: u64,
    /// Civil day of the trip at the lake.
    pub date: NaiveDate,
}

/// Where `species` is thought to be on the morning of `options.date`.
pub fn call_species(
    lake: &Lake,
    species: &Species,
    conditions: &Conditions,
    water: &Water,
    options: &CallOptions,
) -> SpeciesCall {
    let _ = (lake, species, conditions, water, options);
    todo!()
}
