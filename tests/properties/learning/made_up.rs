//! Made-up mornings and trips with every rule speaking somewhere.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use plungeline::lake::ZoneId;
use plungeline::math::streams::uniform;
use plungeline::species::Species;
use plungeline::whereabouts::learn::{Effort, FitOptions, Morning, TripRows, ZoneFeatures};
use rand_chacha::ChaCha12Rng;

use super::angler::{StoredMorning, Truth};

/// Main body, two arms.
pub const ZONES: [&str; 3] = ["main", "north", "south"];

pub fn day(number: usize) -> NaiveDate {
    NaiveDate::from_ymd_opt(2020, 1, 6).unwrap() + chrono::Days::new(7 * number as u64)
}

pub fn options() -> FitOptions {
    FitOptions::on(day(3000))
}

/// A morning on which each rule speaks in each arm with a chance of a half, and the constant always.
pub fn morning(species: &Species, number: usize, numbers: &mut ChaCha12Rng) -> StoredMorning {
    let mut zones = Vec::new();
    for zone in &ZONES[1..] {
        let mut response = Vec::new();
        for rule in &species.rules {
            let (speaks, x) = (uniform(numbers), uniform(numbers));
            response.push(match rule.id.as_str() {
                "R0" => 1.0,
                "R0-river" => 0.0,
                // A volume's logarithm and a difference of suitabilities are of these sizes.
                "R1" => -2.5 * x,
                "R2" => 0.6 * (x - 0.5),
                _ if speaks < 0.5 => x,
                _ => 0.0,
            });
        }
        zones.push(ZoneFeatures {
            zone: ZoneId::new(*zone),
            closed: false,
            response,
        });
    }
    let mut responses = BTreeMap::new();
    for zone in ZONES {
        let of = (0..species.catchability.len())
            .map(|_| uniform(numbers) - 0.3)
            .collect();
        responses.insert(ZoneId::new(zone), of);
    }
    StoredMorning {
        date: day(number),
        morning: Morning {
            main: ZoneId::new("main"),
            zones,
        },
        catch_response: responses,
    }
}

/// A trip to `zone` (a place in [`ZONES`]) of 3 to 8 rod-hours.
pub fn trip(
    (species, mature_frac): (&Species, Option<f64>),
    truth: &Truth,
    number: usize,
    zone: usize,
    numbers: &mut ChaCha12Rng,
) -> TripRows {
    let stored = morning(species, number, numbers);
    let shares =
        plungeline::whereabouts::learn::report::shares_at(species, mature_frac, &stored.morning, &truth.beta);
    let id = ZoneId::new(ZONES[zone]);
    let effort_h = 3.0 + 5.0 * uniform(numbers);
    let catch_response = stored.catch_response[&id].clone();
    TripRows {
        trip: format!("trip-{number}"),
        date: stored.date,
        morning: stored.morning,
        efforts: vec![Effort {
            catch: truth.catch(&id, shares[zone], &catch_response, effort_h, numbers),
            zone: id,
            stretch: None,
            effort_h,
            catch_response,
            reason: None,
            surface_temp_degc: None,
        }],
        marks: Vec::new(),
    }
}

/// Trips to zones at random.
pub fn trips(
    of: (&Species, Option<f64>),
    truth: &Truth,
    count: usize,
    numbers: &mut ChaCha12Rng,
) -> Vec<TripRows> {
    (0..count)
        .map(|number| {
            let zone = (uniform(numbers) * 3.0) as usize;
            trip(of, truth, number, zone.min(2), numbers)
        })
        .collect()
}
