//! All tests on a series, and on a set of them.

use std::collections::BTreeMap;

use super::judged::{Judged, base_flag, sequence};
use super::thresholds::{SeriesThresholds, Thresholds};
use crate::lake::{Cadence, Lake, SeriesSource};
use crate::quantity::Quantity;
use crate::series::parallel::{cores, in_parallel};
use crate::series::{Flag, Observation, SeriesKey, SeriesSet};

/// Values of a daily inflow, and negative ones among them, from which it is known to be computed from
/// the lake's balance: a gauge reports none.
const INFERRED_VALUES: usize = 365;
const INFERRED_NEGATIVES: usize = 2;

/// Other series that help to judge one.
#[derive(Debug, Clone, Copy, Default)]
pub struct Companions<'a> {
    /// Daily values of the same series, flagged already.
    pub daily: &'a [Observation],
    /// The partner: air temperature of a dew point, mean wind of a gust, level of a storage.
    pub partner: &'a [Observation],
}

/// Flags every series of `set` in place, from nothing: flags that stood there are overwritten.
///
/// Daily series come first, so that their record can stand in for that of a short continuous one.
pub fn flag_set(set: &mut SeriesSet, lake: &Lake, thresholds: &Thresholds) {
    for cadence in [Cadence::Daily, Cadence::Continuous] {
        let jobs: Vec<(&SeriesSource, SeriesKey)> = lake
            .series
            .iter()
            .map(|source| {
                (
                    source,
                    SeriesKey {
                        id: source.id.clone(),
                        cadence,
                    },
                )
            })
            .filter(|(_, key)| set.observations.contains_key(key))
            .collect();
        let flags = in_parallel(cores(), &jobs, |(source, key)| {
            let daily = match cadence {
                Cadence::Continuous => set.observations(&source.id, Cadence::Daily),
                _ => &[],
            };
            let companions = Companions {
                daily,
                partner: partner_of(source, cadence, set, lake),
            };
            flags_of(
                &set.observations[key],
                source,
                cadence,
                lake,
                thresholds,
                companions,
            )
        });
        for ((_, key), flags) in jobs.iter().zip(flags) {
            let rows = set.observations.get_mut(key).into_iter().flatten();
            rows.zip(flags).for_each(|(row, flag)| row.flag = flag);
        }
    }
}

/// Flags the whole history of one series in place; `rows` in order of time.
pub fn flag_series(
    rows: &mut [Observation],
    source: &SeriesSource,
    cadence: Cadence,
    lake: &Lake,
    thresholds: &Thresholds,
) {
    let flags = flags_of(rows, source, cadence, lake, thresholds, Companions::default());
    rows.iter_mut().zip(flags).for_each(|(row, flag)| row.flag = flag);
}

/// The flags of `rows` (in order of time), with the help of `companions`.
pub fn flags_of(
    rows: &[Observation],
    source: &SeriesSource,
    cadence: Cadence,
    lake: &Lake,
    thresholds: &Thresholds,
    companions: Companions<'_>,
) -> Vec<Flag> {
    let Some(table) = table_of(rows, source.quantity, cadence, thresholds) else {
        return rows.iter().map(|row| base_flag(row.value)).collect();
    };
    let reach_h = match cadence {
        Cadence::Daily => thresholds.neighbours.daily_h,
        _ => thresholds.neighbours.continuous_h,
    };
    let partner = partner_values(rows, source.quantity, companions.partner, lake);
    let mut flags = vec![Flag::NotEvaluated; rows.len()];
    for places in by_depth(rows) {
        let beside = partner
            .as_ref()
            .map(|partner| places.iter().map(|&i| partner[i]).collect());
        let beside: Vec<Option<f64>> = beside.unwrap_or_else(|| vec![None; places.len()]);
        let mut judged = Judged::new(sequence(places.iter().map(|&i| &rows[i])));
        judged.fixed_spans(table, source, lake);
        judged.quartile_fence(table);
        judged.spikes(table, reach_h);
        judged.against_record(table, thresholds, companions.daily);
        judged.changes(table, reach_h);
        judged.stuck(table);
        judged.against_partner(table, &beside);
        for (place, flag) in places.into_iter().zip(judged.flags) {
            flags[place] = flag;
        }
    }
    flags
}

fn table_of<'a>(
    rows: &[Observation],
    quantity: Quantity,
    cadence: Cadence,
    thresholds: &'a Thresholds,
) -> Option<&'a SeriesThresholds> {
    if quantity == Quantity::Inflow && cadence == Cadence::Daily {
        let values = rows.iter().filter_map(|row| row.value);
        let negatives = values.clone().filter(|value| *value < 0.0).count();
        if negatives >= INFERRED_NEGATIVES && values.count() >= INFERRED_VALUES {
            return thresholds.inferred_inflow();
        }
    }
    thresholds.of(quantity, cadence)
}

/// Indices of the rows of each depth.
fn by_depth(rows: &[Observation]) -> Vec<Vec<usize>> {
    let depth = |row: &Observation| row.depth_m.map(f64::to_bits);
    if rows.windows(2).all(|pair| depth(&pair[0]) == depth(&pair[1])) {
        return vec![(0..rows.len()).collect()];
    }
    let mut places: BTreeMap<Option<u64>, Vec<usize>> = BTreeMap::new();
    for (i, row) in rows.iter().enumerate() {
        places.entry(depth(row)).or_default().push(i);
    }
    places.into_values().collect()
}

/// The series that `source` is held against.
fn partner_of<'a>(
    source: &SeriesSource,
    cadence: Cadence,
    set: &'a SeriesSet,
    lake: &Lake,
) -> &'a [Observation] {
    let quantity = match source.quantity {
        Quantity::DewPoint => Quantity::AirTemp,
        Quantity::WindGust => Quantity::WindSpeed,
        Quantity::Storage => Quantity::PoolElevation,
        _ => return &[],
    };
    let mut partners = lake.series_of(quantity, &source.place);
    partners
        .next()
        .map_or(&[], |partner| set.observations(&partner.id, cadence))
}

/// The partner's value at each row's time, as what `quantity` is compared with.
fn partner_values(
    rows: &[Observation],
    quantity: Quantity,
    partner: &[Observation],
    lake: &Lake,
) -> Option<Vec<Option<f64>>> {
    if partner.is_empty() {
        return None;
    }
    let table = lake.hypsography.as_ref();
    let mut at = 0;
    let value = |row: &Observation| {
        while partner.get(at).is_some_and(|p| p.time < row.time) {
            at += 1;
        }
        let value = partner
            .get(at)
            .filter(|p| p.time == row.time)
            .and_then(|p| p.value)?;
        match (quantity, table) {
            (Quantity::Storage, Some(table)) => table.volume_m3(value),
            (Quantity::Storage, None) => None,
            _ => Some(value),
        }
    };
    Some(rows.iter().map(value).collect())
}
