//! Out of the store: single series, and everything known at the clock of a brief.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, Duration, Utc};

use super::folder::{Store, cadence_word, set_aside, year_of};
use super::forecasts::decode_issue;
use super::snapshot;
use super::table::decode;
use crate::clock::LakeClock;
use crate::lake::{Cadence, Lake, SeriesId};
use crate::quantity::Quantity;
use crate::series::error::Damage;
use crate::series::parallel::{cores, in_parallel};
use crate::series::{
    Consequence, ForecastBatch, Gap, GapReason, Observation, SeriesKey, SeriesSet, StoreError,
};

/// Which part of a store to load; the default is all of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Selection {
    /// Series; all when `None`.
    pub series: Option<BTreeSet<SeriesId>>,
    /// Earliest daily value.
    pub daily_from: Option<DateTime<Utc>>,
    /// Earliest value within the day.
    pub continuous_from: Option<DateTime<Utc>>,
    /// Whether to load forecasts.
    pub forecasts: bool,
}

impl Default for Selection {
    fn default() -> Self {
        Selection {
            series: None,
            daily_from: None,
            continuous_from: None,
            forecasts: true,
        }
    }
}

/// What one series and cadence gave.
#[derive(Default)]
struct Loaded {
    rows: Vec<Observation>,
    forecast: Option<ForecastBatch>,
    earlier_runs: Vec<ForecastBatch>,
    damaged: Vec<(PathBuf, i32, String)>,
    /// Where a snapshot of the rows is worth writing, and the files they came from.
    snapshot: Option<(PathBuf, Vec<u8>)>,
}

impl Store {
    /// Observations of a series with `from <= time < to`, time increasing.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] for a damaged file in the range (which stays where it is),
    /// [`StoreError::Read`], [`StoreError::BadId`].
    pub fn read(
        &self,
        key: &SeriesKey,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
    ) -> Result<Vec<Observation>, StoreError> {
        let mut rows = Vec::new();
        for (_, path) in self.year_files(key)?.range(year_of(from)..=year_of(to)) {
            let bytes = fs::read(path).map_err(|source| StoreError::Read {
                path: path.clone(),
                source,
            })?;
            let year = decode(&bytes).map_err(|fault| StoreError::Damaged {
                path: path.clone(),
                fault,
            })?;
            rows.extend(year.into_iter().filter(|row| from <= row.time && row.time < to));
        }
        Ok(rows)
    }

    /// All series of `lake` as known at `as_of`; see [`Store::load_selected`].
    pub fn load(&self, lake: &Lake, as_of: DateTime<Utc>) -> SeriesSet {
        self.load_selected(lake, as_of, &Selection::default())
    }

    /// The selected series of `lake` as known at `as_of`: instants not later than it, daily values
    /// of standard-time days that had ended, and of each series the newest forecast issued by then.
    ///
    /// A damaged file is moved aside where the disk allows it, and named in the gaps; everything
    /// else is loaded. Flags are those of the store: run [`crate::quality`] on the set to renew them.
    pub fn load_selected(&self, lake: &Lake, as_of: DateTime<Utc>, selection: &Selection) -> SeriesSet {
        let clock = LakeClock::new(lake.time_zone);
        let wanted = lake
            .series
            .iter()
            .filter(|s| selection.series.as_ref().is_none_or(|w| w.contains(&s.id)));
        let mut keys: Vec<SeriesKey> = wanted
            .flat_map(|s| {
                s.cadences.iter().map(|&cadence| SeriesKey {
                    id: s.id.clone(),
                    cadence,
                })
            })
            .filter(|key| key.cadence != Cadence::Forecast || selection.forecasts)
            .collect();
        // The long ones first, so that no thread is left with one at the end.
        keys.sort_by_key(|key| key.cadence != Cadence::Continuous);
        let of_air = |key: &SeriesKey| {
            let source = lake.series.iter().find(|s| s.id == key.id);
            source.is_some_and(|s| s.quantity == Quantity::AirTemp)
        };
        let loaded = in_parallel(cores(), &keys, |key| {
            let mut loaded = self.load_key(key, as_of, selection)?;
            if let Some(newest) = loaded.forecast.as_ref().filter(|_| of_air(key)) {
                loaded.earlier_runs = self.earlier_runs(key, newest.issued_at)?;
            }
            Ok(loaded)
        });
        self.keep_snapshots(&loaded);

        let mut set = SeriesSet {
            as_of,
            ..SeriesSet::default()
        };
        for (key, result) in keys.into_iter().zip(loaded) {
            match result {
                Ok(mut loaded) => {
                    for (path, year, fault) in loaded.damaged {
                        set.gaps.push(self.report_damage(&key, year, &path, &fault));
                    }
                    keep_known(&mut loaded.rows, key.cadence, &clock, as_of, selection);
                    if let Some(forecast) = loaded.forecast {
                        if !loaded.earlier_runs.is_empty() {
                            set.earlier_runs.insert(key.id.clone(), loaded.earlier_runs);
                        }
                        set.forecasts.insert(key.id, forecast);
                    } else if !loaded.rows.is_empty() {
                        set.observations.insert(key, loaded.rows);
                    }
                }
                Err(error) => set.gaps.push(damage_gap(&key, None, error.to_string())),
            }
        }
        match self.alerts(as_of) {
            Ok(alerts) => set.alerts = alerts,
            Err(error) => set.gaps.push(alerts_gap(&error)),
        }
        set
    }

    fn load_key(
        &self,
        key: &SeriesKey,
        as_of: DateTime<Utc>,
        selection: &Selection,
    ) -> Result<Loaded, StoreError> {
        let mut loaded = Loaded::default();
        let from = match key.cadence {
            Cadence::Forecast => {
                self.load_forecast(key, as_of, &mut loaded)?;
                return Ok(loaded);
            }
            Cadence::Daily => selection.daily_from,
            Cadence::Continuous => selection.continuous_from,
        };
        let first_year = from.map_or(i32::MIN, year_of);
        let files = self.year_files(key)?;
        let snapshot = self
            .series_folder(&key.id)?
            .join(format!("{}.snapshot", cadence_word(key.cadence)));
        let made_from = snapshot::fingerprint(&files);
        if let Some(rows) = made_from
            .as_ref()
            .and_then(|made_from| snapshot::read(&snapshot, made_from, from))
        {
            loaded.rows = rows;
        } else {
            // All years and a snapshot of them, unless so few are wanted that it does not pay.
            let recent = files.range(first_year..).count() < files.len() / 2;
            let last_year = if recent {
                year_of(as_of).max(first_year)
            } else {
                i32::MAX
            };
            let first_year = if recent { first_year } else { i32::MIN };
            for (&year, path) in files.range(first_year..=last_year) {
                match read_whole(path) {
                    Ok(rows) if loaded.rows.is_empty() => loaded.rows = rows,
                    Ok(rows) => loaded.rows.extend(rows),
                    Err(fault) => loaded.damaged.push((path.clone(), year, fault)),
                }
            }
            let long = loaded.rows.len() >= snapshot::WORTHWHILE_ROWS;
            let worthwhile = long && !recent && loaded.damaged.is_empty();
            loaded.snapshot = made_from
                .filter(|_| worthwhile)
                .map(|made_from| (snapshot, made_from));
        }
        Ok(loaded)
    }

    /// Writes the snapshots that are worth writing, if that can be done now.
    fn keep_snapshots(&self, loaded: &[Result<Loaded, StoreError>]) {
        let worthwhile: Vec<&Loaded> = loaded.iter().flatten().filter(|l| l.snapshot.is_some()).collect();
        if worthwhile.is_empty() {
            return;
        }
        let Some(_lock) = self.lock_now() else { return };
        in_parallel(cores(), &worthwhile, |loaded| {
            if let Some((path, made_from)) = &loaded.snapshot {
                snapshot::write(path, made_from, &loaded.rows);
            }
        });
    }

    fn load_forecast(
        &self,
        key: &SeriesKey,
        as_of: DateTime<Utc>,
        loaded: &mut Loaded,
    ) -> Result<(), StoreError> {
        for issued in self
            .issues(&key.id)?
            .into_iter()
            .rev()
            .filter(|&issued| issued <= as_of)
        {
            let path = self.issue_path(&key.id, issued)?;
            let read = fs::read(&path).map_err(|e| e.to_string());
            match read.and_then(|bytes| decode_issue(&key.id, &bytes).map_err(|d| d.to_string())) {
                Ok(forecast) => {
                    loaded.forecast = Some(forecast);
                    break;
                }
                Err(fault) => loaded.damaged.push((path, year_of(issued), fault)),
            }
        }
        Ok(())
    }

    /// Moves a damaged file aside if that can be done now, and says so.
    fn report_damage(&self, key: &SeriesKey, year: i32, path: &Path, fault: &str) -> Gap {
        // Another process may have mended or moved it since: look again under the lock.
        let aside = self.lock_now().and_then(|_lock| {
            if !is_damaged(key, path) {
                return None;
            }
            let aside = set_aside(path).ok()?;
            // Without the note, the missing file alone makes the next pull fetch the year again.
            let _ = self.note_damage(&[(key, year)]);
            Some(aside)
        });
        let place = match aside {
            Some(aside) => format!("{} ({fault})", aside.display()),
            None => format!("{}, left where it is ({fault})", path.display()),
        };
        damage_gap(key, Some(year), place)
    }
}

/// Leaves of `rows` those that were known at `as_of` and are selected.
fn keep_known(
    rows: &mut Vec<Observation>,
    cadence: Cadence,
    clock: &LakeClock,
    as_of: DateTime<Utc>,
    selection: &Selection,
) {
    let (from, known): (_, &dyn Fn(&Observation) -> bool) = match cadence {
        Cadence::Daily => (selection.daily_from, &|row| day_end(clock, row.time) <= as_of),
        _ => (selection.continuous_from, &|row| row.time <= as_of),
    };
    rows.truncate(rows.partition_point(known));
    if let Some(from) = from {
        rows.drain(..rows.partition_point(|row| row.time < from));
    }
}

fn damage_gap(key: &SeriesKey, year: Option<i32>, set_aside: String) -> Gap {
    let year = year.map_or_else(String::new, |year| format!(" of {year}"));
    let figure = format!("{} values of {}{year}", cadence_word(key.cadence), key.id);
    Gap {
        what: key.id.to_string(),
        reason: GapReason::StoreDamaged { set_aside },
        consequence: Consequence::LeftOut { figure },
    }
}

fn alerts_gap(error: &StoreError) -> Gap {
    Gap {
        what: "official_alerts".to_owned(),
        reason: GapReason::StoreDamaged {
            set_aside: error.to_string(),
        },
        consequence: Consequence::LeftOut {
            figure: "official alerts".to_owned(),
        },
    }
}

fn is_damaged(key: &SeriesKey, path: &Path) -> bool {
    let Ok(bytes) = fs::read(path) else { return false };
    let result: Result<(), Damage> = match key.cadence {
        Cadence::Forecast => decode_issue(&key.id, &bytes).map(|_| ()),
        _ => decode(&bytes).map(|_| ()),
    };
    result.is_err()
}

fn read_whole(path: &Path) -> Result<Vec<Observation>, String> {
    let bytes = fs::read(path).map_err(|e| e.to_string())?;
    decode(&bytes).map_err(|fault| fault.to_string())
}

/// The end of the standard-time day that begins at `start`: standard days are 24 h long, but where a
/// zone changed its standard offset the next midnight counts.
fn day_end(clock: &LakeClock, start: DateTime<Utc>) -> DateTime<Utc> {
    match clock.standard_day(start).succ_opt() {
        Some(next) => clock.standard_day_start(next),
        None => start + Duration::days(1),
    }
}
