//! All of it in one value.

use super::balance::{DayValue, fill_level_by_balance, inferred_inflow, storage_at_m3};
use super::choice::source_choices;
use super::flow::{InflowRecord, inflow_condition, inflow_records};
use super::inputs::input_ages;
use super::level::pool;
use super::light::light;
use super::morning::{Morning, Newest, left_out, wider};
use super::outlook::{KnownWater, level_projection};
use super::surface::{river_temps, surface};
use super::trip::trip_window;
use super::turbidity::turbidities;
use super::water_balance::balance_condition;
use super::weather::TripWeather;
use super::{Conditions, PoolCondition};
use crate::lake::{Cadence, Lake, SeriesSource};
use crate::quantity::Quantity;
use crate::series::{Consequence, Daily, Gap, GapReason, SeriesSet};

/// A storage older than this says nothing of this morning, days (project choice): as for temperatures.
const OLDEST_STORAGE_DAYS: f64 = 7.0;
/// Code of the daily mean, in the one service that goes by codes (`docs/lake-file.md`).
const MEAN_STATISTIC: &str = "00003";

/// What the series say on the morning of `set.as_of`.
///
/// Nothing fails here: whatever is missing, late, too short or refused becomes a [`Gap`] with what
/// follows from it, the gaps of the set first. The order of rows within a series does not matter, and of
/// two rows of one instant the better one counts.
pub fn conditions_at(lake: &Lake, set: &SeriesSet) -> Conditions {
    let morning = Morning::new(lake, set);
    let mut gaps = set.gaps.clone();
    let trip = trip_window(lake, set.as_of);

    let mut level = states_of(&morning, Quantity::PoolElevation);
    let balance = balance(&morning, level.as_ref());
    let records = inflow_records(&morning, balance.as_ref(), &mut gaps);
    if let Some(level) = level.as_mut() {
        bridge_level(&morning, level, &records);
    }
    let pool = pool(&morning, level.as_ref().map(|(level, _)| level), &mut gaps);
    let storage = storage(&morning, pool.as_ref(), &mut gaps);
    let known = KnownWater {
        level: level.as_ref(),
        balance: balance.as_ref(),
        records: &records,
    };
    let level_projection = level_projection(&morning, &trip, pool.as_ref(), &known, &mut gaps);
    let balance = balance_condition(&morning, storage, pool.as_ref(), balance.as_ref());
    let inflows = records
        .iter()
        .filter_map(|r| inflow_condition(&morning, r, &mut gaps))
        .collect();
    let surface = surface(&morning, &mut gaps);
    let river_temps = river_temps(&morning, &mut gaps);
    let turbidities = turbidities(&morning, &mut gaps);
    let weather = TripWeather::new(&morning, &trip);
    let wind = weather.wind(&mut gaps);
    let sky = weather.sky(&mut gaps);
    let (from, to) = weather.window();
    let source_choices = source_choices(&morning, from, to);
    let light = match light(&morning, &trip) {
        Ok(light) => Some(light),
        Err(error) => {
            // The check of the lake file refuses a position off the globe; should one come here, or a
            // clock thousands of years off, the brief says what it lacks and why.
            let reason = GapReason::FetchFailed {
                service: "sun position".to_owned(),
                message: error.to_string(),
            };
            gaps.push(left_out("light", reason, "dawn, sunrise, sunset, dusk"));
            None
        }
    };
    Conditions {
        as_of: set.as_of,
        pool,
        storage_m3: storage.map(|s| s.value),
        storage_observed_at: storage.map(|s| s.time),
        level_projection,
        balance,
        inflows,
        surface,
        river_temps,
        turbidities,
        wind,
        light,
        sky,
        forage: Vec::new(),
        inputs: input_ages(&morning),
        source_choices,
        gaps,
    }
}

fn daily_of(morning: &Morning, quantity: Quantity) -> Option<Daily> {
    let source = morning.source(quantity, &morning.lake_places()).ok()?;
    morning.daily(source)
}

/// Daily levels or storages, and what they stand for.
pub(super) fn states_of(morning: &Morning, quantity: Quantity) -> Option<(Daily, DayValue)> {
    let source = morning.source(quantity, &morning.lake_places()).ok()?;
    Some((morning.daily(source)?, day_value_of(source)))
}

/// Days made here from values within the day are means, and so are daily values of that statistic. Other
/// daily values count as readings at the end of their day, as the reports of reservoirs give them (project
/// choice; a reading of 8 in the morning under the same date would be 16 hours off).
pub(super) fn day_value_of(source: &SeriesSource) -> DayValue {
    let has_daily = source.cadences.contains(&Cadence::Daily);
    if !has_daily || source.statistic.as_deref() == Some(MEAN_STATISTIC) {
        DayValue::Mean
    } else {
        DayValue::EndOfDay
    }
}

/// Daily inflow of the whole lake by its balance: from observed storage, else from the level and the
/// table; with release, and evaporation where there is one.
pub(super) fn balance(morning: &Morning, level: Option<&(Daily, DayValue)>) -> Option<Daily> {
    let from_level = || {
        let table = morning.lake.hypsography.as_ref()?;
        let (mut storage, is) = level?.clone();
        storage
            .value
            .iter_mut()
            .for_each(|v| *v = v.and_then(|h| storage_at_m3(table, h)));
        Some((storage, is))
    };
    let (storage, is) = states_of(morning, Quantity::Storage).or_else(from_level)?;
    let release = daily_of(morning, Quantity::Release)?;
    inferred_inflow(
        &storage,
        is,
        &release,
        daily_of(morning, Quantity::Evaporation).as_ref(),
    )
}

/// Bridges holes in the level where every inflow and the release are known.
pub(super) fn bridge_level(morning: &Morning, level: &mut (Daily, DayValue), records: &[InflowRecord]) {
    let (Some(table), Some(release)) = (&morning.lake.hypsography, daily_of(morning, Quantity::Release))
    else {
        return;
    };
    if records.is_empty() || records.len() < morning.lake.inflows.len() {
        return;
    }
    let (level, is) = level;
    let mut inflow = level.clone();
    for i in 0..inflow.value.len() {
        let date = inflow.date(i);
        inflow.value[i] = records.iter().map(|r| r.daily.get(date)).sum();
    }
    fill_level_by_balance(level, *is, table, &inflow, &release);
}

/// Newest observed storage of the last week; without one, the table's storage at the newest level of the
/// last week.
fn storage(morning: &Morning, pool: Option<&PoolCondition>, gaps: &mut Vec<Gap>) -> Option<Newest> {
    let is_old = |time| morning.age_h(time) > OLDEST_STORAGE_DAYS * 24.0;
    let from_level = pool
        .filter(|pool| !is_old(pool.observed_at))
        .zip(morning.lake.hypsography.as_ref())
        .and_then(|(pool, table)| {
            Some(Newest {
                value: storage_at_m3(table, pool.elevation_m)?,
                time: pool.observed_at,
            })
        });
    let stand_in = |reason: GapReason, gaps: &mut Vec<Gap>| {
        let consequence = if from_level.is_some() {
            Consequence::StandIn {
                stand_in: "storage from the level and the hypsography".to_owned(),
            }
        } else {
            Consequence::LeftOut {
                figure: "storage".to_owned(),
            }
        };
        gaps.push(Gap {
            what: "storage".to_owned(),
            reason,
            consequence,
        });
        from_level
    };
    let source = match morning.source(Quantity::Storage, &morning.lake_places()) {
        Ok(source) => source,
        Err(reason) => return stand_in(reason, gaps),
    };
    let newest = morning.newest(source)?;
    match morning.late(source, newest.time) {
        Some(reason) if is_old(newest.time) => stand_in(reason, gaps),
        Some(reason) => {
            gaps.push(wider(source.id.as_str(), reason, "storage"));
            Some(newest)
        }
        None => Some(newest),
    }
}
