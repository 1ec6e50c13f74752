//! How the calls of past mornings did against the trips that followed: the whereabouts part of the skill page.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveTime, Utc};
use serde::{Deserialize, Serialize};

use super::brief::LakeHeader;
use crate::lake::{SpeciesId, ZoneId};
use crate::skill::SkillError;
use crate::skill::share_record::{CalledTrip, ShareRecord, share_record};
use crate::trips::{EffortRow, Known, StoredTrip, Trip, effort_and_catch};
use crate::whereabouts::{CalledSpecies, IssuedCall};

/// Name and version of the skill page's JSON form.
pub const SKILL_FORM: &str = "plungeline-skill-1";

/// How good the program has been at one lake. SI throughout; times UTC.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SkillPage {
    /// Name and version of this form: `plungeline-skill-1`.
    pub form: String,
    /// Version of the program.
    pub version: String,
    /// The lake.
    pub lake: LakeHeader,
    /// Clock of the page: no later call or trip counts.
    pub as_of: DateTime<Utc>,
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
    /// Trips of the log.
    pub trips: usize,
    /// Trips for whose day there was no call before they began.
    pub trips_without_call: usize,
    /// Of these, trips whose day was called afterwards only, by a clock set back: what is made with hindsight is not scored.
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

/// Fish and hours of known depth, inside and outside the band that was called for their zone.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct BandRecord {
    /// Fish of known depth, in zones with a band.
    pub fish: u32,
    /// Of these, within the band.
    pub fish_in_band: u32,
    /// Rod-hours of known depth, in zones with a band.
    pub rod_h: f64,
    /// Of these, within the band.
    pub in_band_rod_h: f64,
}

/// The page of `header`'s lake at the clock of `known`, from its calls and its trips; `unreadable_calls` are those that could not be read.
///
/// A trip is scored by the newest call for its day that was made before its first leg began; of a trip without hours, before noon. Both
/// the clock of the call and the wall clock at which it was made count.
///
/// # Errors
/// As [`share_record`].
pub fn skill_page(
    header: LakeHeader,
    known: &Known<'_>,
    (calls, unreadable_calls): (&[IssuedCall], usize),
    trips: &[StoredTrip],
) -> Result<SkillPage, SkillError> {
    let effort = effort_and_catch(trips, known);
    let mut called: Vec<(&StoredTrip, &IssuedCall)> = Vec::new();
    let (mut trips_without_call, mut trips_called_late) = (0, 0);
    for stored in trips {
        match call_for(calls, &stored.1, known) {
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
            shares: share_record(&called_trips(id, &of_species, &effort.rows))?,
            band: band_record(id, &of_species),
        };
        species.insert(id.clone(), record);
    }
    Ok(SkillPage {
        form: SKILL_FORM.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        lake: header,
        as_of: known.as_of,
        whereabouts: WhereaboutsSkill {
            calls: calls.len(),
            unreadable_calls,
            trips: trips.len(),
            trips_without_call,
            trips_called_late,
            legs_left_out: effort.left_out.len(),
            species,
        },
    })
}

/// The call that a trip is scored by, the newest for its day of those made before it began, and without one whether its day was called
/// too late.
pub fn call_for<'c>(
    calls: &'c [IssuedCall],
    trip: &Trip,
    known: &Known<'_>,
) -> (Option<&'c IssuedCall>, bool) {
    let noon = || {
        let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or(NaiveTime::MIN);
        known.clock().instant(trip.date.and_time(noon))
    };
    let begin = trip
        .legs
        .iter()
        .filter_map(|leg| leg.start)
        .min()
        .unwrap_or_else(noon);
    let of_day = || calls.iter().filter(|call| call.day == trip.date);
    let in_time = of_day().filter(|call| call.as_of.max(call.made_at) <= begin);
    let newest = in_time.max_by_key(|call| (call.as_of, call.made_at));
    (newest, newest.is_none() && of_day().next().is_some())
}

/// Shares, hours and fish by zone of each trip that was called: zones that could be fished by the call, and those that were fished.
fn called_trips(
    id: &SpeciesId,
    called: &[(&StoredTrip, &CalledSpecies)],
    effort: &[EffortRow],
) -> Vec<CalledTrip> {
    let called: Vec<_> = called.iter().filter(|(_, call)| !call.zones.is_empty()).collect();
    // Fixed shares: the mean over the calls that are scored.
    let mut long_run: BTreeMap<&ZoneId, f64> = BTreeMap::new();
    for (zone, share) in called.iter().flat_map(|(_, call)| &call.zones) {
        *long_run.entry(zone).or_default() += share.share / called.len() as f64;
    }
    let of_trip = |(stored, call): &(&StoredTrip, &CalledSpecies)| {
        let rows: Vec<&EffortRow> = effort
            .iter()
            .filter(|r| r.trip == stored.0 && &r.species == id)
            .collect();
        let hours = |zone: &ZoneId| {
            rows.iter()
                .filter(|r| &r.zone == zone)
                .map(|r| r.rod_h)
                .sum::<f64>()
        };
        let fish = |zone: &ZoneId| {
            let of = rows.iter().filter(|r| &r.zone == zone).map(|r| r.catch_count);
            of.fold(0, u32::saturating_add)
        };
        let counts = |zone: &ZoneId, fishable: bool| fishable || hours(zone) > 0.0;
        let zones: Vec<_> = call
            .zones
            .iter()
            .filter(|(zone, share)| counts(zone, share.fishable))
            .collect();
        (!rows.is_empty()).then(|| CalledTrip {
            share: zones.iter().map(|(_, share)| share.share).collect(),
            long_run_share: zones
                .iter()
                .map(|(zone, _)| long_run.get(zone).copied().unwrap_or(0.0))
                .collect(),
            effort_h: zones.iter().map(|(zone, _)| hours(zone)).collect(),
            catch: zones.iter().map(|(zone, _)| fish(zone)).collect(),
        })
    };
    called.into_iter().filter_map(of_trip).collect()
}

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
        if let Some((depth_m, rod_h)) = leg.depth_m.zip(leg.rod_h()) {
            record.rod_h += rod_h;
            record.in_band_rod_h += if inside(depth_m) { rod_h } else { 0.0 };
        }
        for fish in leg.catches.iter().filter(|fish| &fish.species == id) {
            if let Some(depth_m) = fish.depth_m.or(leg.depth_m) {
                record.fish = record.fish.saturating_add(fish.count);
                let in_band = if inside(depth_m) { fish.count } else { 0 };
                record.fish_in_band = record.fish_in_band.saturating_add(in_band);
            }
        }
    }
    record
}
