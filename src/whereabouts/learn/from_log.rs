//! From the trip log and the mornings of its trips to the rows of a fit.

use std::collections::BTreeMap;

use super::features::{Features, SpeciesFeatures};
use super::rows::{Effort, Marks, TripRows};
use super::stretch_table::Caught;
use crate::lake::SpeciesId;
use crate::species::{CatchResponse, Species};
use crate::trips::{
    EffortRow, Known, Leg, Light, MarkKind, StoredTrip, effort_and_catch, effort_and_catch_of, mark_rows,
};

/// How far from the predicted band hours still count (science reference 4.3): depth confounds zone.
pub const BESIDE_BAND_M: f64 = 5.0;
/// Why a leg is left out there.
const BEYOND_BAND: &str = "it was fished more than 5 m above or below the predicted band";

/// What of a trip has no part in the rows of a species, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotInRows {
    /// Number of the trip.
    pub trip: u32,
    /// Number of the leg, from 1; `None` where it is the whole trip.
    pub leg: Option<usize>,
    /// Species; `None` for all.
    pub species: Option<SpeciesId>,
    /// Why.
    pub why: &'static str,
}

/// The rows of all species, in the order given, and what has no part in them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogRows {
    /// Trips by species. Shape `[species][trip]`.
    pub trips: Vec<Vec<TripRows>>,
    /// All hours and fish of the log by species, those without a part in the fit too.
    pub caught: Vec<Vec<Caught>>,
    /// What was left out.
    pub left_out: Vec<NotInRows>,
}

/// The rows of `trips` for each of `species`, with what their mornings offered, in `features` by the number of the trip.
///
/// A trip on whose morning nothing is known of a species has no part, and neither has a leg that was fished more than 5 m off the
/// band that was predicted for its zone. A leg of unknown depth, or in a zone without a band, counts. Half-light is that of the
/// trip's own hours where they are known, else as the angler saw the light, else that of the morning. Marks of bait are left to the rule
/// that looks at forage, where a species has one: they would count twice.
pub fn log_rows(
    trips: &[StoredTrip],
    known: &Known<'_>,
    species: &[Species],
    features: &BTreeMap<u32, Features>,
) -> LogRows {
    let of = |trip: u32, id: &SpeciesId| features.get(&trip).and_then(|offered| offered.get(id));
    let refused = |trip: u32, leg: &Leg, id: &SpeciesId| {
        let band = of(trip, id)?.band.get(&leg.zone)?;
        let depth_m = leg.depth_m?;
        let beside = depth_m < band.top_m - BESIDE_BAND_M || depth_m > band.bottom_m + BESIDE_BAND_M;
        beside.then_some(BEYOND_BAND)
    };
    let effort = effort_and_catch_of(trips, known, &refused);
    let marks = mark_rows(trips);
    let everything = effort_and_catch(trips, known).rows;
    let mut rows = LogRows {
        trips: Vec::new(),
        caught: Vec::new(),
        left_out: (effort.left_out.into_iter())
            .map(|left| NotInRows {
                trip: left.trip,
                leg: Some(left.leg),
                species: left.species,
                why: left.why,
            })
            .collect(),
    };
    for one in species {
        let id = SpeciesId::new(one.id.clone());
        let sees_bait = one
            .rules
            .iter()
            .any(|r| r.response == crate::species::Response::ForageDifference);
        let mut own = Vec::new();
        for (number, trip) in trips {
            let Some(found) = of(*number, &id).filter(|f| f.are_of(one)) else {
                rows.left_out.push(NotInRows {
                    trip: *number,
                    leg: None,
                    species: Some(id.clone()),
                    why: "what the rules look at is not known of its morning",
                });
                continue;
            };
            let efforts = effort
                .rows
                .iter()
                .filter(|r| r.trip == *number && r.species == id);
            let efforts: Vec<Effort> = efforts.map(|row| effort_of(one, row, found)).collect();
            let marks = marks
                .iter()
                .filter(|m| m.trip == *number && !(sees_bait && m.kind == MarkKind::Bait));
            let marks: Vec<Marks> = marks
                .map(|m| Marks {
                    zone: m.zone.clone(),
                    kind: m.kind,
                    watched_h: m.watched_h,
                    count: m.count,
                })
                .collect();
            if efforts.is_empty() && marks.is_empty() {
                continue;
            }
            own.push(TripRows {
                trip: number.to_string(),
                date: trip.date,
                morning: found.morning.clone(),
                efforts,
                marks,
            });
        }
        rows.trips.push(own);
        let own = everything.iter().filter(|row| row.species == id);
        rows.caught.push(own.map(caught_of).collect());
    }
    rows
}

fn caught_of(row: &EffortRow) -> Caught {
    Caught {
        date: row.date,
        zone: row.zone.clone(),
        stretch: row.stretch.clone(),
        effort_h: row.rod_h,
        catch: row.catch_count,
        surface_temp_degc: row.surface_temp_degc,
    }
}

fn effort_of(species: &Species, row: &EffortRow, features: &SpeciesFeatures) -> Effort {
    let of_morning = features.catch_response.get(&row.zone);
    let response = |(place, term): (usize, &crate::species::CatchRow)| {
        let of_morning = of_morning.and_then(|r| r.get(place)).copied().unwrap_or(0.0);
        match &term.response {
            CatchResponse::HalfLight => half_light_frac(row).unwrap_or(of_morning),
            _ => of_morning,
        }
    };
    Effort {
        zone: row.zone.clone(),
        stretch: row.stretch.clone(),
        effort_h: row.rod_h,
        catch: row.catch_count,
        catch_response: species.catchability.iter().enumerate().map(response).collect(),
        reason: row.reason,
        surface_temp_degc: row.surface_temp_degc,
    }
}

/// Share of the hours in half-light: by the sun where the hours are known, else as the angler saw the light.
fn half_light_frac(row: &EffortRow) -> Option<f64> {
    let seen = || match row.light? {
        Light::Dawn | Light::Dusk => Some(1.0),
        Light::Day | Light::Night => Some(0.0),
    };
    row.half_light_frac.or_else(seen)
}
