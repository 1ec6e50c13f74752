//! New observations into the store, and flags beside them.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use super::atomic::{Staged, make_folder, sweep, sync_folder};
use super::folder::{Store, set_aside, year_of};
use super::rules::{Counts, in_order, merge_rows, place};
use super::table::{decode, encode};
use crate::lake::Cadence;
use crate::series::parallel::in_parallel;
use crate::series::{Batch, Observation, SeriesKey, StoreError};

/// Threads of a merge. More than there are cores: each waits for the disk to sync its files.
const WRITERS: usize = 8;

/// What a merge did, in rows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MergeReport {
    /// Rows that were not there.
    pub added: usize,
    /// Rows that took the place of another: revised, approved, or found where none was.
    pub replaced: usize,
    /// Rows that said what was there already.
    pub unchanged: usize,
    /// Rows that gave way to what was there.
    pub kept: usize,
    /// Damaged files found on the way, where they were set aside.
    pub set_aside: Vec<PathBuf>,
}

impl MergeReport {
    /// Whether the store holds anything else than before.
    pub fn changed(&self) -> bool {
        self.added + self.replaced > 0
    }

    fn add(&mut self, counts: Counts) {
        self.added += counts.added;
        self.replaced += counts.replaced;
        self.unchanged += counts.unchanged;
        self.kept += counts.kept;
    }
}

/// One file to change.
struct Job<'a> {
    key: &'a SeriesKey,
    year: i32,
    path: PathBuf,
    rows: Vec<&'a Observation>,
}

/// What became of it.
#[derive(Default)]
struct Outcome {
    counts: Counts,
    staged: Option<Staged>,
    set_aside: Option<PathBuf>,
}

impl Store {
    /// Merges one batch; see [`Store::merge_all`].
    ///
    /// # Errors
    /// As [`Store::merge_all`].
    pub fn merge(&mut self, batch: &Batch) -> Result<MergeReport, StoreError> {
        self.merge_all(std::slice::from_ref(batch))
    }

    /// Merges batches of observations: one lock, each file read and written at most once, files
    /// without a change not written at all. Merging the same batches again changes nothing.
    ///
    /// A row is known by its time (to the microsecond) and depth. Approved replaces provisional and
    /// never the other way round; the later retrieval replaces the earlier; a missing value erases
    /// one only with higher approval; the same value fetched again leaves the stored row as it is,
    /// its time of retrieval included (so batches should be merged in the order of their retrieval:
    /// a value that changed and changed back, merged late, is not seen to have changed back).
    ///
    /// # Errors
    /// [`StoreError::Locked`], [`StoreError::Write`], [`StoreError::Read`], [`StoreError::BadId`],
    /// [`StoreError::WrongCadence`] for a forecast key. Every file holds its old or its new content.
    pub fn merge_all(&mut self, batches: &[Batch]) -> Result<MergeReport, StoreError> {
        let jobs = self.jobs(batches.iter().map(|batch| (&batch.key, batch.rows.as_slice())))?;
        self.change(&jobs, merge_rows)
    }

    /// Writes the flags of `flagged` beside the stored values, where time, depth and value are the
    /// same: a value revised in the meantime is left to the next run. The report counts flags that
    /// changed as `replaced`.
    ///
    /// # Errors
    /// As [`Store::merge_all`].
    pub fn set_flags(&mut self, key: &SeriesKey, flagged: &[Observation]) -> Result<MergeReport, StoreError> {
        self.set_all_flags([(key, flagged)])
    }

    /// [`Store::set_flags`] for many series under one lock.
    ///
    /// # Errors
    /// As [`Store::merge_all`].
    pub fn set_all_flags<'a>(
        &mut self,
        flagged: impl IntoIterator<Item = (&'a SeriesKey, &'a [Observation])>,
    ) -> Result<MergeReport, StoreError> {
        let jobs = self.jobs(flagged)?;
        self.change(&jobs, put_flags)
    }

    /// Sorts rows into the files they belong to.
    fn jobs<'a>(
        &self,
        parts: impl IntoIterator<Item = (&'a SeriesKey, &'a [Observation])>,
    ) -> Result<Vec<Job<'a>>, StoreError> {
        let mut by_file: BTreeMap<(&SeriesKey, i32), Vec<&Observation>> = BTreeMap::new();
        for (key, rows) in parts {
            if key.cadence == Cadence::Forecast {
                return Err(StoreError::WrongCadence {
                    key: key.clone(),
                    wanted: "daily or continuous",
                });
            }
            for year_rows in rows.chunk_by(|a, b| year_of(a.time) == year_of(b.time)) {
                by_file
                    .entry((key, year_of(year_rows[0].time)))
                    .or_default()
                    .extend(year_rows);
            }
        }
        let job = |((key, year), rows): ((&'a SeriesKey, i32), Vec<&'a Observation>)| {
            Ok(Job {
                key,
                year,
                path: self.year_path(key, year)?,
                rows: in_order(rows),
            })
        };
        by_file.into_iter().map(job).collect()
    }

    /// Reads each job's file, changes its rows, and writes what changed.
    fn change(
        &mut self,
        jobs: &[Job<'_>],
        edit: impl Fn(Vec<Observation>, &[&Observation]) -> (Vec<Observation>, Counts) + Sync,
    ) -> Result<MergeReport, StoreError> {
        let mut report = MergeReport::default();
        if jobs.is_empty() {
            return Ok(report);
        }
        let _lock = self.lock()?;
        let folders: BTreeSet<&Path> = jobs.iter().filter_map(|job| job.path.parent()).collect();
        for folder in &folders {
            make_folder(folder)?;
            sweep(folder);
        }
        let outcomes = in_parallel(WRITERS, jobs, |job| change_file(job, &edit));

        let mut staged = Vec::new();
        let mut damaged = Vec::new();
        let mut fault = None;
        for (job, outcome) in jobs.iter().zip(outcomes) {
            match outcome {
                Ok(outcome) => {
                    report.add(outcome.counts);
                    staged.extend(outcome.staged);
                    if let Some(aside) = outcome.set_aside {
                        report.set_aside.push(aside);
                        damaged.push((job.key, job.year));
                    }
                }
                Err(error) => fault = fault.or(Some(error)),
            }
        }
        if let Some(error) = fault {
            staged.iter().for_each(Staged::discard);
            return Err(error);
        }
        if !damaged.is_empty() {
            self.note_damage(&damaged)?;
        }
        if !staged.is_empty() {
            staged.into_iter().try_for_each(Staged::finish)?;
            folders.iter().try_for_each(|folder| sync_folder(folder))?;
        }
        Ok(report)
    }
}

/// Reads one file, changes its rows, and stages the result if it differs.
fn change_file(
    job: &Job<'_>,
    edit: impl Fn(Vec<Observation>, &[&Observation]) -> (Vec<Observation>, Counts),
) -> Result<Outcome, StoreError> {
    let mut outcome = Outcome::default();
    let stored = match fs::read(&job.path) {
        Err(source) if source.kind() == std::io::ErrorKind::NotFound => Vec::new(),
        Err(source) => {
            return Err(StoreError::Read {
                path: job.path.clone(),
                source,
            });
        }
        Ok(bytes) => match decode(&bytes) {
            Ok(rows) => rows,
            Err(_) => {
                outcome.set_aside = Some(set_aside(&job.path)?);
                Vec::new()
            }
        },
    };
    let (rows, counts) = edit(stored, &job.rows);
    outcome.counts = counts;
    if counts.added + counts.replaced > 0 {
        let encoded = encode(&rows);
        let bytes = encoded.map_err(|source| StoreError::Encode {
            path: job.path.clone(),
            rows: rows.len(),
            source,
        })?;
        outcome.staged = Some(Staged::write(&job.path, &bytes)?);
    }
    Ok(outcome)
}

/// Puts the flags of `flagged` on the `stored` rows of the same place and value.
fn put_flags(mut stored: Vec<Observation>, flagged: &[&Observation]) -> (Vec<Observation>, Counts) {
    let mut counts = Counts::default();
    let mut flagged = flagged.iter().peekable();
    for row in &mut stored {
        while flagged.next_if(|f| place(f) < place(row)).is_some() {}
        let Some(twin) = flagged.next_if(|f| place(f) == place(row)) else {
            continue;
        };
        if twin.value.map(f64::to_bits) != row.value.map(f64::to_bits) {
            counts.kept += 1;
        } else if twin.flag == row.flag {
            counts.unchanged += 1;
        } else {
            row.flag = twin.flag;
            counts.replaced += 1;
        }
    }
    (stored, counts)
}
