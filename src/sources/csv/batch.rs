//! Rows of a table to observations of a lake's series.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Utc};

use super::read::{Row, Table, fault};
use super::stamp::StampZone;
use crate::clock::LakeClock;
use crate::lake::Cadence;
use crate::series::{Approval, Batch, Flag, Observation, Provenance};
use crate::sources::error::ReadError;
use crate::sources::job::{RowFault, Want};
use crate::sources::stamp::Stamp;
use crate::sources::unit::conversion;

/// The rows of a table as observations, sorted by time and depth, up to `as_of`, from `want.from` on. Of
/// two rows for one time and depth the first stands; where they differ, the second is a fault.
///
/// # Errors
/// [`ReadError::Unit`].
pub fn to_batch(
    table: &Table,
    want: &Want,
    clock: LakeClock,
    as_of: DateTime<Utc>,
    provenance: &Arc<Provenance>,
) -> Result<(Batch, Vec<RowFault>), ReadError> {
    let conversion = conversion(
        want.series.quantity,
        want.cadence,
        &provenance.original_unit,
        &provenance.parameter,
    )?;
    let mut faults = Vec::new();
    let mut by_place: BTreeMap<(DateTime<Utc>, DepthOrder), &Row> = BTreeMap::new();
    for row in &table.rows {
        let Some((time, known_at)) = time_of(row.stamp, want.cadence, clock, table.zone) else {
            faults.push(fault(
                row.line,
                "a time out of range".to_owned(),
                "a time of this age of the world",
            ));
            continue;
        };
        if known_at > as_of || want.from.is_some_and(|from| known_at <= from) {
            continue;
        }
        match by_place.get(&(time, DepthOrder(row.depth_m))) {
            Some(held) if held.value == row.value => {}
            Some(held) => {
                let found = format!("another value for the time and depth of line {}", held.line);
                faults.push(fault(row.line, found, "one value; the first was kept"));
            }
            None => {
                by_place.insert((time, DepthOrder(row.depth_m)), row);
            }
        }
    }
    let rows = by_place.into_iter().map(|((time, _), row)| Observation {
        time,
        depth_m: row.depth_m.or(want.series.depth_m),
        value: row.value.map(|figure| want.to_lake(conversion, figure)),
        original_value: row.value,
        approval: Approval::Unstated,
        qualifier: None,
        flag: if row.value.is_some() {
            Flag::NotEvaluated
        } else {
            Flag::Missing
        },
        provenance: Arc::clone(provenance),
    });
    Ok((
        Batch {
            key: want.key(),
            rows: rows.collect(),
        },
        faults,
    ))
}

/// Time of an observation, and when it can first be known: for a day, its end. A daily value with a
/// time of day belongs to the standard-time day that holds it.
fn time_of(
    stamp: Stamp,
    cadence: Cadence,
    clock: LakeClock,
    zone: StampZone,
) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let day = match (stamp, cadence) {
        (Stamp::Day(day), Cadence::Daily) => day,
        (Stamp::Instant(instant), Cadence::Daily) => clock.standard_day(instant),
        (Stamp::Day(day), _) => return zone.day_start(day).map(|instant| (instant, instant)),
        (Stamp::Instant(instant), _) => return Some((instant, instant)),
    };
    Some((
        clock.standard_day_start(day),
        clock.standard_day_start(day.succ_opt()?),
    ))
}

/// Depth as a key: finite, as the reader makes sure.
#[derive(Debug, Clone, Copy)]
struct DepthOrder(Option<f64>);

impl PartialEq for DepthOrder {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for DepthOrder {}
impl PartialOrd for DepthOrder {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for DepthOrder {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        let depth_m = |order: &Self| order.0.unwrap_or(f64::NEG_INFINITY);
        depth_m(self).total_cmp(&depth_m(other))
    }
}
