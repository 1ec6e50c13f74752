//! Which parameter stands where, and its prior.
//!
//! Every parameter is `mean + scale * z` with `z ~ N(0, 1)` by its prior, and the search runs in `z`: then a parameter that no row
//! speaks of stays at exactly 0, and its covariance at exactly 1.

use std::collections::BTreeSet;

use super::options::{
    CATCH_K, FitOptions, LN_CATCH_K_SD, LN_MARKS_MEAN, LN_MARKS_SD, LN_RATE_MEAN, LN_RATE_SD,
};
use super::rows::{SpeciesRows, TripRows};
use crate::lake::ZoneId;
use crate::species::Species;
use crate::trips::MarkKind;

/// The parameters of one species, in this order: rules, terms of catchability, rate, zones, stretches, marks, dispersion.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Rules of the species.
    pub rules: usize,
    /// Its terms of catchability.
    pub terms: usize,
    /// Zones with hours, each with an effect on the catch.
    pub zones: Vec<ZoneId>,
    /// Stretches with hours, likewise within their zone.
    pub stretches: Vec<(ZoneId, String)>,
    /// Kinds of marks, each with a rate of its own.
    pub marks: Vec<MarkKind>,
    /// Whether the dispersion of catches is a parameter.
    pub with_k: bool,
}

impl Layout {
    /// The parameters that the rows of one species speak of.
    pub fn new(rows: &SpeciesRows<'_>, options: &FitOptions, with_k: bool) -> Layout {
        let efforts = || {
            let of = |t: &'_ TripRows| t.efforts.clone();
            rows.trips.iter().flat_map(of)
        };
        let zones: BTreeSet<ZoneId> = efforts().map(|e| e.zone).collect();
        let stretches: BTreeSet<(ZoneId, String)> =
            efforts().filter_map(|e| Some((e.zone, e.stretch?))).collect();
        let marks: BTreeSet<MarkKind> = rows
            .trips
            .iter()
            .filter(|_| options.with_marks)
            .flat_map(|t| t.marks.iter().map(|m| m.kind))
            .collect();
        Layout {
            rules: rows.species.rules.len(),
            terms: rows.species.catchability.len(),
            zones: zones.into_iter().collect(),
            stretches: stretches.into_iter().collect(),
            marks: marks.into_iter().collect(),
            with_k,
        }
    }

    /// Place of the rate of catch.
    pub fn rate(&self) -> usize {
        self.rules + self.terms
    }

    /// Place of a zone's effect.
    pub fn zone(&self, zone: &ZoneId) -> Option<usize> {
        let at = self.zones.iter().position(|z| z == zone)?;
        Some(self.rate() + 1 + at)
    }

    /// Place of a stretch's effect.
    pub fn stretch(&self, zone: &ZoneId, stretch: &str) -> Option<usize> {
        let at = self
            .stretches
            .iter()
            .position(|(z, s)| z == zone && s == stretch)?;
        Some(self.rate() + 1 + self.zones.len() + at)
    }

    /// Place of the rate of one kind of marks.
    pub fn marks(&self, kind: MarkKind) -> Option<usize> {
        let at = self.marks.iter().position(|k| *k == kind)?;
        Some(self.rate() + 1 + self.zones.len() + self.stretches.len() + at)
    }

    /// Place of the dispersion.
    pub fn k(&self) -> Option<usize> {
        self.with_k.then(|| self.len() - 1)
    }

    /// Parameters in all.
    pub fn len(&self) -> usize {
        let places = self.zones.len() + self.stretches.len();
        self.rate() + 1 + places + self.marks.len() + usize::from(self.with_k)
    }

    /// Whether there are none; there is always the rate.
    pub fn is_empty(&self) -> bool {
        false
    }

    /// Prior mean and scale of each parameter, with `place_sd` for zones and stretches.
    pub fn priors(&self, species: &Species, place_sd: f64) -> Vec<(f64, f64)> {
        let rules = species.rules.iter().map(|r| (r.mean, r.sd));
        let terms = species.catchability.iter().map(|c| (c.mean, c.sd));
        let places = self.zones.len() + self.stretches.len();
        rules
            .chain(terms)
            .chain([(LN_RATE_MEAN, LN_RATE_SD)])
            .chain(std::iter::repeat_n((0.0, place_sd), places))
            .chain(self.marks.iter().map(|_| (LN_MARKS_MEAN, LN_MARKS_SD)))
            .chain(self.with_k.then_some((CATCH_K.ln(), LN_CATCH_K_SD)))
            .collect()
    }
}
