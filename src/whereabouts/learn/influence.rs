//! Which trips moved each coefficient most.

use nalgebra::{Cholesky, DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::fit::SpeciesFit;
use super::rows::SpeciesRows;

/// Trips named for a coefficient (project choice).
pub const TRIPS_NAMED: usize = 3;

/// How far one trip moved one coefficient.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Influence {
    /// Trip.
    pub trip: String,
    /// Its day.
    pub date: chrono::NaiveDate,
    /// Coefficient with the trip less that without it, in prior standard deviations.
    pub moved_sd: f64,
}

/// By coefficient of the species, the trips that moved it most, the largest first.
///
/// Without trip `t` the top lies about one Newton step from the top of all:
/// `z - z_without = (H - H_t)^-1 g_t`, with gradient `g_t` and curvature `H_t` of the trip's likelihood. Source: one-step
/// deletion, Cook & Weisberg 1982 (from memory); checked against fits without the trip. Dispersion and spread of places stay as
/// they are.
pub fn influences(fit: &SpeciesFit, rows: &SpeciesRows<'_>) -> Vec<Vec<Influence>> {
    let coefficients = rows.species.rules.len() + rows.species.catchability.len();
    let mut by_coefficient = vec![Vec::new(); coefficients];
    for (trip, moved) in moves(fit) {
        let Some(rows) = rows.trips.get(trip) else {
            continue;
        };
        for (k, of) in by_coefficient.iter_mut().enumerate() {
            let moved_sd = moved[k];
            if moved_sd != 0.0 {
                of.push(Influence {
                    trip: rows.trip.clone(),
                    date: rows.date,
                    moved_sd,
                });
            }
        }
    }
    for of in &mut by_coefficient {
        of.sort_by(|a, b| b.moved_sd.abs().total_cmp(&a.moved_sd.abs()));
        of.truncate(TRIPS_NAMED);
    }
    by_coefficient
}

/// For each trip of the species, by its index among the rows: how far it moved every parameter of the species.
pub fn moves(fit: &SpeciesFit) -> Vec<(usize, Vec<f64>)> {
    let whole = &fit.whole;
    let count = whole.posterior.parameters;
    let of = |index: usize| {
        let trip = &whole.posterior.trips[index];
        let (mut gradient, mut curvature) = (DVector::zeros(count), DMatrix::zeros(count, count));
        whole
            .posterior
            .add_trip(trip, &whole.top.at, trip.weight, &mut gradient, &mut curvature);
        // Where the rest does not curve down by itself, one step says nothing: the curvature of all stands in.
        let root = Cholesky::new(&whole.top.curvature - &curvature)
            .or_else(|| Cholesky::new(whole.top.curvature.clone()))?;
        let moved = root.solve(&gradient);
        Some((trip.trip, whole.place.iter().map(|k| moved[*k]).collect()))
    };
    whole.own.clone().filter_map(of).collect()
}
