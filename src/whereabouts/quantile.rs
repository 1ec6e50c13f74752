//! Order statistics of small samples.

/// The `prob` quantile of `values`, linear between order statistics (type 7 of Hyndman & Fan 1996);
/// `None` for an empty sample.
pub fn quantile(values: &[f64], prob: f64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    quantile_of_sorted(&sorted, prob)
}

/// The same of values that are sorted already.
pub fn quantile_of_sorted(sorted: &[f64], prob: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let position = prob.clamp(0.0, 1.0) * last as f64;
    let below = position.floor() as usize;
    let above = (below + 1).min(last);
    let part = position - below as f64;
    Some(sorted[below] + part * (sorted[above] - sorted[below]))
}

/// The median of `values`; `None` for an empty sample.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_linear_between_order_statistics() {
        // R 4.x `quantile(c(1, 2, 4, 8), c(.1, .5, .9))`, by hand: positions 0.3, 1.5, 2.7.
        let values = [8.0, 1.0, 4.0, 2.0];
        assert!((quantile(&values, 0.1).unwrap() - 1.3).abs() < 1e-12);
        assert!((quantile(&values, 0.5).unwrap() - 3.0).abs() < 1e-12);
        assert!((quantile(&values, 0.9).unwrap() - 6.8).abs() < 1e-12);
        assert_eq!(quantile(&[], 0.5), None);
        assert_eq!(median(&[7.0]), Some(7.0));
    }
}
