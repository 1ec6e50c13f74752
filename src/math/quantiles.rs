//! Quantiles, mean and spread of a sample.

/// The 90 % point of the standard normal distribution (`statrs` 0.18, `Normal::inverse_cdf(0.9)`).
pub const NORMAL_QUANTILE_90: f64 = 1.281_551_565_544_600_4;

/// Quantile of type 7 of Hyndman & Fan (1996): linear between order statistics, with
/// `h = (n - 1) p`, `q = x[floor h] + (h - floor h) (x[floor h + 1] - x[floor h])`, counted from 0.
/// It is the default of R and numpy.
///
/// `sorted` increases; `prob` lies in 0..1. `None` for an empty sample or a `prob` outside.
///
/// ```
/// # use plungeline::math::quantiles::quantile_of_sorted;
/// // numpy 1.26: numpy.quantile([1, 2, 3, 4], 0.1) = 1.3
/// assert!((quantile_of_sorted(&[1.0, 2.0, 3.0, 4.0], 0.1).unwrap() - 1.3).abs() < 1e-12);
/// ```
pub fn quantile_of_sorted(sorted: &[f64], prob: f64) -> Option<f64> {
    if sorted.is_empty() || !(0.0..=1.0).contains(&prob) {
        return None;
    }
    let place = (sorted.len() - 1) as f64 * prob;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    let share = place - below as f64;
    Some(sorted[below] + share * (sorted[above] - sorted[below]))
}

/// Quantiles (type 7) of an unsorted sample, one for each of `probs`. `None` when the sample is empty,
/// holds a value that is no number, or a prob is outside 0..1.
pub fn quantiles<const N: usize>(sample: &[f64], probs: [f64; N]) -> Option<[f64; N]> {
    if sample.iter().any(|x| x.is_nan()) {
        return None;
    }
    let mut sorted = sample.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mut found = [0.0; N];
    for (slot, prob) in found.iter_mut().zip(probs) {
        *slot = quantile_of_sorted(&sorted, prob)?;
    }
    Some(found)
}

/// Median; `None` when the sample is empty or holds a value that is no number.
pub fn median(sample: &[f64]) -> Option<f64> {
    quantiles(sample, [0.5]).map(|[median]| median)
}

/// Quantile by the nearest rank: the value of rank `round((n - 1) p)`, counted from 0. Unlike type 7 it is
/// a value of the sample, and it is found by selection instead of sorting: for long records, where the
/// difference is far below their noise. Reorders `values`. `None` as for [`quantile_of_sorted`].
///
/// ```
/// # use plungeline::math::quantiles::quantile_nearest_rank;
/// assert_eq!(quantile_nearest_rank(&mut [5.0, 1.0, 4.0], 0.5), Some(4.0));
/// assert_eq!(quantile_nearest_rank(&mut [5.0, 1.0, 4.0], 0.8), Some(5.0));
/// ```
pub fn quantile_nearest_rank(values: &mut [f64], prob: f64) -> Option<f64> {
    if values.is_empty() || !(0.0..=1.0).contains(&prob) {
        return None;
    }
    let rank = (prob * (values.len() - 1) as f64).round() as usize;
    Some(*values.select_nth_unstable_by(rank, f64::total_cmp).1)
}

/// Arithmetic mean; `None` for an empty sample.
pub fn mean(sample: &[f64]) -> Option<f64> {
    (!sample.is_empty()).then(|| sample.iter().sum::<f64>() / sample.len() as f64)
}

/// Root of the mean square; `None` for an empty sample.
pub fn root_mean_square(sample: &[f64]) -> Option<f64> {
    (!sample.is_empty()).then(|| (sample.iter().map(|x| x * x).sum::<f64>() / sample.len() as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_of_an_even_sample_lies_in_the_middle() {
        // numpy 1.26: numpy.quantile([5, 1, 4, 2], [0.25, 0.5, 1.0]) = [1.75, 3.0, 5.0]
        assert_eq!(
            quantiles(&[5.0, 1.0, 4.0, 2.0], [0.25, 0.5, 1.0]),
            Some([1.75, 3.0, 5.0])
        );
    }

    #[test]
    fn what_has_no_quantile_says_so() {
        assert_eq!(quantiles(&[], [0.5]), None);
        assert_eq!(quantiles(&[1.0, f64::NAN], [0.5]), None);
        assert_eq!(quantiles(&[1.0], [1.5]), None);
        assert_eq!(median(&[]), None);
        assert_eq!(quantile_nearest_rank(&mut [], 0.5), None);
        assert_eq!(quantile_nearest_rank(&mut [1.0], -0.1), None);
        assert_eq!(mean(&[]), None);
        assert_eq!(root_mean_square(&[]), None);
    }
}
