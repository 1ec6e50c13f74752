//! An empty store, and its content in forms that can be compared.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};
use plungeline::lake::Cadence;
use plungeline::series::{Approval, Flag, ForecastBatch, Member, Observation, SeriesKey, Store};

use crate::store_lake::{at, key, provenance};

/// An empty store in a folder of its own.
pub fn store() -> (tempfile::TempDir, Store) {
    let root = tempfile::tempdir().unwrap();
    let store = Store::open(root.path(), "harrow-gap").unwrap();
    (root, store)
}

/// Every row of a series.
pub fn all(store: &Store, key: &SeriesKey) -> Vec<Observation> {
    store
        .read(key, at("1900-01-01T00:00:00Z"), at("2100-01-01T00:00:00Z"))
        .unwrap()
}

/// Bytes of every Parquet file, by path.
pub fn files(folder: &std::path::Path) -> BTreeMap<std::path::PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "parquet") {
                found.insert(path.clone(), std::fs::read(path).unwrap());
            }
        }
    }
    found
}

/// Everything of a row that must survive, numbers bit by bit.
pub type Bits = (i64, [Option<u64>; 3], Approval, Option<String>, Flag, String);

/// Rows as [`Bits`].
pub fn bits(rows: &[Observation]) -> Vec<Bits> {
    let of = |v: Option<f64>| v.map(f64::to_bits);
    rows.iter()
        .map(|r| {
            let numbers = [of(r.depth_m), of(r.value), of(r.original_value)];
            let (approval, provenance) = (r.approval, format!("{:?}", r.provenance));
            (
                r.time.timestamp_micros(),
                numbers,
                approval,
                r.qualifier.clone(),
                r.flag,
                provenance,
            )
        })
        .collect()
}

/// A forecast in hourly steps; `first` is the value of its first step for every member.
pub fn forecast(
    id: &str,
    issued_at: DateTime<Utc>,
    steps: usize,
    members: impl Iterator<Item = u16>,
    first: Option<f64>,
) -> ForecastBatch {
    let members: Vec<Member> = members.map(Member).collect();
    let value = |m: usize| {
        (0..steps)
            .map(|s| if s == 0 { first } else { Some((m * s) as f64 / 7.0) })
            .collect()
    };
    ForecastBatch {
        key: key(id, Cadence::Forecast),
        issued_at,
        provenance: provenance(issued_at),
        time: (0..steps)
            .map(|s| issued_at + Duration::hours(s as i64))
            .collect(),
        value: (0..members.len()).map(value).collect(),
        members,
    }
}
