//! What a day of the run rests on, as a chain of hashes of what the store holds.
//!
//! The values themselves are hashed, not the forcing that is made of them: how a source is brought to the scale of
//! another is learned anew every day from the newest values, and a state would never stand for longer than that.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use sha2::{Digest, Sha256};

use super::begin::SEED;
use crate::archive::analysed::InputHash;
use crate::conditions::ForageCondition;
use crate::lake::Cadence;
use crate::series::{ForecastBatch, Observation, SeriesSet};
use crate::sources::csv::WaterReading;

/// The hash of every day (UTC) from `start` to the day of the clock: of the day before, and of every value of that day with its
/// series, depth and whether checks passed it. A value that comes late, is revised, or is judged otherwise changes
/// the hash of its day and of all that follow. So does a reading among the angler's `own`, whatever their order.
pub fn inputs_by_day(
    set: &SeriesSet,
    own: &[WaterReading],
    start: DateTime<Utc>,
) -> BTreeMap<NaiveDate, InputHash> {
    let mut days: BTreeMap<NaiveDate, Sha256> = BTreeMap::new();
    let first = start.date_naive();
    for day in first.iter_days().take_while(|day| *day <= set.as_of.date_naive()) {
        days.insert(day, Sha256::new());
    }
    for (key, rows) in &set.observations {
        let begin = rows.partition_point(|row| row.time.date_naive() < first);
        let mut told = None;
        for row in &rows[begin..] {
            let day = row.time.date_naive();
            let Some(hash) = days.get_mut(&day) else { continue };
            if told != Some(day) {
                told = Some(day);
                hash.update(key.id.as_str().as_bytes());
                hash.update([0, cadence_code(key.cadence)]);
            }
            hash.update(row_bytes(row));
        }
    }
    let mut own: Vec<(DateTime<Utc>, Vec<u8>)> = own
        .iter()
        .filter(|row| row.time <= set.as_of)
        .map(|row| (row.time, own_bytes(row)))
        .collect();
    own.sort();
    for (time, bytes) in own {
        if let Some(hash) = days.get_mut(&time.date_naive()) {
            hash.update(bytes);
        }
    }
    let mut before = Sha256::new();
    before.update(SEED.to_le_bytes());
    before.update(start.timestamp().to_le_bytes());
    let mut before: InputHash = before.finalize().into();
    let mut chain = BTreeMap::new();
    for (day, hash) in days {
        let mut whole = Sha256::new();
        whole.update(before);
        whole.update(hash.finalize());
        before = whole.finalize().into();
        chain.insert(day, before);
    }
    chain
}

/// Days before the clock whose values [`inputs_hash`] takes in: a year and a month, more than any run, trend or season of a brief
/// looks at by the day.
const HASHED_DAYS: i64 = 396;

/// One hash of what a brief at the clock of `set` rests on: every value of the last 396 days with its series, depth and whether checks passed
/// it, the angler's `own` readings, the bait that was seen, and the newest forecasts.
pub fn inputs_hash(set: &SeriesSet, own: &[WaterReading], forage: &[ForageCondition]) -> InputHash {
    let mut hash = Sha256::new();
    let from = set.as_of - chrono::Duration::days(HASHED_DAYS);
    if let Some(newest) = inputs_by_day(set, own, from).values().next_back() {
        hash.update(newest);
    }
    for (id, batch) in &set.forecasts {
        hash.update(id.as_str().as_bytes());
        add_forecast(&mut hash, batch);
    }
    for of in forage {
        hash.update(of.zone.as_str().as_bytes());
        hash.update(of.marks_per_h.to_le_bytes());
        hash.update(of.newest.to_string().as_bytes());
    }
    hash.finalize().into()
}

fn cadence_code(cadence: Cadence) -> u8 {
    match cadence {
        Cadence::Daily => 1,
        Cadence::Continuous => 2,
        Cadence::Forecast => 3,
    }
}

fn own_bytes(row: &WaterReading) -> Vec<u8> {
    let number = |number: Option<f64>| number.unwrap_or(f64::NAN).to_le_bytes();
    let mut bytes = row.zone.clone().into_bytes();
    bytes.push(0);
    bytes.extend(row.time.timestamp().to_le_bytes());
    for value in [
        Some(row.depth_m),
        row.temp_degc,
        row.temp_error_degc,
        row.oxygen_mg_l,
        row.oxygen_error_mg_l,
    ] {
        bytes.extend(number(value));
    }
    bytes
}

fn row_bytes(row: &Observation) -> [u8; 25] {
    // Not known is told from every number by one that no value has.
    let number = |number: Option<f64>| number.unwrap_or(f64::NAN).to_le_bytes();
    let mut bytes = [0; 25];
    bytes[..8].copy_from_slice(&row.time.timestamp().to_le_bytes());
    bytes[8..16].copy_from_slice(&number(row.depth_m));
    bytes[16..24].copy_from_slice(&number(row.value));
    bytes[24] = u8::from(row.flag.is_usable());
    bytes
}

/// Takes a forecast into a hash.
pub(super) fn add_forecast(hash: &mut Sha256, batch: &ForecastBatch) {
    let at = |time: &DateTime<Utc>| time.timestamp().to_le_bytes();
    hash.update(at(&batch.issued_at));
    batch.time.iter().for_each(|time| hash.update(at(time)));
    for value in batch.value.iter().flatten() {
        hash.update(value.unwrap_or(f64::NAN).to_le_bytes());
    }
}
