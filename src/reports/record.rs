//! The skill page, and its whereabouts part: how the calls of past mornings did against the trips that followed.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, Utc};
use serde::{Deserialize, Serialize};

use super::brief::LakeHeader;
use super::forecasts::ForecastSkill;
use crate::lake::{SpeciesId, ZoneId};
use crate::skill::SkillError;
use crate::skill::share_record::{CalledTrip, ShareRecord, share_record};
use crate::trips::{EffortRow, Known, StoredTrip, Trip, effort_and_catch};
use crate::whereabouts::{CallBasis, CalledSpecies, IssuedCall};

/// Civil hour at which a trip without hours counts as begun (project choice): a brief before it is one of that morning.
const HOURLESS_BEGINS_HOUR: u32 = 6;
/// How long a call speaks of a trip to come.
const CALL_LASTS_H: i64 = 24;

/// Name and version of the skill page's JSON form.
pub const SKILL_FORM: &str = "plungeline-skill-2";

/// How good the program has been at one lake. SI throughout; times UTC.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SkillPage {
    /// Name and version of this form: `plungeline-skill-2`.
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// The lake.
    pub lake: LakeHeader,
    /// Clock of the page: no later call or trip counts.
    pub as_of: DateTime<Utc>,
    /// Surface, thermocline, level, inflow and turnover against what was observed.
    pub forecasts: ForecastSkill,
    /// Shares and bands against the trip log.
    pub whereabouts: WhereaboutsSkill,
}

/// Calls of where the fish are against trips.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WhereaboutsSkill {
    /// Calls on record.
    pub calls: usize,
    /// Calls that cannot be read, or are of another version of their form.
    pub unreadable_calls: usize,
    /// Of the calls, those of replayed mornings: rehearsals.
    pub replayed_calls: usize,
    /// Whether they are scored as if made then.
    pub replayed_scored: bool,
    /// Trips of the log.
    pub trips: usize,
    /// Trips without a call in the day before they began that did not know them.
    pub trips_without_call: usize,
    /// Of these, trips whose day was called too late, with the clock set back, from a replay, or from a fit that had the trip in it: what is
    /// made with hindsight is not scored.
    pub trips_called_late: usize,
    /// Legs without a count of rods or a catch, which no score can use.
    pub legs_left_out: usize,
    /// By species of the lake file.
    pub species: BTreeMap<SpeciesId, SpeciesRecord>,
}

/// The record of one species.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpeciesRecord {
    /// Shares.
    pub shares: ShareRecord,
    /// Depth bands.
    pub band: BandRecord,
}

/// Fish and hours of legs whose rods and depth are known, inside and outside the band that was called for their zone. A fish whose own
/// depth was told counts there.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct BandRecord {
    /// Fish of such legs in zones with a band.
    pub fish: u32,
    /// Of these, within the band.
    pub fish_in_band: u32,
    /// Rod-hours of such legs.
    pub rod_h: f64,
    /// Of these, within the band.
    pub in_band_rod_h: f64,
}

/// The page of `header`'s lake at the clock of `known`, from its calls and its trips; `unreadable_calls` are those that could not be read.
///
/// Which call a trip is scored by, [`call_for`] says; with `replayed` those of replayed mornings count as made then.
///
/// # Errors
/// As [`share_record`].
pub fn skill_page(
    header: LakeHeader,
    known: &Known<'_>,
    (calls, unreadable_calls, replayed): (&[IssuedCall], usize, bool),
    trips: &[StoredTrip],
    forecasts: ForecastSkill,
) -> Result<SkillPage, SkillError> {
    let effort = effort_and_catch(trips, known);
    let mut called: Vec<(&StoredTrip, &IssuedCall)> = Vec::new();
    let (mut trips_without_call, mut trips_called_late) = (0, 0);
    for stored in trips {
        match call_for(calls, &stored.1, known, replayed) {
            (Some(call), _) => called.push((stored, call)),
            (None, late) => {
                trips_without_call += 1;
                trips_called_late += usize::from(late);
            }
        }
    }
    let mut species = BTreeMap::new();
    for id in known.lake.species.iter().map(|s| &s.id) {
        let of_species: Vec<(&StoredTrip, &CalledSpecies)> = called
            .iter()
            .filter_map(|(stored, call)| Some((*stored, call.species.get(id)?)))
            .collect();
        let record = SpeciesRecord {
            shares: share_record(&called_trips(
                &of_species,
                &effort_of(id, &effort.rows),
                &long_run(id, calls, replayed),
            ))?,
            band: band_record(id, &of_species),
        };
        species.insert(id.clone(), record);
    }
    Ok(SkillPage {
        form: SKILL_FORM.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        lake: header,
        as_of: known.as_of,
        forecasts,
        whereabouts: WhereaboutsSkill {
            calls: calls.len(),
            replayed_calls: calls.iter().filter(|call| call.replayed).count(),
            replayed_scored: replayed,
            unreadable_calls,
            trips: trips.len(),
            trips_without_call,
            trips_called_late,
            legs_left_out: effort.left_out.len(),
            species,
        },
    })
}

/// The call that a trip is scored by, and without one whether its day was called too late.
///
/// It is the newest, by its clock, of those made in the 24 hours before the trip's first leg began (of a trip without hours, before six in the
/// morning), by its clock and by the wall clock; of several of one clock the one made first. A call that had learned from the trip itself, or may
/// have, is none: its fit has a trip of that day or a later one. A replayed call is a rehearsal and counts with `replayed` alone.
pub fn call_for<'c>(
    calls: &'c [IssuedCall],
    trip: &Trip,
    known: &Known<'_>,
    replayed: bool,
) -> (Option<&'c IssuedCall>, bool) {
    let clock = known.clock();
    let early = || {
        let hour = NaiveTime::from_hms_opt(HOURLESS_BEGINS_HOUR, 0, 0).unwrap_or(NaiveTime::MIN);
        clock.instant(trip.date.and_time(hour))
    };
    let begin = trip
        .legs
        .iter()
        .filter_map(|leg| leg.start)
        .min()
        .unwrap_or_else(early);
    let counts = |call: &&IssuedCall| {
        let made_at = if call.replayed { call.as_of } else { call.made_at };
        let fresh = (begin - call.as_of) <= Duration::hours(CALL_LASTS_H);
        (replayed || !call.replayed) && call.as_of.max(made_at) <= begin && fresh && !knows(call, trip)
    };
    let newest = calls
        .iter()
        .filter(counts)
        .max_by_key(|call| (call.as_of, Reverse(call.made_at)));
    let of_day = |call: &IssuedCall| call.day == trip.date || clock.civil_day(call.as_of) == trip.date;
    let late = newest.is_none() && calls.iter().any(of_day);
    (newest, late)
}

/// Whether the fit behind a call may have this trip in it.
fn knows(call: &IssuedCall, trip: &Trip) -> bool {
    match &call.basis {
        CallBasis::Rules { .. } => false,
        CallBasis::Learned { newest_trip, .. } => newest_trip.is_none_or(|newest| newest >= trip.date),
    }
}

/// Rows of one species.
fn effort_of<'r>(id: &SpeciesId, rows: &'r [EffortRow]) -> Vec<&'r EffortRow> {
    rows.iter().filter(|row| &row.species == id).collect()
}

/// Fixed shares of one species: the mean over all calls, one a day, the first of each.
fn long_run(id: &SpeciesId, calls: &[IssuedCall], replayed: bool) -> BTreeMap<ZoneId, f64> {
    let mut days: BTreeMap<NaiveDate, &CalledSpecies> = BTreeMap::new();
    for call in calls.iter().filter(|call| replayed || !call.replayed) {
        if let Some(of) = call.species.get(id).filter(|of| !of.zones.is_empty()) {
            days.entry(call.day).or_insert(of);
        }
    }
    let mut means: BTreeMap<ZoneId, f64> = BTreeMap::new();
    for (zone, share) in days.values().flat_map(|of| &of.zones) {
        *means.entry(zone.clone()).or_default() += share.share / days.len() as f64;
    }
    means
}

/// Shares, hours and fish by zone of each trip that was called: zones that could be fished by the call, and those that were fished.
fn called_trips(
    called: &[(&StoredTrip, &CalledSpecies)],
    effort: &[&EffortRow],
    long_run: &BTreeMap<ZoneId, f64>,
) -> Vec<CalledTrip> {
    let of_trip = |(stored, call): &(&StoredTrip, &CalledSpecies)| {
        let rows: Vec<&&EffortRow> = effort.iter().filter(|row| row.trip == stored.0).collect();
        let of_zone = |zone: &ZoneId| {
            rows.iter()
                .filter(|row| &row.zone == zone)
                .copied()
                .collect::<Vec<_>>()
        };
        let hours = |zone: &ZoneId| of_zone(zone).iter().map(|row| row.rod_h).sum::<f64>();
        let fish = |zone: &ZoneId| {
            let counts = of_zone(zone).into_iter().map(|row| row.catch_count);
            counts.fold(0, u32::saturating_add)
        };
        let zones = call.zones.iter();
        let zones: Vec<_> = zones
            .filter(|(zone, share)| share.fishable || hours(zone) > 0.0)
            .collect();
        (!rows.is_empty() && !zones.is_empty()).then(|| CalledTrip {
            share: zones.iter().map(|(_, share)| share.share).collect(),
            long_run_share: zones
                .iter()
                .map(|(zone, _)| long_run.get(*zone).copied().unwrap_or(0.0))
                .collect(),
            effort_h: zones.iter().map(|(zone, _)| hours(zone)).collect(),
            catch: zones.iter().map(|(zone, _)| fish(zone)).collect(),
        })
    };
    called.iter().filter_map(of_trip).collect()
}

/// Hours and fish of legs whose rods and depth are known.
fn band_record(id: &SpeciesId, called: &[(&StoredTrip, &CalledSpecies)]) -> BandRecord {
    let mut record = BandRecord::default();
    let legs = called
        .iter()
        .flat_map(|((_, trip), call)| trip.legs.iter().map(move |leg| (leg, call)));
    for (leg, call) in legs.filter(|(leg, _)| leg.catch_known) {
        let Some(band) = call.band(&leg.zone) else {
            continue;
        };
        let inside = |depth_m: f64| (band.top_m..=band.bottom_m).contains(&depth_m);
        let Some((at_m, rod_h)) = leg.depth_m.zip(leg.rod_h()) else {
            continue;
        };
        record.rod_h += rod_h;
        record.in_band_rod_h += if inside(at_m) { rod_h } else { 0.0 };
        for fish in leg.catches.iter().filter(|fish| &fish.species == id) {
            let depth_m = fish.depth_m.unwrap_or(at_m);
            record.fish = record.fish.saturating_add(fish.count);
            let in_band = if inside(depth_m) { fish.count } else { 0 };
            record.fish_in_band = record.fish_in_band.saturating_add(in_band);
        }
    }
    record
}
