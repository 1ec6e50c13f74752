//! How long a fit of 2,000 trips and three species takes: `cargo bench --profile dev -- learning`. Wanted: half a second.

#[path = "../tests/properties/learning/angler.rs"]
#[allow(dead_code)]
mod angler;

use std::time::{Duration, Instant};

use plungeline::math::streams::stream;
use plungeline::species::{Species, builtin};
use plungeline::whereabouts::learn::{FitOptions, SpeciesRows, TripRows, fit_together};

use angler::{Truth, simulate_trip, stored_mornings};

/// Trips.
const TRIPS: usize = 2000;
/// Rounds, of which the fastest counts: the others had company.
const ROUNDS: usize = 7;

/// Prints the times.
pub fn report() {
    let (rainbow, kings) = (
        builtin("rainbow-trout").expect("built in"),
        builtin("landlocked-chinook").expect("built in"),
    );
    // The third species stands for one to come: rules of rainbows, fish of its own.
    let all: Vec<(&Species, Vec<TripRows>)> = [(&rainbow, 1), (&kings, 2), (&rainbow, 3)]
        .map(|(s, seed)| (s, trips(s, seed)))
        .into_iter()
        .collect();
    let rows: Vec<SpeciesRows<'_>> = (all.iter())
        .map(|(species, trips)| SpeciesRows {
            species,
            mature_frac: species.maturity.as_ref().map(|m| m.mean_frac()),
            trips,
        })
        .collect();
    let last = all[0].1.iter().map(|t| t.date).max().expect("trips");
    let mut times: Vec<Duration> = (0..ROUNDS)
        .map(|_| {
            let from = Instant::now();
            let fits = fit_together(&rows, &FitOptions::on(last)).expect("fits");
            assert_eq!(fits.len(), 3);
            from.elapsed()
        })
        .collect();
    times.sort();
    println!(
        "fit of {TRIPS} trips x 3 species: fastest {:.3?}, median {:.3?}",
        times[0],
        times[ROUNDS / 2]
    );
}

fn trips(species: &Species, seed: u64) -> Vec<TripRows> {
    let mornings = stored_mornings(&species.id);
    let mut numbers = stream(seed, "bench");
    let truth = Truth::drawn(species, &mut numbers);
    let mature_frac = species.maturity.as_ref().map(|m| m.mean_frac());
    (0..TRIPS)
        .map(|n| {
            simulate_trip(
                (species, mature_frac),
                &truth,
                &mornings[n % mornings.len()],
                n,
                &mut numbers,
            )
        })
        .collect()
}
