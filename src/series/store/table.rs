//! A year of observations as the bytes of a Parquet file, and back.
//!
//! Columns: `time` (UTC microseconds), `depth_m` (left out where no row has one), `value`,
//! `original_value`, `flag` (number of the QARTOD scheme), `origin`. What repeats from row to row is
//! kept once, in the file's notes under `plungeline.origins` (JSON): approval, qualifier, service,
//! station, parameter, original unit, time of retrieval; `origin` counts into that list.

use std::collections::HashMap;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use polars::error::PolarsResult;
use serde::{Deserialize, Serialize};

use super::columns::{Name, Table, code_column, file_bytes, number_column, time_column};
use crate::series::error::Damage;
use crate::series::{Approval, Flag, Observation, Provenance};

const ORIGINS: Name = "plungeline.origins";

/// What rows of the same origin share.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub(super) struct Origin {
    pub(super) approval: Approval,
    pub(super) qualifier: Option<String>,
    #[serde(flatten)]
    provenance: Provenance,
}

/// The bytes of a file that holds `rows`, which are in order of time and depth.
pub(super) fn encode(rows: &[Observation]) -> PolarsResult<Vec<u8>> {
    let (origin, origins) = origins(rows);
    let mut columns = vec![time_column("time", rows.iter().map(|r| r.time))];
    if rows.iter().any(|r| r.depth_m.is_some()) {
        columns.push(number_column("depth_m", rows.iter().map(|r| r.depth_m)));
    }
    columns.push(number_column("value", rows.iter().map(|r| r.value)));
    columns.push(number_column(
        "original_value",
        rows.iter().map(|r| r.original_value),
    ));
    columns.push(code_column("flag", rows.iter().map(|r| i32::from(r.flag.code()))));
    columns.push(code_column("origin", origin.into_iter()));
    let notes = serde_json::to_string(&origins).expect("texts and times have a JSON form");
    file_bytes(rows.len(), columns, vec![(ORIGINS, notes)])
}

/// The rows of a file.
///
/// # Errors
/// [`Damage`] when the bytes are not whole, or are not a file that [`encode`] makes.
pub(super) fn decode(bytes: &[u8]) -> Result<Vec<Observation>, Damage> {
    let table = Table::read(bytes, None)?;
    let times = table.times("time")?;
    let depths = if table.has("depth_m") {
        table.numbers("depth_m")?
    } else {
        Vec::new()
    };
    let values = table.numbers("value")?;
    let original_values = table.numbers("original_value")?;
    let flags = table.codes("flag")?;
    let origin = table.codes("origin")?;
    let origins: Vec<Origin> = serde_json::from_str(table.note(ORIGINS)?).map_err(Damage::Notes)?;
    let provenance = shared_provenance(&origins);

    let mut rows: Vec<Observation> = Vec::with_capacity(times.len());
    for (row, &time) in times.iter().enumerate() {
        let index = usize::try_from(origin[row]).ok().filter(|&i| i < origins.len());
        let index = index.ok_or(Damage::Row { row, what: "origin" })?;
        let flag = u8::try_from(flags[row]).ok().and_then(Flag::from_code);
        rows.push(Observation {
            time,
            depth_m: depths.get(row).copied().flatten(),
            value: values[row],
            original_value: original_values[row],
            approval: origins[index].approval,
            qualifier: origins[index].qualifier.clone(),
            flag: flag.ok_or(Damage::Row { row, what: "flag" })?,
            provenance: Arc::clone(&provenance[index]),
        });
    }
    let unordered = rows
        .windows(2)
        .position(|pair| super::rules::place(&pair[0]) >= super::rules::place(&pair[1]));
    match unordered {
        Some(row) => Err(Damage::Row {
            row: row + 1,
            what: "time",
        }),
        None => Ok(rows),
    }
}

/// Time of the newest row that has a value.
pub(super) fn newest_with_value(bytes: &[u8]) -> Result<Option<DateTime<Utc>>, Damage> {
    let table = Table::read(bytes, Some(&["time", "value"]))?;
    let (times, values) = (table.times("time")?, table.numbers("value")?);
    Ok(values.iter().rposition(Option::is_some).map(|i| times[i]))
}

/// Index of each row's origin, and the origins in order of appearance.
pub(super) fn origins(rows: &[Observation]) -> (Vec<i32>, Vec<Origin>) {
    let mut index_of: HashMap<Origin, i32> = HashMap::new();
    let mut origins = Vec::new();
    let mut codes = Vec::with_capacity(rows.len());
    let mut last: Option<(&Observation, i32)> = None;
    for row in rows {
        // Neighbours mostly come from the same fetch: compare by address before comparing texts.
        let same = last.filter(|(other, _)| {
            Arc::ptr_eq(&other.provenance, &row.provenance)
                && other.approval == row.approval
                && other.qualifier == row.qualifier
        });
        let code = same.map_or_else(
            || {
                let origin = Origin {
                    approval: row.approval,
                    qualifier: row.qualifier.clone(),
                    provenance: (*row.provenance).clone(),
                };
                *index_of.entry(origin).or_insert_with_key(|origin| {
                    origins.push(origin.clone());
                    origins.len() as i32 - 1
                })
            },
            |(_, code)| code,
        );
        codes.push(code);
        last = Some((row, code));
    }
    (codes, origins)
}

/// One shared provenance for each origin; equal ones are the same.
pub(super) fn shared_provenance(origins: &[Origin]) -> Vec<Arc<Provenance>> {
    let mut known: HashMap<&Provenance, Arc<Provenance>> = HashMap::new();
    let share = |origin| {
        known
            .entry(origin)
            .or_insert_with(|| Arc::new(origin.clone()))
            .clone()
    };
    origins
        .iter()
        .map(|origin| &origin.provenance)
        .map(share)
        .collect()
}

#[cfg(test)]
#[path = "table_tests.rs"]
pub(super) mod tests;
