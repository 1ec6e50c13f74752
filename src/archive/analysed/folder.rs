//! The folder of saved states: `<day>-<hash>.state`, one file a day and basis.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use sha2::{Digest, Sha256};

use super::error::StateError;
use super::inputs::InputHash;
use super::state::{AnalysedState, Basis, code_version};
use crate::archive::issued::write_whole;

const ENDING: &str = ".state";

/// The saved states of one lake.
#[derive(Debug, Clone)]
pub struct AnalysedStates {
    folder: PathBuf,
}

/// A state that was not taken up.
#[derive(Debug)]
pub struct PassedOver {
    /// Its file.
    pub path: PathBuf,
    /// Why.
    pub why: StateError,
}

/// What was found to begin a run with.
#[derive(Debug)]
pub struct Found<const L: usize> {
    /// The newest valid state; `None` where there is none, and the run begins cold.
    pub state: Option<AnalysedState<L>>,
    /// Newer ones that are damaged, foreign or stale.
    pub passed_over: Vec<PassedOver>,
}

impl AnalysedStates {
    /// The states in `folder`, which need not exist yet.
    pub fn new(folder: impl Into<PathBuf>) -> Self {
        AnalysedStates {
            folder: folder.into(),
        }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Keeps a state, whole or not at all, in the place of any other of its day.
    ///
    /// # Errors
    /// [`StateError::Write`], [`StateError::Read`].
    pub fn keep<const L: usize>(&self, state: &AnalysedState<L>) -> Result<PathBuf, StateError> {
        let path = self.folder.join(file_name(state.day, &state.basis));
        if let Err(source) = write_whole(&self.folder, &path, &state.to_bytes()) {
            return Err(StateError::Write { path, source });
        }
        self.remove(|day, other| day == state.day && other != path)?;
        Ok(path)
    }

    /// The newest state of a day before `before` that rests on this lake file, this program, and the inputs of its day
    /// as they are now.
    ///
    /// # Errors
    /// [`StateError::Read`]; a file that is no valid state is none, and passed over.
    pub fn newest_valid<const L: usize>(
        &self,
        before: NaiveDate,
        lake_file: &InputHash,
        inputs: &BTreeMap<NaiveDate, InputHash>,
    ) -> Result<Found<L>, StateError> {
        let mut passed_over = Vec::new();
        for (day, path) in self.files()?.into_iter().rev().filter(|(day, _)| *day < before) {
            let bytes = std::fs::read(&path).map_err(|source| StateError::Read {
                path: path.clone(),
                source,
            })?;
            let state = AnalysedState::<L>::from_bytes(&bytes).and_then(|state| {
                let changed = stale(&state, day, lake_file, inputs);
                changed.map_or(Ok(state), |what| Err(StateError::Stale { day, what }))
            });
            match state {
                Ok(state) => {
                    return Ok(Found {
                        state: Some(state),
                        passed_over,
                    });
                }
                Err(why) => passed_over.push(PassedOver { path, why }),
            }
        }
        Ok(Found {
            state: None,
            passed_over,
        })
    }

    /// Removes the states of the days that `keep` refuses. How many there were.
    ///
    /// # Errors
    /// [`StateError::Read`], [`StateError::Write`].
    pub fn prune(&self, keep: impl Fn(NaiveDate) -> bool) -> Result<usize, StateError> {
        self.remove(|day, _| !keep(day))
    }

    fn remove(&self, gone: impl Fn(NaiveDate, &Path) -> bool) -> Result<usize, StateError> {
        let files = self.files()?.into_iter();
        let gone: Vec<PathBuf> = files
            .filter(|(day, path)| gone(*day, path))
            .map(|(_, path)| path)
            .collect();
        for path in &gone {
            std::fs::remove_file(path).map_err(|source| StateError::Write {
                path: path.clone(),
                source,
            })?;
        }
        Ok(gone.len())
    }

    /// Files of states by their day, oldest first; within a day by name.
    fn files(&self) -> Result<Vec<(NaiveDate, PathBuf)>, StateError> {
        let fault = |source| StateError::Read {
            path: self.folder.clone(),
            source,
        };
        let entries = match std::fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(source) => return Err(fault(source)),
        };
        let mut files = Vec::new();
        for entry in entries {
            let path = entry.map_err(fault)?.path();
            if let Some(day) = day_of(&path) {
                files.push((day, path));
            }
        }
        files.sort();
        Ok(files)
    }
}

/// What of a state has changed since; `None` where it still stands.
fn stale<const L: usize>(
    state: &AnalysedState<L>,
    day: NaiveDate,
    lake_file: &InputHash,
    inputs: &BTreeMap<NaiveDate, InputHash>,
) -> Option<&'static str> {
    if state.basis.code != code_version() {
        Some("the program")
    } else if state.basis.lake_file != *lake_file {
        Some("the lake file")
    } else if state.day != day {
        Some("the name of its file")
    } else if inputs.get(&day) != Some(&state.basis.inputs) {
        Some("weather, flow, level or an observation up to that day")
    } else {
        None
    }
}

fn file_name(day: NaiveDate, basis: &Basis) -> String {
    let mut hash = Sha256::new();
    hash.update(basis.inputs);
    hash.update(basis.lake_file);
    hash.update(basis.code.as_bytes());
    let short: String = hash
        .finalize()
        .iter()
        .take(6)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    format!("{day}-{short}{ENDING}")
}

/// The day in the name of a file; `None` for other files.
fn day_of(path: &Path) -> Option<NaiveDate> {
    let name = path.file_name()?.to_str()?.strip_suffix(ENDING)?;
    name.get(..10)?.parse().ok()
}
