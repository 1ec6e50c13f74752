//! Effort and catch by trip, place and species: the rows that a regression is made of.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};

use super::check::Known;
use super::log::StoredTrip;
use super::model::{Leg, Light, MarkKind, Reading, Reason, Trip};
use crate::lake::{SpeciesId, ZoneId};
use crate::physics::sun::sun_times;

/// Effort of one trip in one place for one species, and what it caught. A blank is a row with a count of 0.
#[derive(Debug, Clone, PartialEq)]
pub struct EffortRow {
    /// Number of the trip.
    pub trip: u32,
    /// Civil day on which the trip began.
    pub date: NaiveDate,
    /// Zone.
    pub zone: ZoneId,
    /// Stretch.
    pub stretch: Option<String>,
    /// Species.
    pub species: SpeciesId,
    /// Why the zone was chosen; legs of one place with different reasons are different rows.
    pub reason: Option<Reason>,
    /// Begin of the first leg, where hours are known.
    pub start: Option<DateTime<Utc>>,
    /// End of the last leg, where hours are known.
    pub end: Option<DateTime<Utc>>,
    /// Rod-hours.
    pub rod_h: f64,
    /// Fish caught.
    pub catch_count: u32,
    /// Depth fished, mean by rod-hours over the legs that tell one.
    pub depth_m: Option<f64>,
    /// Light as the angler saw it, where all legs say the same.
    pub light: Option<Light>,
    /// Share of the time between civil dawn and sunrise or between sunset and civil dusk, over the legs with hours.
    pub half_light_frac: Option<f64>,
    /// Secchi depth, mean of the trip's readings in the zone.
    pub secchi_m: Option<f64>,
    /// Temperature of the surface, mean of the trip's readings in the zone.
    pub surface_temp_degc: Option<f64>,
    /// Marks of bait in the zone on that trip; `None` where it told no mark at all.
    pub bait_marks: Option<u32>,
    /// Single targets in the zone on that trip; `None` as above.
    pub single_marks: Option<u32>,
}

/// A leg that is no row, and why: what is not known is not made up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Number of the trip.
    pub trip: u32,
    /// Number of the leg, from 1.
    pub leg: usize,
    /// Species for which it is none; `None` for all.
    pub species: Option<SpeciesId>,
    /// What is not known, or does not fit.
    pub why: &'static str,
}

/// Whether a leg of the trip of a number has a part in the rows of a species: `None`, or why not.
pub type LegRefused<'a> = dyn Fn(u32, &Leg, &SpeciesId) -> Option<&'static str> + 'a;

/// Rows, and what could be none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Effort {
    /// Rows, by trip, in the order of the legs, then of the species.
    pub rows: Vec<EffortRow>,
    /// Legs left out.
    pub left_out: Vec<LeftOut>,
}

/// The rows of trips: one for each trip, zone with stretch, reason, and species of the lake. A place that was not fished is
/// no row; a leg without rods, or whose catch nobody told, is left out and named.
pub fn effort_and_catch(trips: &[StoredTrip], known: &Known<'_>) -> Effort {
    effort_and_catch_of(trips, known, &|_, _, _| None)
}

/// As [`effort_and_catch`], without the legs that `refused` names for a species.
pub fn effort_and_catch_of(trips: &[StoredTrip], known: &Known<'_>, refused: &LegRefused<'_>) -> Effort {
    let mut effort = Effort::default();
    let mut sun = Sun {
        known,
        days: BTreeMap::new(),
    };
    for (number, trip) in trips {
        let mut groups: Vec<Vec<(usize, &Leg)>> = Vec::new();
        for (i, leg) in trip.legs.iter().enumerate() {
            let why = match (leg.rods, leg.catch_known) {
                (None, _) => "the number of rods is not known",
                (_, false) => "what was caught is not known",
                _ => {
                    let same = |group: &&mut Vec<(usize, &Leg)>| {
                        group.first().is_some_and(|(_, first)| key(first) == key(leg))
                    };
                    match groups.iter_mut().find(same) {
                        Some(group) => group.push((i + 1, leg)),
                        None => groups.push(vec![(i + 1, leg)]),
                    }
                    continue;
                }
            };
            effort.left_out.push(LeftOut {
                trip: *number,
                leg: i + 1,
                species: None,
                why,
            });
        }
        for group in &groups {
            for species in known.lake.species.iter().map(|s| &s.id) {
                let mut legs: Vec<&Leg> = Vec::new();
                for (leg, of) in group {
                    match refused(*number, of, species) {
                        None => legs.push(of),
                        Some(why) => effort.left_out.push(LeftOut {
                            trip: *number,
                            leg: *leg,
                            species: Some(species.clone()),
                            why,
                        }),
                    }
                }
                let half_light_frac = sun.half_light_frac(&legs);
                effort
                    .rows
                    .extend(row_of((*number, trip), &legs, species, half_light_frac));
            }
        }
    }
    effort
}

fn key(leg: &Leg) -> (&ZoneId, Option<&str>, Option<Reason>) {
    (&leg.zone, leg.stretch.as_deref(), leg.reason)
}

fn row_of(
    (number, trip): StoredRef<'_>,
    legs: &[&Leg],
    species: &SpeciesId,
    half_light_frac: Option<f64>,
) -> Option<EffortRow> {
    let first = *legs.first()?;
    let weights: Vec<(f64, f64)> = legs
        .iter()
        .filter_map(|leg| Some((leg.rod_h()?, leg.depth_m?)))
        .collect();
    let deep_h: f64 = weights.iter().map(|(rod_h, _)| rod_h).sum();
    let of_zone = |reading: &&Reading| reading.zone == first.zone;
    let surface = trip
        .readings
        .iter()
        .filter(of_zone)
        .filter(|r| r.depth_m <= SURFACE_M);
    let marks = |kind| {
        let of_kind = trip
            .marks
            .iter()
            .filter(|m| m.zone == first.zone && m.kind == kind);
        (!trip.marks.is_empty()).then(|| of_kind.map(|m| m.count.unwrap_or(1)).fold(0, u32::saturating_add))
    };
    Some(EffortRow {
        trip: number,
        date: trip.date,
        zone: first.zone.clone(),
        stretch: first.stretch.clone(),
        species: species.clone(),
        reason: first.reason,
        start: legs.iter().filter_map(|leg| leg.start).min(),
        end: legs.iter().filter_map(|leg| leg.end()).max(),
        rod_h: legs.iter().filter_map(|leg| leg.rod_h()).sum(),
        catch_count: legs
            .iter()
            .map(|leg| leg.count_of(species))
            .fold(0, u32::saturating_add),
        depth_m: (deep_h > 0.0).then(|| {
            weights
                .iter()
                .map(|(rod_h, depth_m)| rod_h * depth_m)
                .sum::<f64>()
                / deep_h
        }),
        light: legs
            .iter()
            .all(|leg| leg.light == first.light)
            .then_some(first.light)
            .flatten(),
        half_light_frac,
        secchi_m: mean(trip.readings.iter().filter(of_zone).filter_map(|r| r.secchi_m)),
        surface_temp_degc: mean(surface.filter_map(|r| r.temp_degc)),
        bait_marks: marks(MarkKind::Bait),
        single_marks: marks(MarkKind::Single),
    })
}

type StoredRef<'a> = (u32, &'a Trip);

/// Down to here a reading is one of the surface (project choice, as in the hindcast).
const SURFACE_M: f64 = 1.0;

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let values: Vec<f64> = values.collect();
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Begin and end of a span of half-light.
type Span = (DateTime<Utc>, DateTime<Utc>);

/// The sun of the days asked for: it is slow to work out, and many rows share a day.
struct Sun<'k> {
    known: &'k Known<'k>,
    days: BTreeMap<NaiveDate, Option<[Span; 2]>>,
}

impl Sun<'_> {
    /// The half-light of a day, at dawn and at dusk; `None` where the sun has no such times.
    fn half_light(&mut self, day: NaiveDate) -> Option<[Span; 2]> {
        let known = self.known;
        let of_day = || {
            let clock = known.clock();
            let (from, to) = (clock.civil_day_start(day), clock.civil_day_start(day.succ_opt()?));
            let sun = sun_times(from, to, known.lake.latitude_deg, known.lake.longitude_deg).ok()?;
            Some([(sun.civil_dawn?, sun.sunrise?), (sun.sunset?, sun.civil_dusk?)])
        };
        *self.days.entry(day).or_insert_with(of_day)
    }

    /// Share of the legs' time in half-light, over the legs whose hours are known.
    fn half_light_frac(&mut self, legs: &[&Leg]) -> Option<f64> {
        let clock = self.known.clock();
        let (mut all_s, mut half_s) = (0.0, 0.0);
        for leg in legs {
            let Some((start, end)) = leg.start.zip(leg.end()) else {
                continue;
            };
            all_s += (end - start).num_seconds() as f64;
            let (mut day, last) = (clock.civil_day(start), clock.civil_day(end));
            while day <= last {
                for (a, b) in self.half_light(day)? {
                    half_s += (end.min(b) - start.max(a)).num_seconds().max(0) as f64;
                }
                day = day.succ_opt()?;
            }
        }
        (all_s > 0.0).then(|| half_s / all_s)
    }
}
