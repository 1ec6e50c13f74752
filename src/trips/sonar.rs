//! What the sonar showed: marks by zone with the hours that it was watched, and the bait of the last weeks.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::check::Known;
use super::log::StoredTrip;
use super::model::{Leg, MarkKind, Trip};
use crate::lake::ZoneId;

/// Days before a morning from which marks of bait still speak (project choice).
const BAIT_DAYS: i64 = 28;
/// Days in which a mark of bait loses all but 1/e of its weight (project choice: schools of bait move on within weeks).
const BAIT_FADES_DAYS: f64 = 7.0;

/// Marks of one kind in one zone on one trip. None at all is a row with 0, where the trip told any mark.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkRow {
    /// Number of the trip.
    pub trip: u32,
    /// Civil day on which the trip began.
    pub date: NaiveDate,
    /// Zone.
    pub zone: ZoneId,
    /// Of what.
    pub kind: MarkKind,
    /// Hours that the boat was there: the sonar is taken to run as long as lines are out.
    pub watched_h: f64,
    /// Marks.
    pub count: u32,
}

/// The rows of marks of trips that told any: one for each zone with hours, and kind. Who told no mark may have had no sonar, so a
/// trip without any is no row; marks in a zone without hours are none either.
pub fn mark_rows(trips: &[StoredTrip]) -> Vec<MarkRow> {
    let mut rows = Vec::new();
    for (number, trip) in trips.iter().filter(|(_, trip)| !trip.marks.is_empty()) {
        for (zone, watched_h) in hours_of(trip) {
            for kind in [MarkKind::Bait, MarkKind::Single] {
                let of = trip.marks.iter().filter(|m| m.zone == zone && m.kind == kind);
                rows.push(MarkRow {
                    trip: *number,
                    date: trip.date,
                    zone: zone.clone(),
                    kind,
                    watched_h,
                    count: of.map(|m| m.count.unwrap_or(1)).fold(0, u32::saturating_add),
                });
            }
        }
    }
    rows
}

/// Bait of one zone over the last weeks, trips of long ago weighing less.
#[derive(Debug, Clone, PartialEq)]
pub struct BaitMarks {
    /// Zone.
    pub zone: ZoneId,
    /// Marks, each weighted by its age.
    pub marks: f64,
    /// Hours of watching, weighted alike.
    pub weighted_h: f64,
    /// Hours of watching as they were.
    pub watched_h: f64,
    /// Newest trip that watched there.
    pub newest: NaiveDate,
}

/// Marks of bait and hours of watching by zone, from trips that had ended at the clock of `known`, 28 days old at most: what is seen
/// on a trip was not known on its morning. A trip without hours has ended with its day. Weight `exp(-age / 7 d)`.
pub fn bait_marks(trips: &[StoredTrip], known: &Known<'_>) -> Vec<BaitMarks> {
    let today = known.clock().civil_day(known.as_of);
    let ended = |trip: &Trip| match trip.legs.iter().map(Leg::end).collect::<Option<Vec<_>>>() {
        Some(ends) => ends.iter().all(|end| *end <= known.as_of),
        None => trip.date < today,
    };
    let ended: Vec<StoredTrip> = trips.iter().filter(|(_, trip)| ended(trip)).cloned().collect();
    let mut zones: BTreeMap<ZoneId, BaitMarks> = BTreeMap::new();
    for row in mark_rows(&ended)
        .into_iter()
        .filter(|row| row.kind == MarkKind::Bait)
    {
        let age_days = (today - row.date).num_days();
        if !(0..=BAIT_DAYS).contains(&age_days) {
            continue;
        }
        let weight = (-(age_days as f64) / BAIT_FADES_DAYS).exp();
        let of = zones.entry(row.zone.clone()).or_insert_with(|| BaitMarks {
            zone: row.zone.clone(),
            marks: 0.0,
            weighted_h: 0.0,
            watched_h: 0.0,
            newest: row.date,
        });
        of.marks += weight * f64::from(row.count);
        of.weighted_h += weight * row.watched_h;
        of.watched_h += row.watched_h;
        of.newest = of.newest.max(row.date);
    }
    zones.into_values().collect()
}

/// Hours by zone.
fn hours_of(trip: &Trip) -> BTreeMap<ZoneId, f64> {
    let mut hours: BTreeMap<ZoneId, f64> = BTreeMap::new();
    for leg in trip.legs.iter().filter(|leg| leg.duration_h > 0.0) {
        *hours.entry(leg.zone.clone()).or_default() += leg.duration_h;
    }
    hours
}
