//! What a morning offered, from its conditions and water: the features that are kept with a trip.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::super::Belief;
use super::super::catchability::catchability;
use super::super::drivers::zone_drivers;
use super::super::engine::catch_drivers;
use super::super::habitat::ZoneHabitat;
use super::super::rules::terms;
use super::rows::{Morning, ZoneFeatures};
use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::{Lake, ZoneId, ZoneKind};
use crate::species::Species;

/// The responses of every rule in every zone on the morning of `date`, at the median drivers over members.
///
/// A response whose drivers are not known is 0: the rule is silent, as in the log-odds of a brief.
pub fn morning_of(
    lake: &Lake,
    species: &Species,
    conditions: &Conditions,
    water: &Water,
    date: NaiveDate,
) -> Morning {
    morning_with(
        lake,
        species,
        (conditions, water, &habitats(species, water)),
        date,
    )
}

/// As [`morning_of`], with the habitats of the species in that water.
pub(super) fn morning_with(
    lake: &Lake,
    species: &Species,
    (conditions, water, habitats): (&Conditions, &Water, &Habitats),
    date: NaiveDate,
) -> Morning {
    let drivers = zone_drivers(lake, species, conditions, water, habitats, date);
    let features = drivers.iter().map(|zone| {
        let mut response = vec![0.0; species.rules.len()];
        for term in terms(species, zone, date) {
            response[term.row] = term.factor * term.median;
        }
        ZoneFeatures {
            zone: zone.zone.clone(),
            closed: zone.closed,
            response,
        }
    });
    Morning {
        main: lake.main_body().id.clone(),
        zones: features.collect(),
    }
}

/// The responses of the terms of catchability in every zone with standing water on that morning, by zone, in the order of the species
/// file; 0 where a driver is not known. A trip at another time of the day has its own light.
pub fn catch_responses_of(
    lake: &Lake,
    species: &Species,
    conditions: &Conditions,
    water: &Water,
) -> BTreeMap<ZoneId, Vec<f64>> {
    catch_responses_with(lake, species, conditions, &habitats(species, water))
}

/// As [`catch_responses_of`], with the habitats of the species in that water.
pub(super) fn catch_responses_with(
    lake: &Lake,
    species: &Species,
    conditions: &Conditions,
    habitats: &Habitats,
) -> BTreeMap<ZoneId, Vec<f64>> {
    let rules = Belief::rules(species);
    let of = |zone: &crate::lake::Zone| {
        let drivers = catch_drivers(lake, conditions, zone, habitats);
        let known = catchability((species, &rules), &zone.id, drivers).map_or_else(Vec::new, |c| c.terms);
        let response = |id: &str| known.iter().find(|t| t.term == id).map_or(0.0, |t| t.response);
        species.catchability.iter().map(|row| response(&row.id)).collect()
    };
    let standing = lake.zones.iter().filter(|z| z.kind != ZoneKind::River);
    standing.map(|zone| (zone.id.clone(), of(zone))).collect()
}

/// Habitats of a species by zone.
pub(super) type Habitats = [(ZoneId, ZoneHabitat)];

/// The habitats of `species` in every zone with a profile.
pub(super) fn habitats(species: &Species, water: &Water) -> Vec<(ZoneId, ZoneHabitat)> {
    let zones = water.zones.iter();
    zones
        .filter_map(|w| Some((w.zone.clone(), ZoneHabitat::new(w, species)?)))
        .collect()
}
