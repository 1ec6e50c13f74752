//! Which coefficients a brief goes by: the rules, or what the log has taught.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use super::super::{Belief, CallBasis, RulesWhy};
use super::kept::{FIT_FORM, KeptFit, NoBelief};
use crate::lake::{SpeciesId, ZoneId};
use crate::species::Species;
use crate::trips::{StoredTrip, Trip};

/// What is believed of the coefficients of each species, and what that rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Beliefs {
    learned: BTreeMap<SpeciesId, Belief>,
    /// What it rests on.
    pub basis: CallBasis,
    /// Zone where an hour of scouting would tell most, as the fit has it.
    pub scout: Option<ZoneId>,
}

impl Beliefs {
    /// The rules of every species.
    pub fn rules(why: Option<RulesWhy>) -> Beliefs {
        Beliefs {
            learned: BTreeMap::new(),
            basis: CallBasis::Rules { why },
            scout: None,
        }
    }

    /// What `kept`, the newest fit with the SHA-256 of its file, makes of the rules of `species`, where it still stands for the log:
    /// each of its trips is in `trips`, the log up to the clock of the call, as it was. Without a trip it is exactly the rules.
    pub fn of(kept: Option<(&KeptFit, &str)>, trips: &[StoredTrip], species: &[Species]) -> Beliefs {
        if trips.is_empty() {
            return Beliefs::rules(None);
        }
        let Some((kept, sha256)) = kept else {
            return Beliefs::rules(Some(RulesWhy::NeverFitted));
        };
        if kept.form != FIT_FORM || kept.trips.is_empty() {
            return Beliefs::rules(Some(RulesWhy::Unreadable));
        }
        let now: BTreeMap<u32, &Trip> = trips.iter().map(|(number, trip)| (*number, trip)).collect();
        let stands =
            |(number, hash): (&u32, &String)| now.get(number).is_some_and(|trip| trip_sha256(trip) == *hash);
        if !kept.trips.iter().all(stands) {
            return Beliefs::rules(Some(RulesWhy::LogChanged));
        }
        let mut learned = BTreeMap::new();
        let mut rules_for = Vec::new();
        // A species without rules or terms has nothing that trips could move.
        for one in species
            .iter()
            .filter(|s| !(s.rules.is_empty() && s.catchability.is_empty()))
        {
            let id = SpeciesId::new(one.id.clone());
            match kept.species.get(&id).map(|of| of.belief(one)) {
                Some(Ok(belief)) => {
                    learned.insert(id, belief);
                }
                Some(Err(NoBelief::Unsound)) => return Beliefs::rules(Some(RulesWhy::Unreadable)),
                Some(Err(NoBelief::OtherRules)) | None => rules_for.push(id),
            }
        }
        if learned.is_empty() && rules_for.is_empty() {
            return Beliefs::rules(None);
        }
        if learned.is_empty() {
            return Beliefs::rules(Some(RulesWhy::RulesChanged));
        }
        let is_since = |number: &u32| !kept.trips.contains_key(number) && !kept.passed_over.contains(number);
        Beliefs {
            basis: CallBasis::Learned {
                trips: kept.trips.len(),
                fitted_at: kept.as_of,
                newest_trip: kept.newest_trip,
                trips_since: trips.iter().filter(|(number, _)| is_since(number)).count(),
                rules_for,
                fit_sha256: sha256.to_owned(),
            },
            learned,
            scout: kept.scout.clone(),
        }
    }

    /// What is believed of one species.
    pub fn belief(&self, species: &Species) -> Belief {
        let learned = self.learned.get(&SpeciesId::new(species.id.clone()));
        learned.cloned().unwrap_or_else(|| Belief::rules(species))
    }
}

/// SHA-256 of a trip as it stands but for its note, of which no fit knows, in hexadecimal.
pub fn trip_sha256(trip: &Trip) -> String {
    let trip = Trip {
        note: None,
        ..trip.clone()
    };
    // A trip is plain texts and finite numbers, of which JSON can be made; were it not so, no trip would stand, and the rules would.
    let json = serde_json::to_vec(&trip).unwrap_or_default();
    Sha256::digest(&json)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}
