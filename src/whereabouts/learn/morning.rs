//! What a morning offered, from its conditions and water: the features that are kept with a trip.

use chrono::NaiveDate;

use super::super::drivers::zone_drivers;
use super::super::habitat::ZoneHabitat;
use super::super::rules::terms;
use super::rows::{Morning, ZoneFeatures};
use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::{Lake, ZoneId};
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
    let habitats: Vec<(ZoneId, ZoneHabitat)> = water
        .zones
        .iter()
        .filter_map(|w| Some((w.zone.clone(), ZoneHabitat::new(w, species)?)))
        .collect();
    let drivers = zone_drivers(lake, species, conditions, water, &habitats, date);
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
