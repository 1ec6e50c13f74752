//! A fit as it is kept, for briefs to come.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

use super::super::Belief;
use super::fit::SpeciesFit;
use super::rows::SpeciesRows;
use crate::lake::{SpeciesId, ZoneId};
use crate::species::Species;

/// Name and version of this form.
pub const FIT_FORM: &str = "plungeline-fit-1";

/// What trips had taught when the log was last fitted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptFit {
    /// Name and version of this form.
    pub form: String,
    /// Lake.
    pub lake: String,
    /// Clock of the fit: no later trip is in it.
    pub as_of: DateTime<Utc>,
    /// The trips that it rests on: number, and SHA-256 of the trip as it stood, in hexadecimal.
    pub trips: BTreeMap<u32, String>,
    /// Day of the newest of them.
    pub newest_trip: Option<NaiveDate>,
    /// Zone where an hour of scouting would tell most, as far as the log asks for one.
    pub scout: Option<ZoneId>,
    /// By species.
    pub species: BTreeMap<SpeciesId, KeptSpecies>,
}

/// What trips had taught of one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptSpecies {
    /// Trips with a part in it.
    pub trips: usize,
    /// Id, prior mean and standard deviation of every coefficient, rules first.
    pub prior: Vec<(String, f64, f64)>,
    /// By how many prior standard deviations each moved. Shape `[coefficient]`.
    pub moved_sd: Vec<f64>,
    /// Their covariance in these units. Shape `[coefficient][coefficient]`.
    pub covariance: Vec<Vec<f64>>,
}

impl KeptSpecies {
    /// The part of a fit that a brief needs: its coefficients, without the rates and places of the trips.
    pub fn of(fit: &SpeciesFit, rows: &SpeciesRows<'_>) -> KeptSpecies {
        let prior = prior_of(rows.species);
        let count = prior.len();
        KeptSpecies {
            trips: fit.trips,
            moved_sd: fit.moved_sd[..count].to_vec(),
            covariance: (0..count)
                .map(|i| (0..count).map(|j| fit.covariance[(i, j)]).collect())
                .collect(),
            prior,
        }
    }

    /// What it makes of the coefficients of `species`; `None` where the species file has other rules by now, or other numbers in
    /// them, or where the kept numbers are none that a fit gives.
    pub fn belief(&self, species: &Species) -> Option<Belief> {
        let count = self.prior.len();
        let square = self.covariance.len() == count && self.covariance.iter().all(|row| row.len() == count);
        if self.prior != prior_of(species) || !square || self.moved_sd.iter().any(|z| !z.is_finite()) {
            return None;
        }
        let covariance = DMatrix::from_fn(count, count, |i, j| self.covariance[i][j]);
        Belief::learned(species, &self.moved_sd, &covariance)
    }
}

fn prior_of(species: &Species) -> Vec<(String, f64, f64)> {
    let rules = species.rules.iter().map(|r| (r.id.clone(), r.mean, r.sd));
    let terms = species.catchability.iter().map(|c| (c.id.clone(), c.mean, c.sd));
    rules.chain(terms).collect()
}
