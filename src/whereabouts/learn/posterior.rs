//! The logarithm of the posterior of all coefficients, with exact slopes.

use nalgebra::{DMatrix, DVector};

use super::design::{CountRow, RowK, TripDesign};
use super::share::MorningShares;
use crate::math::counts::{count_ln_prob, count_slopes};
use crate::math::newton::Hill;

/// Counts of all trips under `z ~ N(0, 1)`:
/// `sum w ln NB2(y; mu, k) - |z|^2 / 2`, `ln mu = offset + sum x z + ln share(z)`.
#[derive(Debug, Clone)]
pub struct Posterior {
    /// Trips of all species.
    pub trips: Vec<TripDesign>,
    /// Parameters in all.
    pub parameters: usize,
    /// Spread of zones and stretches.
    pub place_sd: f64,
}

impl RowK {
    /// Its value at the parameters `z`.
    pub fn at(self, z: &[f64]) -> f64 {
        match self {
            RowK::Held(k) => k,
            RowK::Fitted { place, mean, scale } => (mean + scale * z[place]).exp(),
        }
    }
}

impl Posterior {
    fn ln_mu(&self, row: &CountRow, shares: &MorningShares, z: &[f64]) -> f64 {
        let by_place: f64 = row.by_place.iter().map(|(k, x)| x * z[*k]).sum();
        let places: f64 = row.places.iter().map(|k| self.place_sd * z[*k]).sum();
        row.offset + by_place + places + shares.share(row.zone).ln()
    }

    /// Logarithm of the likelihood of one trip, unweighted.
    pub fn trip_ln_likelihood(&self, trip: &TripDesign, z: &[f64]) -> f64 {
        let shares = trip.share.at(z, false);
        let of = |row: &CountRow| count_ln_prob(row.count, self.ln_mu(row, &shares, z).exp(), row.k.at(z));
        trip.rows.iter().map(of).sum()
    }

    /// Adds `weight` times the gradient and curvature of one trip's likelihood; of the curvature the lower half only.
    pub fn add_trip(
        &self,
        trip: &TripDesign,
        z: &[f64],
        weight: f64,
        gradient: &mut DVector<f64>,
        curvature: &mut DMatrix<f64>,
    ) {
        let shares = trip.share.at(z, true);
        let count = curvature.nrows();
        let lower = curvature.as_mut_slice();
        let mut add = |a: usize, b: usize, x: f64| lower[b.min(a) * count + a.max(b)] += x;
        let (mut of_share, mut bend) = (Vec::new(), Vec::new());
        let mut slope: Vec<(usize, f64)> = Vec::new();
        for row in &trip.rows {
            let k = row.k.at(z);
            let mu = self.ln_mu(row, &shares, z).exp();
            let fitted = matches!(row.k, RowK::Fitted { .. });
            let s = count_slopes(row.count, mu, k, fitted);
            shares.slopes(row.zone, &mut of_share, &mut bend);
            slope.clear();
            slope.extend(trip.share.speaks.iter().copied().zip(of_share.iter().copied()));
            slope.extend(&row.by_place);
            slope.extend(row.places.iter().map(|k| (*k, self.place_sd)));
            for (i, (a, x)) in slope.iter().enumerate() {
                gradient[*a] += weight * s.by_mean * x;
                let scaled = weight * s.mean_curvature * x;
                for (b, y) in &slope[..=i] {
                    add(*a, *b, scaled * y);
                }
            }
            let speaks = &trip.share.speaks;
            for (i, a) in speaks.iter().enumerate() {
                for (b, bend) in speaks[..=i].iter().zip(&bend[i * speaks.len()..]) {
                    add(*a, *b, -weight * s.by_mean * bend);
                }
            }
            if let RowK::Fitted { place, scale, .. } = row.k {
                gradient[place] += weight * scale * s.by_k;
                add(place, place, weight * scale * scale * s.k_curvature);
                for (a, x) in &slope {
                    add(*a, place, weight * scale * s.cross_curvature * x);
                }
            }
        }
    }

    /// Curvature of prior and likelihood, each trip counted by `weight`.
    pub fn curvature_by(&self, z: &[f64], weight: impl Fn(&TripDesign) -> f64) -> DMatrix<f64> {
        let mut gradient = DVector::zeros(self.parameters);
        let mut curvature = DMatrix::identity(self.parameters, self.parameters);
        for trip in &self.trips {
            self.add_trip(trip, z, weight(trip), &mut gradient, &mut curvature);
        }
        curvature.fill_upper_triangle_with_lower_triangle();
        curvature
    }
}

impl Hill for Posterior {
    fn value(&mut self, z: &[f64]) -> f64 {
        let of = |trip: &TripDesign| trip.weight * self.trip_ln_likelihood(trip, z);
        self.trips.iter().map(of).sum::<f64>() - 0.5 * z.iter().map(|z| z * z).sum::<f64>()
    }

    fn slopes(&mut self, z: &[f64]) -> (DVector<f64>, DMatrix<f64>) {
        let mut gradient = -DVector::from_column_slice(z);
        let mut curvature = DMatrix::identity(self.parameters, self.parameters);
        for trip in &self.trips {
            self.add_trip(trip, z, trip.weight, &mut gradient, &mut curvature);
        }
        curvature.fill_upper_triangle_with_lower_triangle();
        (gradient, curvature)
    }
}
