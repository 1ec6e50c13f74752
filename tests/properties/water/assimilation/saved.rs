//! Saved states: a run taken up again is the run that went on, and a state that does not stand is not taken up.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::NaiveDate;
use plungeline::archive::analysed::{
    AnalysedState, AnalysedStates, Basis, FORMAT, InputHash, StateError, code_version, hash_of,
};
use plungeline::column::assimilate::{WaterField, WaterObservation};
use plungeline::column::forcing::Forcing;
use plungeline::column::reservoir::Ensemble;
use proptest::prelude::*;
use sha2::{Digest, Sha256};

use super::invented::{STEPS_A_DAY, cold, draws, observed, options, setup};

fn lake_file() -> InputHash {
    hash_of(b"an invented lake file")
}

/// A reading of the surface in the last step of every tenth day.
fn readings(forcing: &Forcing) -> Vec<WaterObservation> {
    let last = |day: usize| forcing.step_start((day + 1) * STEPS_A_DAY - 1);
    let days = (0..forcing.weather.len() / STEPS_A_DAY).filter(|day| day % 10 == 9);
    days.map(|day| WaterObservation {
        time: last(day),
        ..observed(WaterField::Temp, 0.4, 6.0 + 0.1 * day as f64, 0.4)
    })
    .collect()
}

/// Runs from one day up to another, both counted from 0, the last left out.
fn run(ensemble: &mut Ensemble<8>, forcing: &Forcing, days: std::ops::Range<usize>) {
    let readings = readings(forcing);
    for step in days.start * STEPS_A_DAY..days.end * STEPS_A_DAY {
        ensemble.step(&[forcing], step).unwrap();
        let now: Vec<_> = readings
            .iter()
            .filter(|o| o.time == forcing.step_start(step))
            .copied()
            .collect();
        if !now.is_empty() {
            ensemble.assimilate(&now, &options()).unwrap();
        }
    }
}

fn day(forcing: &Forcing, count: usize) -> NaiveDate {
    forcing.step_start(count * STEPS_A_DAY).date_naive()
}

/// The hash of every day: of the day before, of the weather of its steps and of its readings, as a run has to have it.
fn inputs_by_day(
    base: InputHash,
    forcing: &Forcing,
    readings: &[WaterObservation],
) -> BTreeMap<NaiveDate, InputHash> {
    let mut days: BTreeMap<NaiveDate, Vec<String>> = BTreeMap::new();
    for (step, weather) in forcing.weather.iter().enumerate() {
        let day = forcing.step_start(step).date_naive();
        days.entry(day).or_default().push(format!("{weather:?}"));
    }
    for reading in readings {
        let day = days.get_mut(&reading.time.date_naive()).unwrap();
        day.push(format!("{reading:?}"));
        day.sort();
    }
    let mut before = base;
    let chain = days.into_iter().map(|(day, told)| {
        before = hash_of(format!("{before:?} {told:?}").as_bytes());
        (day, before)
    });
    chain.collect()
}

fn basis(forcing: &Forcing, day: NaiveDate) -> Basis {
    Basis {
        inputs: inputs_by_day(hash_of(b"seed 11"), forcing, &readings(forcing))[&day],
        lake_file: lake_file(),
        code: code_version(),
    }
}

/// A run with its states of every tenth day in a folder.
fn kept(folder: &Path, forcing: &Forcing) -> (AnalysedStates, Ensemble<8>) {
    let states = AnalysedStates::new(folder.join("states"));
    let mut ensemble = Ensemble::cold(&setup(), forcing, &draws(2)).unwrap();
    for tens in 0..5 {
        run(&mut ensemble, forcing, 10 * tens..10 * tens + 10);
        let last = day(forcing, 10 * tens + 9);
        let state = AnalysedState::of(&ensemble, last, basis(forcing, last));
        states.keep(&state).unwrap();
    }
    (states, ensemble)
}

fn newest(states: &AnalysedStates, forcing: &Forcing) -> (Option<AnalysedState<8>>, Vec<StateError>) {
    let inputs = inputs_by_day(hash_of(b"seed 11"), forcing, &readings(forcing));
    let found = states
        .newest_valid::<8>(day(forcing, 45), &lake_file(), &inputs)
        .unwrap();
    (
        found.state,
        found.passed_over.into_iter().map(|p| p.why).collect(),
    )
}

#[test]
fn a_run_taken_up_again_is_the_run_that_went_on_to_the_bit() {
    let forcing = super::invented::forcing(50);
    let folder = tempfile::tempdir().unwrap();
    let (states, whole) = kept(folder.path(), &forcing);
    let (state, passed_over) = newest(&states, &forcing);
    let state = state.unwrap();
    assert_eq!((state.day, passed_over.len()), (day(&forcing, 39), 0));
    let mut again = Ensemble::cold(&setup(), &forcing, &draws(2)).unwrap();
    state.take_up(&mut again).unwrap();
    run(&mut again, &forcing, 40..50);
    assert_eq!(again.factors(), whole.factors());
    for (one, other) in again.lakes.iter().zip(&whole.lakes) {
        assert_eq!((one.main(), one.memory(0)), (other.main(), other.memory(0)));
    }
}

#[test]
fn a_revised_or_late_value_makes_the_states_from_its_day_on_stale() {
    let forcing = super::invented::forcing(50);
    let folder = tempfile::tempdir().unwrap();
    let (states, _) = kept(folder.path(), &forcing);
    let mut revised = forcing.clone();
    revised.weather[25 * STEPS_A_DAY + 3].wind_speed_m_s += 0.1;
    let (state, passed_over) = newest(&states, &revised);
    assert_eq!(state.unwrap().day, day(&forcing, 19));
    assert_eq!(passed_over.len(), 2);
    assert!(
        passed_over
            .iter()
            .all(|why| matches!(why, StateError::Stale { .. })),
        "{passed_over:?}"
    );
    // An observation that was not there when the run was made, on the day of the second state.
    let mut late = readings(&forcing);
    late.push(WaterObservation {
        depth_m: 9.0,
        ..late[1]
    });
    let inputs = inputs_by_day(hash_of(b"seed 11"), &forcing, &late);
    let found = states
        .newest_valid::<8>(day(&forcing, 45), &lake_file(), &inputs)
        .unwrap();
    assert_eq!(found.state.unwrap().day, day(&forcing, 9));
    // Days that are not to be kept.
    let kept_on = day(&forcing, 29);
    assert_eq!(states.prune(|of| of != kept_on).unwrap(), 1);
    assert_eq!(newest(&states, &revised).0.unwrap().day, day(&forcing, 19));
    assert_eq!(states.prune(|of| of < day(&forcing, 29)).unwrap(), 2);
    assert_eq!(newest(&states, &forcing).0.unwrap().day, day(&forcing, 19));
}

#[test]
fn another_lake_file_or_program_takes_no_state_up() {
    let forcing = super::invented::forcing(50);
    let folder = tempfile::tempdir().unwrap();
    let (states, ensemble) = kept(folder.path(), &forcing);
    let inputs = inputs_by_day(hash_of(b"seed 11"), &forcing, &readings(&forcing));
    let other = states
        .newest_valid::<8>(day(&forcing, 60), &hash_of(b"another"), &inputs)
        .unwrap();
    assert!(other.state.is_none() && other.passed_over.len() == 5);
    assert!(other.passed_over[0].why.to_string().contains("lake file"));
    let last = day(&forcing, 49);
    let older = Basis {
        code: "0.0.1/0".to_owned(),
        ..basis(&forcing, last)
    };
    let state = AnalysedState::of(&ensemble, last, older);
    let alone = AnalysedStates::new(folder.path().join("alone"));
    alone.keep(&state).unwrap();
    let found = alone
        .newest_valid::<8>(day(&forcing, 60), &lake_file(), &inputs)
        .unwrap();
    assert!(found.state.is_none() && found.passed_over[0].why.to_string().contains("the program"));
}

#[test]
fn damaged_and_foreign_files_are_named_and_an_earlier_state_is_taken() {
    let forcing = super::invented::forcing(50);
    let folder = tempfile::tempdir().unwrap();
    let (states, _) = kept(folder.path(), &forcing);
    let mut files: Vec<_> = std::fs::read_dir(folder.path().join("states"))
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    files.sort();
    let mut bytes = std::fs::read(&files[3]).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&files[3], &bytes).unwrap();
    std::fs::write(&files[2], "time,zone\n").unwrap();
    std::fs::write(folder.path().join("states/notes.txt"), "of no account").unwrap();
    let (state, passed_over) = newest(&states, &forcing);
    assert_eq!(state.unwrap().day, day(&forcing, 19));
    assert!(
        matches!(passed_over[..], [StateError::Damaged, StateError::Foreign]),
        "{passed_over:?}"
    );
}

#[test]
fn folders_that_cannot_be_used_are_named_with_the_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    std::fs::write(&file, "").unwrap();
    let forcing = super::invented::forcing(1);
    let states = AnalysedStates::new(&file);
    let (ensemble, _) = cold::<8>(1, 1);
    let state = AnalysedState::of(&ensemble, day(&forcing, 0), basis(&forcing, day(&forcing, 0)));
    let refused = states.keep(&state).unwrap_err();
    assert!(
        matches!(refused, StateError::Write { .. }) && refused.to_string().contains("--store"),
        "{refused}"
    );
    let refused = states.prune(|_| true).unwrap_err();
    assert!(
        matches!(refused, StateError::Read { .. }) && refused.to_string().contains("move it"),
        "{refused}"
    );
}

fn small_state() -> AnalysedState<8> {
    let forcing = super::invented::forcing(1);
    let (ensemble, _) = cold::<8>(1, 1);
    AnalysedState::of(&ensemble, day(&forcing, 0), basis(&forcing, day(&forcing, 0)))
}

/// Bytes with a seal that stands for them.
fn sealed_again(mut bytes: Vec<u8>) -> Vec<u8> {
    bytes.truncate(bytes.len().saturating_sub(32));
    let seal = Sha256::digest(&bytes);
    bytes.extend_from_slice(&seal);
    bytes
}

#[test]
fn other_forms_lanes_and_lakes_are_refused() {
    let state = small_state();
    let bytes = state.to_bytes();
    assert_eq!(AnalysedState::<8>::from_bytes(&bytes).unwrap(), state);
    let mut newer = bytes.clone();
    newer[8] = u8::try_from(FORMAT).unwrap() + 1;
    let refused = AnalysedState::<8>::from_bytes(&newer).unwrap_err();
    assert!(
        matches!(
            refused,
            StateError::Form {
                found: 4,
                wanted: FORMAT
            }
        ),
        "{refused}"
    );
    let refused = AnalysedState::<4>::from_bytes(&bytes).unwrap_err();
    assert!(matches!(refused, StateError::Content { .. }), "{refused}");
    let (mut two_blocks, _) = cold::<8>(2, 1);
    let refused = state.take_up(&mut two_blocks).unwrap_err();
    assert!(matches!(refused, StateError::Content { .. }), "{refused}");
}

proptest! {
    #[test]
    fn no_bytes_make_the_reader_panic(
        bytes in proptest::collection::vec(any::<u8>(), 0..200),
        at in any::<prop::sample::Index>(),
        by in 1u8..=255,
        left in any::<prop::sample::Index>(),
    ) {
        prop_assert!(AnalysedState::<8>::from_bytes(&bytes).is_err());
        let whole = small_state().to_bytes();
        // One byte changed, or the end cut off: refused by the seal; with a seal made anew: read or refused.
        let mut changed = whole.clone();
        changed[at.index(whole.len())] ^= by;
        prop_assert!(AnalysedState::<8>::from_bytes(&changed).is_err());
        drop(AnalysedState::<8>::from_bytes(&sealed_again(changed)));
        let cut = whole[..left.index(whole.len())].to_vec();
        prop_assert!(AnalysedState::<8>::from_bytes(&cut).is_err());
        if cut.len() > 44 {
            prop_assert!(AnalysedState::<8>::from_bytes(&sealed_again(cut)).is_err());
        }
    }
}
