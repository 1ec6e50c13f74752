//! The water of a session's lake: its saved states, its run, and what is told of them.

use std::path::Path;

use super::session::Session;
use crate::analysis::{AdvanceOptions, Advanced, Begun, MorningWater, advance, morning_water};
use crate::archive::analysed::{AnalysedStates, InputHash, StateError, hash_of};
use crate::conditions::conditions_at;
use crate::error::Error;
use crate::lake::{Lake, LakeError};
use crate::reports::PulledWater;
use crate::series::{SeriesSet, Store};

/// Folder of the saved states inside a lake's store.
const STATES: &str = "water-states";

/// Runs the water of a lake up to the clock of `set` and keeps its states. That it cannot be run is no error: it is told.
///
/// # Errors
/// The lake file cannot be read any more.
pub fn advance_water(
    lake: &Lake,
    lake_file: &Path,
    store: &Store,
    set: &SeriesSet,
) -> Result<PulledWater, Error> {
    let options = AdvanceOptions {
        lake_file: hash_of_file(lake_file)?,
        ahead_days: 0,
    };
    let level_m = conditions_at(lake, set).pool.map(|pool| pool.elevation_m);
    Ok(match advance(lake, set, level_m, Some(&states(store)), &options) {
        Ok(advanced) => told(&advanced),
        Err(error) => PulledWater::NotRun {
            why: error.to_string(),
        },
    })
}

/// The water of the morning of a session.
///
/// # Errors
/// The lake file cannot be read any more.
pub fn water_of_morning(session: &Session, set: &SeriesSet) -> Result<MorningWater, Error> {
    let lake_file = hash_of_file(&session.lake_file)?;
    Ok(morning_water(
        &session.lake,
        lake_file,
        set,
        Some(&states(&session.store)),
    ))
}

fn states(store: &Store) -> AnalysedStates {
    AnalysedStates::new(store.folder().join(STATES))
}

fn hash_of_file(lake_file: &Path) -> Result<InputHash, LakeError> {
    let bytes = std::fs::read(lake_file).map_err(|source| LakeError::Unreadable {
        file: lake_file.to_owned(),
        source,
    })?;
    Ok(hash_of(&bytes))
}

fn told(advanced: &Advanced) -> PulledWater {
    PulledWater::Run {
        to: advanced.at,
        from_day: match advanced.begun {
            Begun::Cold => None,
            Begun::State { day } => Some(day),
        },
        cold_start: advanced.cold_start,
        hours: advanced.hours,
        readings: advanced.taken_up,
        saved: advanced.kept,
        told: advanced.told.iter().map(StateError::to_string).collect(),
    }
}
