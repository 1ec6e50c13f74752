//! The columns' water of the newest morning, kept until anything that it rests on has changed: a second brief within the hour
//! runs nothing.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::begin::beginning;
use super::inputs::{add_forecast, inputs_by_day};
use super::morning::MorningSource;
use crate::archive::analysed::{StateError, code_version};
use crate::archive::write_whole;
use crate::column::{ColumnsBasis, DayAhead, RiverWay, SurfaceDay, ZoneWater};
use crate::lake::Lake;
use crate::series::{Gap, SeriesSet};

/// File in the folder of states.
const FILE: &str = "morning.json";

/// What the columns say of a morning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct ColumnWater {
    /// Main body and arms.
    pub zones: Vec<ZoneWater>,
    /// Where the rivers go.
    pub river_ways: Vec<RiverWay>,
    /// Surface of the main body ahead.
    pub surface_outlook: Vec<SurfaceDay>,
    /// The same days member by member.
    pub days_ahead: Vec<DayAhead>,
    /// What it rests on.
    pub basis: ColumnsBasis,
    /// What of the forcing is not known.
    pub gaps: Vec<Gap>,
}

#[derive(Serialize, Deserialize)]
struct File {
    key: String,
    water: ColumnWater,
}

/// Where the water of a morning is kept, and under which key.
#[derive(Debug)]
pub(super) struct Kept {
    path: PathBuf,
    key: String,
}

impl Kept {
    /// The place of the water that `set` gives at its clock; `None` where there is no winter to begin a run with.
    pub fn of(folder: &Path, lake: &Lake, source: &MorningSource<'_>, set: &SeriesSet) -> Option<Kept> {
        let start = beginning(lake, set, set.as_of)?;
        let mut hash = Sha256::new();
        hash.update(code_version().as_bytes());
        hash.update(source.lake_file);
        // The run ends with the last whole hour.
        hash.update(set.as_of.timestamp().div_euclid(3600).to_le_bytes());
        if let Some(newest) = inputs_by_day(set, source.own, start).values().next_back() {
            hash.update(newest);
        }
        // Of the years before the run, which means by the day of the year are taken from, their number.
        for (key, rows) in &set.observations {
            hash.update(key.id.as_str().as_bytes());
            hash.update((rows.len() as u64).to_le_bytes());
        }
        for (id, batch) in &set.forecasts {
            hash.update(id.as_str().as_bytes());
            add_forecast(&mut hash, batch);
        }
        for (id, runs) in &set.earlier_runs {
            hash.update(id.as_str().as_bytes());
            let issued = runs.iter().map(|run| run.issued_at.timestamp());
            issued.for_each(|at: i64| hash.update(at.to_le_bytes()));
        }
        let key = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
        Some(Kept {
            path: folder.join(FILE),
            key,
        })
    }

    /// The kept water; `None` where there is none, or it rests on something else. A file that cannot be read is as good as
    /// none: it is written anew.
    pub fn read(&self) -> Option<ColumnWater> {
        let text = std::fs::read(&self.path).ok()?;
        let file: File = serde_json::from_slice(&text).ok()?;
        (file.key == self.key).then_some(file.water)
    }

    /// Keeps the water, and gives it back as it will be read, so that a second brief has the same to the bit.
    ///
    /// # Errors
    /// [`StateError::Write`], and then the water is given back as it was.
    pub fn write(self, water: ColumnWater) -> (ColumnWater, Option<StateError>) {
        let file = File { key: self.key, water };
        let failed = |source| StateError::Write {
            path: self.path.clone(),
            source,
        };
        let (Ok(text), Some(folder)) = (serde_json::to_vec(&file), self.path.parent()) else {
            return (file.water, None);
        };
        let error = write_whole(folder, &self.path, &text).err().map(failed);
        let again: Result<File, _> = serde_json::from_slice(&text);
        (again.map_or(file.water, |again| again.water), error)
    }
}
