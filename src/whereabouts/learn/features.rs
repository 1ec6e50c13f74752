//! What a species was offered on one morning: kept with the call of that morning, and read again when trips are fitted.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::super::DepthRange;
use super::super::drivers::{habitat_of, water_of};
use super::super::zone_band::band_of;
use super::morning::{Habitats, catch_responses_with, habitats, morning_with};
use super::rows::Morning;
use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::{Lake, SpeciesId, ZoneId};
use crate::species::Species;

/// What one species was offered on one morning, with the names of what was looked at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpeciesFeatures {
    /// Ids of the rules, in the order of the responses.
    pub rules: Vec<String>,
    /// Ids of the terms of catchability, likewise.
    pub terms: Vec<String>,
    /// Responses of the rules by zone.
    pub morning: Morning,
    /// Responses of the terms by zone.
    pub catch_response: BTreeMap<ZoneId, Vec<f64>>,
    /// Depth band by zone with standing water, where there is one.
    pub band: BTreeMap<ZoneId, DepthRange>,
}

/// What every species was offered on one morning.
pub type Features = BTreeMap<SpeciesId, SpeciesFeatures>;

impl SpeciesFeatures {
    /// Whether they are of the rules and terms of `species`: the same, in the same order. After a change of the species file they
    /// are not, and have to be made anew.
    pub fn are_of(&self, species: &Species) -> bool {
        let rules = species.rules.iter().map(|r| &r.id);
        let terms = species.catchability.iter().map(|c| &c.id);
        self.rules.iter().eq(rules) && self.terms.iter().eq(terms)
    }
}

/// What `species` is offered on the morning of `date`.
pub fn features_of(
    lake: &Lake,
    species: &Species,
    conditions: &Conditions,
    water: &Water,
    date: NaiveDate,
) -> SpeciesFeatures {
    let habitats = habitats(species, water);
    SpeciesFeatures {
        rules: species.rules.iter().map(|r| r.id.clone()).collect(),
        terms: species.catchability.iter().map(|c| c.id.clone()).collect(),
        morning: morning_with(lake, species, (conditions, water, &habitats), date),
        catch_response: catch_responses_with(lake, species, conditions, &habitats),
        band: bands_of(lake, species, (water, &habitats)),
    }
}

/// The depth band in every zone with standing water, as a call has it for the likeliest.
fn bands_of(
    lake: &Lake,
    species: &Species,
    (water, habitats): (&Water, &Habitats),
) -> BTreeMap<ZoneId, DepthRange> {
    let of = |zone: &ZoneId| {
        let basis = &water_of(water, zone)?.basis;
        let band = band_of(species, basis, habitat_of(habitats, zone)?)?;
        Some((
            zone.clone(),
            DepthRange {
                top_m: band.top_m,
                bottom_m: band.bottom_m,
            },
        ))
    };
    lake.zones.iter().filter_map(|zone| of(&zone.id)).collect()
}
