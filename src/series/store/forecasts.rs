//! Forecasts as they were issued: a file an issue, kept until pruned.
//!
//! Columns: `member`, `time` (UTC microseconds), `value`, member by member; notes: `plungeline.issue`
//! (JSON) with the time of issue and the provenance.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, Duration, NaiveDateTime, Utc};
use serde::{Deserialize, Serialize};

use super::atomic::{Staged, make_folder, sweep, sync_folder};
use super::columns::{Name, Table, code_column, file_bytes, number_column, time_column};
use super::folder::{Store, listing, set_aside, year_of};
use super::merge::MergeReport;
use crate::lake::{Cadence, SeriesId};
use crate::series::error::Damage;
use crate::series::parallel::{cores, in_parallel};
use crate::series::{ForecastBatch, Member, Provenance, SeriesKey, StoreError};

const ISSUE: Name = "plungeline.issue";
const NAME_FORMAT: &str = "%Y%m%dT%H%M%S%.fZ";
const WRITERS: usize = 8;
/// Days back of the earlier forecasts that a bias is learned from.
const EARLIER_DAYS: i64 = 30;

#[derive(Debug, Serialize, Deserialize)]
struct IssueNote {
    issued_at: DateTime<Utc>,
    #[serde(flatten)]
    provenance: Provenance,
}

impl Store {
    /// Merges one issued forecast; see [`Store::merge_forecasts`].
    ///
    /// # Errors
    /// As [`Store::merge_forecasts`].
    pub fn merge_forecast(&mut self, batch: &ForecastBatch) -> Result<MergeReport, StoreError> {
        self.merge_forecasts(std::slice::from_ref(batch))
    }

    /// Puts issued forecasts into the store. A value is known by series, time of issue, member and
    /// time; one that is there already is never erased by a missing one, and replaced by another
    /// value. Merging the same again changes nothing.
    ///
    /// # Errors
    /// As [`Store::merge_all`].
    pub fn merge_forecasts(&mut self, batches: &[ForecastBatch]) -> Result<MergeReport, StoreError> {
        let mut report = MergeReport::default();
        if batches.is_empty() {
            return Ok(report);
        }
        let mut by_file: std::collections::BTreeMap<PathBuf, Vec<&ForecastBatch>> = Default::default();
        for batch in batches {
            if batch.key.cadence != Cadence::Forecast {
                return Err(StoreError::WrongCadence {
                    key: batch.key.clone(),
                    wanted: "forecast",
                });
            }
            by_file
                .entry(self.issue_path(&batch.key.id, batch.issued_at)?)
                .or_default()
                .push(batch);
        }
        let _lock = self.lock()?;
        let folders: std::collections::BTreeSet<&Path> = by_file.keys().filter_map(|p| p.parent()).collect();
        for folder in &folders {
            make_folder(folder)?;
            sweep(folder);
        }
        let jobs: Vec<(&PathBuf, &Vec<&ForecastBatch>)> = by_file.iter().collect();
        let outcomes = in_parallel(WRITERS, &jobs, |(path, batches)| merge_issue(path, batches));
        let mut staged = Vec::new();
        let mut fault = None;
        for outcome in outcomes {
            match outcome {
                Ok((file, part)) => {
                    staged.extend(file);
                    report.added += part.added;
                    report.replaced += part.replaced;
                    report.unchanged += part.unchanged;
                    report.kept += part.kept;
                    report.set_aside.extend(part.set_aside);
                }
                Err(error) => fault = fault.or(Some(error)),
            }
        }
        if let Some(error) = fault {
            staged.iter().for_each(Staged::discard);
            return Err(error);
        }
        if !staged.is_empty() {
            staged.into_iter().try_for_each(Staged::finish)?;
            folders.iter().try_for_each(|folder| sync_folder(folder))?;
        }
        Ok(report)
    }

    /// Times at which forecasts of a series were issued, oldest first.
    ///
    /// # Errors
    /// [`StoreError::Read`] when a folder cannot be listed.
    pub fn issues(&self, id: &SeriesId) -> Result<Vec<DateTime<Utc>>, StoreError> {
        let mut issues = Vec::new();
        for folder in listing(&self.series_folder(id)?)? {
            let name = folder.file_name().and_then(|n| n.to_str()).unwrap_or_default();
            if name
                .strip_prefix("forecast-")
                .is_some_and(|year| year.parse::<i32>().is_ok())
            {
                issues.extend(listing(&folder)?.iter().filter_map(|path| issue_of(path)));
            }
        }
        issues.sort_unstable();
        Ok(issues)
    }

    /// A forecast by its time of issue; `None` when the store does not hold it.
    ///
    /// # Errors
    /// [`StoreError::Damaged`], [`StoreError::Read`].
    pub fn read_forecast(
        &self,
        id: &SeriesId,
        issued_at: DateTime<Utc>,
    ) -> Result<Option<ForecastBatch>, StoreError> {
        let path = self.issue_path(id, issued_at)?;
        match fs::read(&path) {
            Err(source) if source.kind() == std::io::ErrorKind::NotFound => Ok(None),
            Err(source) => Err(StoreError::Read { path, source }),
            Ok(bytes) => match decode_issue(id, &bytes) {
                Ok(batch) => Ok(Some(batch)),
                Err(fault) => Err(StoreError::Damaged { path, fault }),
            },
        }
    }

    /// Forecasts of the 30 days before `newest`, the last of each UTC day, cut to 24 h from their issue;
    /// oldest first. A damaged one is passed over: it is one day less to learn from, and no answer hangs on
    /// it.
    ///
    /// # Errors
    /// [`StoreError::Read`] when a folder cannot be listed.
    pub(super) fn earlier_runs(
        &self,
        key: &SeriesKey,
        newest: DateTime<Utc>,
    ) -> Result<Vec<ForecastBatch>, StoreError> {
        let from = newest - Duration::days(EARLIER_DAYS);
        let mut of_day = std::collections::BTreeMap::new();
        for issued in self.issues(&key.id)? {
            if (from..newest).contains(&issued) {
                of_day.insert(issued.date_naive(), issued);
            }
        }
        let issues: Vec<DateTime<Utc>> = of_day.into_values().collect();
        let runs = in_parallel(cores(), &issues, |issued| {
            match self.read_forecast(&key.id, *issued) {
                Ok(run) => run.map(first_day_of),
                Err(error) => {
                    tracing::warn!(%error, "an earlier forecast cannot be read; the bias is learned without it");
                    None
                }
            }
        });
        Ok(runs.into_iter().flatten().collect())
    }

    /// Removes forecasts issued before `keep_from`, the newest of each series excepted; how many.
    ///
    /// # Errors
    /// [`StoreError::Locked`], [`StoreError::Read`], [`StoreError::Write`].
    pub fn prune_forecasts(&mut self, id: &SeriesId, keep_from: DateTime<Utc>) -> Result<usize, StoreError> {
        let _lock = self.lock()?;
        let mut issues = self.issues(id)?;
        issues.pop();
        issues.retain(|&issued| issued < keep_from);
        for &issued in &issues {
            let path = self.issue_path(id, issued)?;
            fs::remove_file(&path).map_err(|source| StoreError::Write { path, source })?;
        }
        Ok(issues.len())
    }

    /// File of a forecast.
    pub(super) fn issue_path(&self, id: &SeriesId, issued_at: DateTime<Utc>) -> Result<PathBuf, StoreError> {
        let to_micros = DateTime::from_timestamp_micros(issued_at.timestamp_micros()).unwrap_or(issued_at);
        let name = format!("{}.parquet", to_micros.format(NAME_FORMAT));
        Ok(self.forecast_folder(id, year_of(issued_at))?.join(name))
    }
}

/// A run cut to the 24 h after its issue.
fn first_day_of(mut run: ForecastBatch) -> ForecastBatch {
    let from = run.time.partition_point(|t| *t <= run.issued_at);
    let to = run
        .time
        .partition_point(|t| *t <= run.issued_at + Duration::days(1));
    let cut = |values: &Vec<Option<f64>>| values.get(from..to).unwrap_or_default().to_vec();
    run.value = run.value.iter().map(cut).collect();
    run.time = run.time[from..to].to_vec();
    run
}

/// Time of issue by the name of a file; `None` for another file.
fn issue_of(path: &Path) -> Option<DateTime<Utc>> {
    let stem = path.file_name()?.to_str()?.strip_suffix(".parquet")?;
    NaiveDateTime::parse_from_str(stem, NAME_FORMAT)
        .ok()
        .map(|t| t.and_utc())
}

/// Merges what one file holds with `batches`; a staged file if anything changed.
fn merge_issue(path: &Path, batches: &[&ForecastBatch]) -> Result<(Option<Staged>, MergeReport), StoreError> {
    let mut report = MergeReport::default();
    let mut merged: Option<ForecastBatch> = match fs::read(path) {
        Err(source) if source.kind() == std::io::ErrorKind::NotFound => None,
        Err(source) => {
            return Err(StoreError::Read {
                path: path.to_owned(),
                source,
            });
        }
        Ok(bytes) => match decode_issue(&batches[0].key.id, &bytes) {
            Ok(stored) => Some(stored),
            Err(_) => {
                report.set_aside.push(set_aside(path)?);
                None
            }
        },
    };
    for batch in batches {
        merged = Some(join(merged, batch, &mut report));
    }
    let Some(merged) = merged.filter(|_| report.changed()) else {
        return Ok((None, report));
    };
    let rows = merged.members.len() * merged.time.len();
    let bytes = encode_issue(&merged).map_err(|source| StoreError::Encode {
        path: path.to_owned(),
        rows,
        source,
    })?;
    Ok((Some(Staged::write(path, &bytes)?), report))
}

/// `stored` with the values of `new`.
fn join(stored: Option<ForecastBatch>, new: &ForecastBatch, report: &mut MergeReport) -> ForecastBatch {
    let micros = |t: &DateTime<Utc>| DateTime::from_timestamp_micros(t.timestamp_micros()).unwrap_or(*t);
    let new_time: Vec<DateTime<Utc>> = new.time.iter().map(micros).collect();
    let stored = stored.unwrap_or_else(|| ForecastBatch {
        key: new.key.clone(),
        issued_at: micros(&new.issued_at),
        provenance: Arc::clone(&new.provenance),
        time: Vec::new(),
        members: Vec::new(),
        value: Vec::new(),
    });
    let mut time = [stored.time.as_slice(), &new_time].concat();
    time.sort_unstable();
    time.dedup();
    let mut members = [stored.members.as_slice(), &new.members].concat();
    members.sort_unstable();
    members.dedup();
    let cell = |batch: &ForecastBatch, times: &[DateTime<Utc>], member, time| {
        let member = batch.members.iter().position(|m| m == member)?;
        let step = times.binary_search(time).ok()?;
        batch.value.get(member).and_then(|row| row.get(step)).copied()
    };
    let mut judge = |old: Option<Option<f64>>, new: Option<Option<f64>>| {
        let Some(new) = new else { return old.flatten() };
        match old {
            None => report.added += 1,
            Some(old) if old.map(f64::to_bits) == new.map(f64::to_bits) => report.unchanged += 1,
            Some(old) if new.is_none() => {
                report.kept += 1;
                return old;
            }
            Some(_) => report.replaced += 1,
        }
        new
    };
    let value = members
        .iter()
        .map(|m| {
            let step = |t| judge(cell(&stored, &stored.time, m, t), cell(new, &new_time, m, t));
            time.iter().map(step).collect()
        })
        .collect();
    ForecastBatch {
        time,
        members,
        value,
        ..stored
    }
}

fn encode_issue(batch: &ForecastBatch) -> polars::error::PolarsResult<Vec<u8>> {
    let (members, steps) = (batch.members.len(), batch.time.len());
    let member = batch
        .members
        .iter()
        .flat_map(|m| std::iter::repeat_n(i32::from(m.0), steps));
    let times = (0..members).flat_map(|_| batch.time.iter().copied());
    let values = batch.value.iter().flatten().copied();
    let columns = vec![
        code_column("member", member),
        time_column("time", times),
        number_column("value", values),
    ];
    let note = IssueNote {
        issued_at: batch.issued_at,
        provenance: (*batch.provenance).clone(),
    };
    let note = serde_json::to_string(&note).expect("texts and times have a JSON form");
    file_bytes(members * steps, columns, vec![(ISSUE, note)])
}

/// The forecast in the bytes of a file.
pub(super) fn decode_issue(id: &SeriesId, bytes: &[u8]) -> Result<ForecastBatch, Damage> {
    let table = Table::read(bytes, None)?;
    let member = table.codes("member")?;
    let times = table.times("time")?;
    let values = table.numbers("value")?;
    let note: IssueNote = serde_json::from_str(table.note(ISSUE)?).map_err(Damage::Notes)?;
    let steps = member.iter().take_while(|&&m| Some(&m) == member.first()).count();
    let mut batch = ForecastBatch {
        key: SeriesKey {
            id: id.clone(),
            cadence: Cadence::Forecast,
        },
        issued_at: note.issued_at,
        provenance: Arc::new(note.provenance),
        time: times[..steps].to_vec(),
        members: Vec::new(),
        value: Vec::new(),
    };
    if !batch.time.is_sorted_by(|a, b| a < b) {
        return Err(Damage::Row { row: 0, what: "time" });
    }
    for (n, block) in member.chunks(steps.max(1)).enumerate() {
        let row = n * steps;
        let code = u16::try_from(block[0]).map_err(|_| Damage::Row { row, what: "member" })?;
        let whole = block.len() == steps && block.iter().all(|&m| m == block[0]);
        let ordered = batch.members.last().is_none_or(|last| last.0 < code);
        if !whole || !ordered || times[row..row + steps] != batch.time[..] {
            return Err(Damage::Row { row, what: "member" });
        }
        batch.members.push(Member(code));
        batch.value.push(values[row..row + steps].to_vec());
    }
    Ok(batch)
}
