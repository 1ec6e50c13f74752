//! Mornings long past, looked at again: what a species was offered on the day of a trip that no call was made for.

use chrono::{DateTime, Utc};

use super::morning::{MorningSource, morning_water};
use crate::archive::analysed::{AnalysedStates, InputHash, StateError};
use crate::clock::LakeClock;
use crate::conditions::{ForageCondition, forage_condition};
use crate::lake::{Lake, SpeciesId};
use crate::quality::{Thresholds, flag_set};
use crate::series::Store;
use crate::sources::csv::WaterReading;
use crate::species::Species;
use crate::trips::{Known, StoredTrip, bait_marks};
use crate::whereabouts::learn::{Features, features_of};

/// What past mornings are made from.
#[derive(Debug, Clone, Copy)]
pub struct PastMornings<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Hash of the lake file's bytes.
    pub lake_file: InputHash,
    /// Store.
    pub store: &'a Store,
    /// Thresholds of the quality checks.
    pub thresholds: &'a Thresholds,
    /// The angler's own readings of the water.
    pub own: &'a [WaterReading],
    /// The trip log, for the bait that was seen before.
    pub trips: &'a [StoredTrip],
    /// States of the water of past days; mornings that are asked for in the order of time take up those of the one before.
    pub states: Option<&'a AnalysedStates>,
}

/// Bait by zone at `as_of`, from the marks of the trips that had ended by then.
pub fn forage_at(lake: &Lake, trips: &[StoredTrip], as_of: DateTime<Utc>) -> Vec<ForageCondition> {
    let known = Known {
        lake,
        species: &[],
        as_of,
    };
    let marks = bait_marks(trips, &known).into_iter();
    marks
        .filter_map(|m| forage_condition(&m.zone, (m.marks, m.weighted_h), m.watched_h, m.newest))
        .collect()
}

/// What every one of `species` was offered on the morning of `as_of`, by what the store holds of the time up to it; beside it, what
/// is to be told of saved states. What was not known then and came in later is used: the fish knew it.
pub fn features_at(
    of: &PastMornings<'_>,
    species: &[Species],
    as_of: DateTime<Utc>,
) -> (Features, Vec<StateError>) {
    let mut set = of.store.load(of.lake, as_of);
    flag_set(&mut set, of.lake, of.thresholds);
    let forage = forage_at(of.lake, of.trips, as_of);
    let source = MorningSource {
        lake_file: of.lake_file,
        own: of.own,
        states: of.states,
        forage: &forage,
        ahead: false,
    };
    let morning = morning_water(of.lake, &set, &source);
    let day = LakeClock::new(of.lake.time_zone).civil_day(as_of);
    let features = species.iter().map(|species| {
        let offered = features_of(of.lake, species, &morning.conditions, &morning.water, day);
        (SpeciesId::new(species.id.clone()), offered)
    });
    (features.collect(), morning.told)
}
