//! The log of the demonstration: a season of trips of an invented angler at the demonstration lake (`fixtures/trips/season.csv`).
//!
//! His fish have coefficients of their own, drawn from the priors of the species files with a fixed seed; where he goes, what he catches and
//! what bait he marks are drawn as `angler` has it. `cargo run --example generate_season` writes the file anew.

use chrono::{Duration, NaiveDate};
use chrono_tz::America::Los_Angeles;
use plungeline::lake::{SpeciesId, ZoneId};
use plungeline::math::streams::{stream, uniform};
use plungeline::species::{Species, builtin};
use plungeline::trips::{Catch, Leg, Mark, MarkKind, Origin, Trip};
use plungeline::whereabouts::learn::report::shares_at;
use rand_chacha::ChaCha12Rng;

use super::angler::{StoredMorning, Truth, negative_binomial, simulate_trip, stored_mornings};

/// Part of the mornings on which he goes out.
const GOES_FRAC: f64 = 0.85;
/// Rods in his boat.
const RODS: u32 = 2;
/// Marks of bait an hour in the main body and up the arms, and their dispersion.
const BAIT_PER_H: (f64, f64) = (1.0, 3.0);
const BAIT_K: f64 = 1.0;

/// A species, its fish, and its mornings.
struct Fish {
    species: Species,
    mature_frac: Option<f64>,
    truth: Truth,
    mornings: Vec<StoredMorning>,
}

/// The season, in the order of its days.
pub fn season() -> Vec<Trip> {
    let mut numbers = stream(1, "season");
    let fish: Vec<Fish> = ["rainbow-trout", "landlocked-chinook"]
        .into_iter()
        .map(|id| {
            let species = builtin(id).expect("a species of the program");
            Fish {
                mature_frac: species.maturity.as_ref().map(|m| m.mean_frac()),
                truth: Truth::drawn(&species, &mut numbers),
                mornings: stored_mornings(id),
                species,
            }
        })
        .collect();
    let mut trips = Vec::new();
    for at in 0..fish[0].mornings.len() {
        if uniform(&mut numbers) < GOES_FRAC {
            trips.push(trip(&fish, at, &mut numbers));
        }
    }
    trips
}

/// A trip on the morning `at`: zones as the rules for rainbow trout and habit send him, every species caught by its own truth.
fn trip(fish: &[Fish], at: usize, numbers: &mut ChaCha12Rng) -> Trip {
    let leader = &fish[0];
    let of_leader = (&leader.species, leader.mature_frac);
    let planned = simulate_trip(of_leader, &leader.truth, &leader.mornings[at], at, numbers);
    let date = leader.mornings[at].date;
    let mut start = date
        .and_hms_opt(6, 30, 0)
        .and_then(|at| at.and_local_timezone(Los_Angeles).earliest())
        .expect("half past six is an hour of every day")
        .to_utc();
    let mut trip = Trip {
        date,
        origin: Origin::Told,
        note: None,
        legs: Vec::new(),
        marks: Vec::new(),
        readings: Vec::new(),
    };
    for effort in planned.efforts {
        // A quarter of an hour is as fine as he writes.
        let duration_h = (effort.effort_h / f64::from(RODS) * 4.0).round().max(1.0) / 4.0;
        let mut leg = Leg::of(effort.zone.clone(), duration_h);
        leg.start = Some(start);
        leg.rods = Some(RODS);
        leg.reason = effort.reason;
        leg.catch_known = true;
        leg.stretch = stretch(&effort.zone, numbers);
        for one in fish {
            let count = caught(one, at, &effort.zone, duration_h, numbers);
            leg.catches.extend((count > 0).then(|| Catch {
                species: SpeciesId::new(one.species.id.clone()),
                count,
                released: Some(count),
                length_m: None,
                depth_m: None,
            }));
        }
        let per_h = if effort.zone.as_str() == "main" {
            BAIT_PER_H.0
        } else {
            BAIT_PER_H.1
        };
        let bait = negative_binomial(per_h * duration_h, BAIT_K, numbers);
        trip.marks.extend((bait > 0).then(|| Mark {
            zone: effort.zone.clone(),
            time: None,
            kind: MarkKind::Bait,
            depth_m: 9.0,
            count: Some(bait),
        }));
        start += Duration::minutes((duration_h * 60.0) as i64 + 15);
        trip.legs.push(leg);
    }
    trip.tidied()
}

fn caught(of: &Fish, at: usize, zone: &ZoneId, duration_h: f64, numbers: &mut ChaCha12Rng) -> u32 {
    let stored = &of.mornings[at];
    let shares = shares_at(&of.species, of.mature_frac, &stored.morning, &of.truth.beta);
    let others = stored.morning.zones.iter().map(|z| &z.zone);
    let place = std::iter::once(&stored.morning.main)
        .chain(others)
        .position(|id| id == zone)
        .expect("a zone of the morning");
    let terms = stored.catch_response.get(zone).cloned().unwrap_or_default();
    of.truth
        .catch(zone, shares[place], &terms, f64::from(RODS) * duration_h, numbers)
}

/// A stretch of the zone, or none, with equal chances.
fn stretch(zone: &ZoneId, numbers: &mut ChaCha12Rng) -> Option<String> {
    let there: &[&str] = match zone.as_str() {
        "main" => &["narrows", "ferry-bluffs", "junction-hump"],
        "sorrel" => &["tollhouse-wall"],
        "wicket" => &["heron-flat"],
        _ => &[],
    };
    let at = (uniform(numbers) * (there.len() + 1) as f64) as usize;
    there.get(at).map(|id| (*id).to_owned())
}

/// Days of the season.
pub fn days(trips: &[Trip]) -> Option<(NaiveDate, NaiveDate)> {
    Some((trips.first()?.date, trips.last()?.date))
}
