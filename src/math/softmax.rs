//! Shares from log-odds.

/// Softmax: `share[i] = exp(eta[i]) / sum_j exp(eta[j])`, taken relative to the largest, so that no
/// exponential overflows.
///
/// Shares sum to 1. An `eta` of minus infinity gives a share of exactly 0. Empty when `eta` is empty;
/// when no `eta` is above minus infinity the shares are not numbers, for nothing can be shared out.
///
/// ```
/// # use plungeline::math::softmax::softmax;
/// let shares = softmax(&[0.0, 0.6, -0.4]); // closed form: 0.286333 0.521732 0.191935
/// assert!((shares[1] - 0.521732).abs() < 1e-6);
/// ```
pub fn softmax(eta: &[f64]) -> Vec<f64> {
    let largest = eta.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = eta.iter().map(|x| (x - largest).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|w| w / sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn huge_log_odds_do_not_overflow() {
        let shares = softmax(&[1e6, 1e6 - 1.0, f64::NEG_INFINITY]);
        assert!((shares[0] - 1.0 / (1.0 + (-1f64).exp())).abs() < 1e-12);
        assert_eq!(shares[2], 0.0);
    }
}
