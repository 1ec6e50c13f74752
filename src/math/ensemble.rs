//! An ensemble corrected by one number observed: the serial square-root update, localisation, kept spread.
//!
//! Sums over the members are taken in order of size, so that the order of the members does not change a bit.

/// What one observation does to everything that its prediction goes together with.
///
/// ```text
/// K = w cov(x, h) / (var(h) + r),  a = 1 / (1 + sqrt(r / (var(h) + r)))
/// x_m <- x_m + K (y - mean h) - a K (h_m - mean h)
/// ```
///
/// h_m = what member m predicts of the observation, y = the observation, r = the variance of its error, w = the weight of
/// the localisation, x = any row of the state. Without localisation mean and covariance come out as those of the
/// Kalman filter with the ensemble's own covariance, without perturbing the observation.
/// Source: Whitaker & Hamill 2002, Mon. Weather Rev. 130, 1913-1924, eqs. 10-13.
#[derive(Debug, Clone, PartialEq)]
pub struct ScalarUpdate {
    departures: Vec<f64>,
    innovation: f64,
    variance: f64,
    error_variance: f64,
}

impl ScalarUpdate {
    /// From what the members predict, shape `[member]`, the observed number and the variance of its error. `None` for
    /// fewer than two members, for a number that is not finite, and for a variance below 0 or not a number; an
    /// infinite one changes nothing.
    pub fn new(predicted: &[f64], observed: f64, error_variance: f64) -> Option<ScalarUpdate> {
        let (mean, variance) = mean_and_variance(predicted)?;
        if !(mean.is_finite() && variance.is_finite() && observed.is_finite() && error_variance >= 0.0) {
            return None;
        }
        Some(ScalarUpdate {
            departures: predicted.iter().map(|h| h - mean).collect(),
            innovation: observed - mean,
            variance,
            error_variance,
        })
    }

    /// Observation less the members' mean.
    pub fn innovation(&self) -> f64 {
        self.innovation
    }

    /// Variance of the members' predictions.
    pub fn variance(&self) -> f64 {
        self.variance
    }

    /// The change of each member of a row of the state, shape `[member]`, at a weight of 0 to 1. `None` where there is
    /// nothing to change: no spread, an infinite error, a row of another length.
    pub fn changes(&self, row: &[f64], weight: f64) -> Option<Vec<f64>> {
        let total = self.variance + self.error_variance;
        if weight == 0.0 || total == 0.0 || total.is_infinite() || row.len() != self.departures.len() {
            return None;
        }
        let (mean, _) = mean_and_variance(row)?;
        let products = row.iter().zip(&self.departures).map(|(x, h)| (x - mean) * h);
        let covariance = ordered_sum(products.collect()) / (row.len() - 1) as f64;
        let gain = weight * covariance / total;
        let reduction = 1.0 / (1.0 + (self.error_variance / total).sqrt());
        let change = |h: &f64| gain * (self.innovation - reduction * h);
        Some(self.departures.iter().map(change).collect())
    }

    /// Corrects a row of the state in place.
    pub fn apply(&self, row: &mut [f64], weight: f64) {
        let changes = self.changes(row, weight).unwrap_or_default();
        for (x, change) in row.iter_mut().zip(changes) {
            *x += change;
        }
    }
}

/// Mean and variance (over one less than the members) of a row; `None` for fewer than two members.
pub fn mean_and_variance(row: &[f64]) -> Option<(f64, f64)> {
    if row.len() < 2 {
        return None;
    }
    let mean = ordered_sum(row.to_vec()) / row.len() as f64;
    let squares = row.iter().map(|x| (x - mean) * (x - mean)).collect();
    Some((mean, ordered_sum(squares) / (row.len() - 1) as f64))
}

/// Gives back a share of the spread that an analysis took: departures times `1 + share (before - now) / now`.
///
/// `sd_before` = standard deviation of the row before the analysis. `share` 0 leaves the row, 1 restores the whole
/// spread. A row without spread stays. The mean is kept.
/// Source: Whitaker & Hamill 2012, Mon. Weather Rev. 140, 3078-3089, eq. 2 (relaxation to prior spread).
pub fn relax_spread(row: &mut [f64], sd_before: f64, share: f64) {
    let Some((mean, variance)) = mean_and_variance(row) else {
        return;
    };
    let sd = variance.sqrt();
    if sd > 0.0 && share * (sd_before - sd) != 0.0 {
        let factor = 1.0 + share * (sd_before - sd) / sd;
        for x in row {
            *x = mean + factor * (*x - mean);
        }
    }
}

/// Weight of a distance: 1 at none, 0 from two half-widths on, smooth between, and such that a covariance weighted by it
/// stays one.
///
/// ```text
/// z <= 1: -z^5/4 + z^4/2 + 5 z^3/8 - 5 z^2/3 + 1
/// z <= 2: z^5/12 - z^4/2 + 5 z^3/8 + 5 z^2/3 - 5 z + 4 - 2/(3 z)
/// ```
///
/// z = `half_widths`, the distance over the half-width; its sign is of no account.
/// Source: Gaspari & Cohn 1999, Q. J. R. Meteorol. Soc. 125, 723-757, eq. 4.10.
pub fn localisation_weight(half_widths: f64) -> f64 {
    let z = half_widths.abs();
    if z <= 1.0 {
        (((-0.25 * z + 0.5) * z + 0.625) * z - 5.0 / 3.0) * z * z + 1.0
    } else if z < 2.0 {
        let polynomial = ((((z / 12.0 - 0.5) * z + 0.625) * z + 5.0 / 3.0) * z - 5.0) * z + 4.0;
        (polynomial - 2.0 / (3.0 * z)).max(0.0)
    } else {
        0.0
    }
}

/// The sum in order of size, which does not depend on the order that the numbers come in.
pub fn ordered_sum(mut numbers: Vec<f64>) -> f64 {
    numbers.sort_by(f64::total_cmp);
    numbers.iter().sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::streams::{normal, stream};
    use nalgebra::{DMatrix, DVector};

    const MEMBERS: usize = 24;

    /// Rows of three numbers that go together, `[row][member]`.
    fn ensemble(seed: u64) -> Vec<Vec<f64>> {
        let mut numbers = stream(seed, "ensemble");
        let mut rows = vec![Vec::new(); 3];
        for _ in 0..MEMBERS {
            let (a, b, c) = (normal(&mut numbers), normal(&mut numbers), normal(&mut numbers));
            rows[0].push(10.0 + 2.0 * a);
            rows[1].push(5.0 + a + 0.5 * b);
            rows[2].push(-1.0 + 0.3 * a - b + 0.2 * c);
        }
        rows
    }

    fn moments(rows: &[Vec<f64>]) -> (DVector<f64>, DMatrix<f64>) {
        let members = rows[0].len() as f64;
        let mean = DVector::from_iterator(3, rows.iter().map(|r| r.iter().sum::<f64>() / members));
        let covariance = DMatrix::from_fn(3, 3, |i, j| {
            let products = rows[i].iter().zip(&rows[j]);
            products.map(|(a, b)| (a - mean[i]) * (b - mean[j])).sum::<f64>() / (members - 1.0)
        });
        (mean, covariance)
    }

    /// An observation: coefficients of the state, number, variance of its error.
    type Seen = ([f64; 3], f64, f64);

    const SEEN: [Seen; 3] = [
        ([1.0, 0.0, 0.0], 12.5, 0.7),
        ([0.0, 0.4, 0.6], 0.0, 0.2),
        ([0.0, 0.0, 1.0], -2.0, 1.5),
    ];

    fn predicted(rows: &[Vec<f64>], by: [f64; 3]) -> Vec<f64> {
        let of = |m: usize| by.iter().zip(rows).map(|(c, row)| c * row[m]).sum();
        (0..rows[0].len()).map(of).collect()
    }

    fn assimilated(mut rows: Vec<Vec<f64>>, seen: &[Seen]) -> Vec<Vec<f64>> {
        for (by, observed, variance) in seen {
            let update = ScalarUpdate::new(&predicted(&rows, *by), *observed, *variance).unwrap();
            rows.iter_mut().for_each(|row| update.apply(row, 1.0));
        }
        rows
    }

    #[test]
    fn mean_and_covariance_are_those_of_the_kalman_filter() {
        let rows = ensemble(1);
        let (mut mean, mut covariance) = moments(&rows);
        // The filter of all three observations at once, by matrices: K = P H' (H P H' + R)^-1 (Kalman 1960).
        let h = DMatrix::from_fn(3, 3, |i, j| SEEN[i].0[j]);
        let r = DMatrix::from_fn(3, 3, |i, j| if i == j { SEEN[i].2 } else { 0.0 });
        let y = DVector::from_iterator(3, SEEN.iter().map(|s| s.1));
        let gain =
            &covariance * h.transpose() * (&h * &covariance * h.transpose() + r).try_inverse().unwrap();
        mean += &gain * (y - &h * &mean);
        covariance -= &gain * &h * covariance.clone();
        let (found_mean, found_covariance) = moments(&assimilated(rows, &SEEN));
        // Rounding of some hundred operations on numbers of order 10.
        assert!((found_mean - mean).amax() < 1e-12);
        assert!((found_covariance - covariance).amax() < 1e-12);
    }

    #[test]
    fn one_observation_as_good_as_the_prior_halves_the_variance() {
        // Prior 0 with variance 1, observed 1 with variance 1: 0.5 with variance 0.5 (Bayes' rule for two normals).
        let mut row = vec![-1.0, 0.0, 1.0];
        let update = ScalarUpdate::new(&row, 1.0, 1.0).unwrap();
        update.apply(&mut row, 1.0);
        let (mean, variance) = mean_and_variance(&row).unwrap();
        assert!((mean - 0.5).abs() < 1e-15 && (variance - 0.5).abs() < 1e-15);
    }

    #[test]
    fn members_in_another_order_are_corrected_alike_to_the_bit() {
        let rows = ensemble(2);
        let order: Vec<usize> = (0..MEMBERS).map(|m| (m * 7 + 3) % MEMBERS).collect();
        let shuffled: Vec<Vec<f64>> = rows
            .iter()
            .map(|row| order.iter().map(|m| row[*m]).collect())
            .collect();
        let (plain, moved) = (assimilated(rows, &SEEN), assimilated(shuffled, &SEEN));
        for (row, other) in plain.iter().zip(&moved) {
            for (place, m) in order.iter().enumerate() {
                assert_eq!(row[*m].to_bits(), other[place].to_bits());
            }
        }
    }

    #[test]
    fn independent_observations_give_the_same_moments_in_any_order() {
        let (mean, covariance) = moments(&assimilated(ensemble(3), &SEEN));
        let turned: Vec<Seen> = SEEN.into_iter().rev().collect();
        let (other_mean, other_covariance) = moments(&assimilated(ensemble(3), &turned));
        // Rounding, as above.
        assert!((mean - other_mean).amax() < 1e-12);
        assert!((covariance - other_covariance).amax() < 1e-12);
    }

    #[test]
    fn an_infinite_error_or_no_weight_changes_nothing() {
        let rows = ensemble(4);
        let mut row = rows[1].clone();
        ScalarUpdate::new(&rows[0], 30.0, f64::INFINITY)
            .unwrap()
            .apply(&mut row, 1.0);
        ScalarUpdate::new(&rows[0], 30.0, 0.1)
            .unwrap()
            .apply(&mut row, 0.0);
        assert_eq!(row, rows[1]);
    }

    #[test]
    fn what_is_no_number_or_no_ensemble_is_refused() {
        assert!(ScalarUpdate::new(&[1.0], 1.0, 1.0).is_none());
        assert!(ScalarUpdate::new(&[1.0, f64::NAN], 1.0, 1.0).is_none());
        assert!(ScalarUpdate::new(&[1.0, 2.0], f64::INFINITY, 1.0).is_none());
        assert!(ScalarUpdate::new(&[1.0, 2.0], 1.0, -1.0).is_none());
        assert!(ScalarUpdate::new(&[1.0, 2.0], 1.0, f64::NAN).is_none());
    }

    #[test]
    fn relaxed_spread_lies_between_and_keeps_the_mean() {
        let mut row = vec![1.0, 2.0, 3.0];
        relax_spread(&mut row, 3.0, 0.5);
        // Spread 1 now, 3 before, half of the way: 2.
        assert_eq!(row, [0.0, 2.0, 4.0]);
        let mut flat = vec![2.0, 2.0];
        relax_spread(&mut flat, 3.0, 0.5);
        assert_eq!(flat, [2.0, 2.0]);
    }

    /// The weight by its origin: the hat `1 - r` (r < 1) in space convolved with itself at a distance, over that at none.
    fn convolved(distance: f64) -> f64 {
        let hat = |r: f64| (1.0 - r).max(0.0);
        let step = 0.01;
        let mut sums = (0.0, 0.0);
        for i in 0..200 {
            let along = -1.0 + (f64::from(i) + 0.5) * step;
            for k in 0..100 {
                let across = (f64::from(k) + 0.5) * step;
                let here = hat(along.hypot(across)) * across;
                sums.0 += here * hat((along - distance).hypot(across));
                sums.1 += here * hat(along.hypot(across));
            }
        }
        sums.0 / sums.1
    }

    #[test]
    fn the_weight_is_the_convolution_that_it_comes_from() {
        for z in [0.0, 0.3, 0.7, 1.0, 1.2, 1.6, 1.9, 2.5] {
            // The sum above has errors of the square of its step, 1e-4.
            assert!((localisation_weight(z) - convolved(z)).abs() < 2e-4, "{z}");
            assert_eq!(localisation_weight(z), localisation_weight(-z));
        }
        // 5/24, by hand from either branch at z = 1.
        assert!((localisation_weight(1.0) - 5.0 / 24.0).abs() < 1e-15);
    }
}
