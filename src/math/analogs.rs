//! Past cases weighted by how near they are to today.

/// Effective size below which a reader is told that there are few analogs (project choice).
pub const FEW_ANALOGS: f64 = 5.0;

/// Weights of analogs at standardised distances `d`: `exp(-d^2 / 2)`, scaled to add up to 1 (project choice of
/// the kernel; row S-AN). `None` for no distances, one that is not a number, or all of them so far that no
/// weight is left.
///
/// ```
/// assert_eq!(plungeline::math::analogs::weights(&[1.0, 1.0]), Some(vec![0.5, 0.5]));
/// ```
pub fn weights(distances: &[f64]) -> Option<Vec<f64>> {
    if distances.iter().any(|d| d.is_nan()) {
        return None;
    }
    let raw: Vec<f64> = distances.iter().map(|d| (-0.5 * d * d).exp()).collect();
    let sum: f64 = raw.iter().sum();
    (sum > 0.0).then(|| raw.iter().map(|w| w / sum).collect())
}

/// Number of equal analogs that would say as much: `1 / sum w^2`, for weights that add up to 1.
pub fn effective_size(weights: &[f64]) -> f64 {
    1.0 / weights.iter().map(|w| w * w).sum::<f64>()
}

/// `sum w y`, for weights that add up to 1; `None` for arrays of different length or without values.
pub fn weighted_mean(y: &[f64], weights: &[f64]) -> Option<f64> {
    (y.len() == weights.len() && !y.is_empty()).then(|| y.iter().zip(weights).map(|(y, w)| y * w).sum())
}

/// The lower weighted median: the least `y` up to which half of the weight lies (row S-ANm). `None` as for
/// [`weighted_mean`], or where a value is not a number.
pub fn weighted_median(y: &[f64], weights: &[f64]) -> Option<f64> {
    if y.len() != weights.len() || y.iter().chain(weights).any(|v| v.is_nan()) {
        return None;
    }
    let mut pairs: Vec<(f64, f64)> = y.iter().copied().zip(weights.iter().copied()).collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = weights.iter().sum::<f64>() / 2.0;
    let mut reached = 0.0;
    pairs
        .iter()
        .find(|(_, w)| {
            reached += w;
            reached >= half
        })
        .map(|(y, _)| *y)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_analogs_count_in_full_and_one_near_one_counts_alone() {
        let equal = weights(&[0.3; 8]).unwrap();
        assert!((effective_size(&equal) - 8.0).abs() < 1e-12);
        let alone = weights(&[0.0, 9.0, 9.0]).unwrap();
        assert!(effective_size(&alone) < 1.001 && effective_size(&alone) < FEW_ANALOGS);
    }

    #[test]
    fn no_analog_is_said_and_not_guessed() {
        assert_eq!(weights(&[]), None);
        assert_eq!(weights(&[f64::NAN]), None);
        assert_eq!(weights(&[1e9]), None);
        assert_eq!(weighted_mean(&[], &[]), None);
        assert_eq!(weighted_median(&[], &[]), None);
        assert_eq!(weighted_median(&[1.0], &[0.5, 0.5]), None);
    }
}
