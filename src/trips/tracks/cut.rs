//! A track cut into trips and legs.

use chrono::{DateTime, Duration, Utc};

use super::legs::{Doing, runs};
use super::motion::{Motion, bearing_deg, place};
use super::places::{Place, Places};
use super::track::{Track, TrackPoint};
use crate::clock::LakeClock;
use crate::lake::{Lake, ZoneId, distance_m};
use crate::trips::error::TripError;
use crate::trips::model::{Leg, Origin, Reason, Trip};

/// Faster than this the boat runs and does not fish, m/s: 6 mph, twice the fastest trolling of the ladder (project choice).
const RUN_M_S: f64 = 2.7;
/// Longest time without a point that counts as fished, s (project choice): recorders that save points skip minutes.
const SILENCE_S: i64 = 600;
/// Longest break inside one trip, h (project choice): after a longer one a new trip begins.
const BREAK_H: i64 = 6;
/// Shortest leg, s (project choice).
const LEG_LEAST_S: f64 = 120.0;

/// What a track does not know.
#[derive(Debug, Clone, Default)]
pub struct CutOptions {
    /// Rods in the water.
    pub rods: Option<u32>,
    /// Why the zones were chosen.
    pub reason: Option<Reason>,
    /// What was run.
    pub presentation: Option<String>,
    /// Depth fished.
    pub depth_m: Option<f64>,
    /// The whole track lies in this zone, whatever its outlines.
    pub zone: Option<ZoneId>,
}

/// A track as trips, and what of it is no leg.
#[derive(Debug, Clone, PartialEq)]
pub struct CutTrack {
    /// Trips.
    pub trips: Vec<Trip>,
    /// Hours that the boat ran.
    pub running_h: f64,
    /// Hours outside every outline.
    pub outside_h: f64,
    /// Hours in legs too short to be one.
    pub short_h: f64,
}

/// A leg with its end.
struct Found {
    leg: Leg,
    start: DateTime<Utc>,
    end: DateTime<Utc>,
}

/// Cuts a track by the outlines of the lake's zones and stretches. Catches are not known: a track is no blank.
///
/// # Errors
/// [`TripError::NoOutlines`] where no zone has an outline and no zone is named.
pub fn cut_track(
    track: &Track,
    lake: &Lake,
    origin: Origin,
    options: &CutOptions,
) -> Result<CutTrack, TripError> {
    let mut places = Places::of(lake);
    let named = options.zone.as_ref().map(|zone| {
        places.list.push(Place {
            zone: zone.clone(),
            stretch: None,
        });
        places.list.len() - 1
    });
    if named.is_none() && places.is_empty() {
        return Err(TripError::NoOutlines);
    }
    let mut cut = CutTrack {
        trips: Vec::new(),
        running_h: 0.0,
        outside_h: 0.0,
        short_h: 0.0,
    };
    let mut found: Vec<Found> = Vec::new();
    for piece in track.pieces.iter().flat_map(|piece| without_silence(piece)) {
        let motion = Motion::of(piece);
        let number = |point: &TrackPoint| named.or_else(|| places.number_of(point));
        let speeds = motion.speeds_m_s();
        let doing: Vec<Doing> = speeds
            .iter()
            .zip(piece)
            .map(|(speed_m_s, point)| match number(point) {
                None => Doing::Outside,
                Some(_) if *speed_m_s > RUN_M_S => Doing::Running,
                Some(place) => Doing::Fishing(place),
            })
            .collect();
        for (doing, range) in runs(&doing, &motion, places.list.len()) {
            let spent_s = motion.since_s[range.end] - motion.since_s[range.start];
            match doing {
                Doing::Outside => cut.outside_h += spent_s / 3600.0,
                Doing::Running => cut.running_h += spent_s / 3600.0,
                Doing::Fishing(_) if spent_s < LEG_LEAST_S => cut.short_h += spent_s / 3600.0,
                Doing::Fishing(place) => {
                    let (points, way_m) = (
                        &piece[range.start..=range.end],
                        motion.way_m[range.end] - motion.way_m[range.start],
                    );
                    found.extend(leg_of(points, way_m, &places.list[place], options));
                }
            }
        }
    }
    found.sort_by_key(|f| f.start);
    cut.trips = trips_of(found, &LakeClock::new(lake.time_zone), origin);
    Ok(cut)
}

/// A piece without its silences: parted where no point came for too long.
fn without_silence(piece: &[TrackPoint]) -> impl Iterator<Item = &[TrackPoint]> {
    let together = |a: &TrackPoint, b: &TrackPoint| b.time - a.time <= Duration::seconds(SILENCE_S);
    piece.chunk_by(together).filter(|part| part.len() > 1)
}

fn leg_of(points: &[TrackPoint], way_m: f64, at: &Place, options: &CutOptions) -> Option<Found> {
    let (first, last) = (points.first()?, points.last()?);
    let spent_s = (last.time - first.time).num_milliseconds() as f64 / 1000.0;
    let straight_m = distance_m(place(first), place(last));
    let leg = Leg {
        stretch: at.stretch.clone(),
        start: Some(first.time),
        rods: options.rods,
        depth_m: options.depth_m,
        speed_m_s: Some(way_m / spent_s),
        drift_m_s: Some(straight_m / spent_s),
        drift_deg: (straight_m > 0.0).then(|| bearing_deg(place(first), place(last))),
        presentation: options.presentation.clone(),
        reason: options.reason,
        ..Leg::of(at.zone.clone(), spent_s / 3600.0)
    };
    Some(Found {
        leg,
        start: first.time,
        end: last.time,
    })
}

/// Legs in order of time as trips: a new one begins after a long break.
fn trips_of(found: Vec<Found>, clock: &LakeClock, origin: Origin) -> Vec<Trip> {
    let mut trips: Vec<Trip> = Vec::new();
    let mut end: Option<DateTime<Utc>> = None;
    for Found {
        leg,
        start,
        end: leg_end,
    } in found
    {
        let is_new = end.is_none_or(|end| start - end > Duration::hours(BREAK_H));
        match trips.last_mut() {
            Some(trip) if !is_new => trip.legs.push(leg),
            _ => trips.push(Trip {
                date: clock.civil_day(start),
                origin,
                note: None,
                legs: vec![leg],
                marks: Vec::new(),
                readings: Vec::new(),
            }),
        }
        end = Some(end.map_or(leg_end, |end| end.max(leg_end)));
    }
    trips.into_iter().map(Trip::tidied).collect()
}
