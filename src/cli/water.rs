//! The water of a session's lake: its saved states, its run, and what is told of them.

use std::path::Path;

use super::output;
use super::session::Session;
use crate::analysis::{
    AdvanceOptions, Advanced, AnalysisError, Begun, MorningSource, MorningWater, advance, forage_at,
    inputs_hash, morning_water,
};
use crate::archive::analysed::{AnalysedStates, InputHash, StateError, hash_of};
use crate::conditions::conditions_at;
use crate::error::Error;
use crate::lake::{Lake, LakeError};
use crate::reports::PulledWater;
use crate::series::{SeriesSet, Store};
use crate::sources::csv::{StampZone, WaterReading, read_water_readings};
use crate::sources::read_file;
use crate::trips::{Known, StoredTrip, TripError, TripLog, water_readings as logged_readings};

/// Folder of the saved states inside a lake's store.
const STATES: &str = "water-states";
/// Longest table of readings (project choice): a reading a minute for years is shorter.
const FILE_CAP_BYTES: usize = 64 * 1024 * 1024;

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
    let (own, mut said) = all_readings(lake, lake_file, store, set.as_of);
    let options = AdvanceOptions {
        lake_file: hash_of_file(lake_file)?,
        own: &own,
        ahead_days: 0,
    };
    let level_m = conditions_at(lake, set).pool.map(|pool| pool.elevation_m);
    Ok(
        match advance(lake, set, level_m, Some(&states(store)), &options) {
            Ok(advanced) => {
                said.extend(worth_telling(&advanced.told));
                told(&advanced, said)
            }
            Err(error) => PulledWater::NotRun {
                why: error.to_string(),
            },
        },
    )
}

/// The water of the morning of a session, and hashes of what it rests on.
pub struct SessionWater {
    /// Conditions and water.
    pub morning: MorningWater,
    /// Hash of the values.
    pub inputs: InputHash,
    /// Hash of the lake file.
    pub lake_file: InputHash,
}

/// The water of the morning of a session; `trips` are those of the log.
///
/// # Errors
/// The lake file cannot be read any more.
pub fn water_of_morning(
    session: &Session,
    set: &SeriesSet,
    trips: &Result<Vec<StoredTrip>, TripError>,
) -> Result<SessionWater, Error> {
    let (own, said) = readings_with(&session.lake, &session.lake_file, trips.as_deref(), set.as_of);
    said.iter().for_each(|line| output::remark(line));
    let states = states(&session.store);
    let forage = trips
        .as_ref()
        .map_or_else(|_| Vec::new(), |trips| forage_at(&session.lake, trips, set.as_of));
    let lake_file = hash_of_file(&session.lake_file)?;
    let source = MorningSource {
        lake_file,
        own: &own,
        states: Some(&states),
        forage: &forage,
        ahead: true,
    };
    Ok(SessionWater {
        morning: morning_water(&session.lake, set, &source),
        inputs: inputs_hash(set, &own, &forage),
        lake_file,
    })
}

/// The lake's columns at the clock of a session, from its saved states, which are kept on the way; `trips` are those of the log.
///
/// # Errors
/// The lake file cannot be read any more.
pub fn columns_of_session(
    session: &Session,
    set: &SeriesSet,
    trips: &Result<Vec<StoredTrip>, TripError>,
    level_m: Option<f64>,
) -> Result<Result<Advanced, AnalysisError>, Error> {
    let (own, said) = readings_with(&session.lake, &session.lake_file, trips.as_deref(), set.as_of);
    said.iter().for_each(|line| output::remark(line));
    let options = AdvanceOptions {
        lake_file: hash_of_file(&session.lake_file)?,
        own: &own,
        ahead_days: 0,
    };
    let advanced = advance(
        &session.lake,
        set,
        level_m,
        Some(&states(&session.store)),
        &options,
    );
    if let Ok(advanced) = &advanced {
        worth_telling(&advanced.told).for_each(|said| output::remark(&said));
    }
    Ok(advanced)
}

/// The angler's own readings of the water: those of the table that the lake file names, and those of the trip log. What of them
/// could not be used is said in words.
fn all_readings(
    lake: &Lake,
    lake_file: &Path,
    store: &Store,
    as_of: chrono::DateTime<chrono::Utc>,
) -> (Vec<WaterReading>, Vec<String>) {
    let trips =
        TripLog::open_if_there(store.folder()).and_then(|log| log.map_or(Ok(Vec::new()), |log| log.trips()));
    readings_with(lake, lake_file, trips.as_deref(), as_of)
}

/// As [`all_readings`], with the trips of a log that has been read.
pub fn readings_with(
    lake: &Lake,
    lake_file: &Path,
    trips: Result<&[StoredTrip], &TripError>,
    as_of: chrono::DateTime<chrono::Utc>,
) -> (Vec<WaterReading>, Vec<String>) {
    let (mut rows, mut said) = own_readings(lake, lake_file);
    match trips {
        Ok(trips) => {
            let known = Known {
                lake,
                species: &[],
                as_of,
            };
            rows.extend(logged_readings(trips, &known));
        }
        Err(error) => said.push(format!("the readings of the trip log are not used: {error}")),
    }
    (rows, said)
}

/// The angler's own readings of the water, and in words what of them could not be used: a table that cannot be read weakens
/// the answer and does not prevent it.
fn own_readings(lake: &Lake, lake_file: &Path) -> (Vec<WaterReading>, Vec<String>) {
    let Some(file) = &lake.water_readings else {
        return (Vec::new(), Vec::new());
    };
    let path = lake_file.parent().unwrap_or(Path::new(".")).join(file);
    let told = |error: &dyn std::fmt::Display| {
        let said = format!(
            "the readings of the water in {} are not used: {error}",
            path.display()
        );
        (Vec::new(), vec![said])
    };
    let bytes = match read_file(&path, FILE_CAP_BYTES) {
        Ok(bytes) => bytes,
        Err(error) => return told(&error),
    };
    let zone = match StampZone::read(lake.time_zone.name()) {
        Ok(zone) => zone,
        Err(error) => return told(&error),
    };
    let readings = match read_water_readings(&bytes, zone) {
        Ok(readings) => readings,
        Err(error) => return told(&error),
    };
    let left_out = |what: &str| format!("{}: left out: {what}", path.display());
    let mut said: Vec<String> = readings.faults.iter().map(|f| left_out(&f.to_string())).collect();
    let (known, strange): (Vec<_>, Vec<_>) = readings
        .rows
        .into_iter()
        .partition(|row| lake.zones.iter().any(|zone| zone.id.as_str() == row.zone));
    said.extend(strange.iter().map(|row| {
        left_out(&format!(
            "line {}: found zone {:?}, wanted the id of a zone of the lake",
            row.line, row.zone
        ))
    }));
    (known, said)
}

/// That a value came late and cost a state or two is every morning's course; the rest is told.
pub fn worth_telling(told: &[StateError]) -> impl Iterator<Item = String> {
    let rare = told
        .iter()
        .filter(|error| !matches!(error, StateError::Stale { .. }));
    rare.map(StateError::to_string)
}

/// The saved states of a lake's water.
pub fn states(store: &Store) -> AnalysedStates {
    AnalysedStates::new(store.folder().join(STATES))
}

/// Hash of the lake file's bytes.
pub fn hash_of_file(lake_file: &Path) -> Result<InputHash, LakeError> {
    let bytes = std::fs::read(lake_file).map_err(|source| LakeError::Unreadable {
        file: lake_file.to_owned(),
        source,
    })?;
    Ok(hash_of(&bytes))
}

fn told(advanced: &Advanced, told: Vec<String>) -> PulledWater {
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
        told,
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::cli::lakes;

    /// The readings of the demonstration lake with a table of that name beside its file.
    fn read(file: &Path) -> (Vec<WaterReading>, Vec<String>) {
        let lake_file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("config/lakes/harrow-gap.toml");
        let mut lake = lakes::read(&lake_file).unwrap();
        lake.water_readings = Some(file.to_owned());
        own_readings(&lake, &lake_file)
    }

    #[test]
    fn rows_of_the_lakes_zones_are_taken_and_the_others_named() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("readings.csv");
        let table = "time,zone,depth_ft,temp_degf,oxygen_mg_l,error\n2025-09-10 08:15,main,60,54.5,6.9,0.4\n\
                     2025-09-10 09:30,sorrel-arm,2,64.0,,1\nyesterday,main,2,64.0,,1\n";
        std::fs::write(&file, table).unwrap();
        let (rows, said) = read(&file);
        assert_eq!(rows.len(), 1);
        // 54.5 degF is 12.5 degC, 60 ft are 18.288 m, by definition of degree and foot.
        assert!(
            (rows[0].temp_degc.unwrap() - 12.5).abs() < 1e-12 && (rows[0].depth_m - 18.288).abs() < 1e-12
        );
        assert_eq!(said.len(), 2, "{said:?}");
        assert!(
            said[0].contains("line 4") && said[0].contains("yesterday"),
            "{said:?}"
        );
        assert!(
            said[1].contains("line 3") && said[1].contains("sorrel-arm"),
            "{said:?}"
        );
    }

    #[test]
    fn a_table_that_is_not_there_or_is_none_is_told_and_prevents_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("readings.csv");
        let (rows, said) = read(&file);
        assert!(
            rows.is_empty() && said.len() == 1 && said[0].contains("not used"),
            "{said:?}"
        );
        std::fs::write(&file, "zone,depth_m\nmain,1\n").unwrap();
        let (rows, said) = read(&file);
        assert!(
            rows.is_empty() && said.len() == 1 && said[0].contains("wanted"),
            "{said:?}"
        );
    }
}
