//! A fit as it is kept, for briefs to come.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, NaiveDate, Utc};
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

use super::super::Belief;
use super::fit::SpeciesFit;
use super::options::FitOptions;
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
    /// How it was made.
    pub options: KeptOptions,
    /// The trips that it rests on: number, and SHA-256 of the trip as it stood but for its note, in hexadecimal.
    pub trips: BTreeMap<u32, String>,
    /// Trips of the log that had no part in it.
    pub passed_over: BTreeSet<u32>,
    /// Day of the newest of those that it rests on.
    pub newest_trip: Option<NaiveDate>,
    /// Zone where an hour of scouting would tell most, as far as the log asks for one.
    pub scout: Option<ZoneId>,
    /// By species.
    pub species: BTreeMap<SpeciesId, KeptSpecies>,
}

/// How a fit was made, as far as its user chooses.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct KeptOptions {
    /// Age at which a trip weighs half; `None` where all weigh alike.
    pub half_life_days: Option<f64>,
    /// Whether rows whose zone was chosen by a report took part.
    pub with_reports: bool,
    /// Whether sonar marks did.
    pub with_marks: bool,
    /// Whether species shared what they learned of R2 and R7.
    pub together: bool,
}

impl From<&FitOptions> for KeptOptions {
    fn from(options: &FitOptions) -> KeptOptions {
        KeptOptions {
            half_life_days: options.half_life_days,
            with_reports: options.with_reports,
            with_marks: options.with_marks,
            together: options.pooled,
        }
    }
}

/// Why a kept fit gives no belief of a species.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoBelief {
    /// The species file has other rules by now, or other numbers in them.
    OtherRules,
    /// The kept numbers are none that a fit gives: the file was damaged.
    Unsound,
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

    /// What it makes of the coefficients of `species`.
    ///
    /// # Errors
    /// [`NoBelief`].
    pub fn belief(&self, species: &Species) -> Result<Belief, NoBelief> {
        if self.prior != prior_of(species) {
            return Err(NoBelief::OtherRules);
        }
        let count = self.prior.len();
        let square = self.covariance.len() == count && self.covariance.iter().all(|row| row.len() == count);
        if !square || self.moved_sd.iter().any(|z| !z.is_finite()) {
            return Err(NoBelief::Unsound);
        }
        let covariance = DMatrix::from_fn(count, count, |i, j| self.covariance[i][j]);
        Belief::learned(species, &self.moved_sd, &covariance).ok_or(NoBelief::Unsound)
    }
}

fn prior_of(species: &Species) -> Vec<(String, f64, f64)> {
    let rules = species.rules.iter().map(|r| (r.id.clone(), r.mean, r.sd));
    let terms = species.catchability.iter().map(|c| (c.id.clone(), c.mean, c.sd));
    rules.chain(terms).collect()
}
