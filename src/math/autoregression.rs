//! Series whose neighbours resemble one another: correlation, and the spread of sums of them.

/// Correlation of a series with itself `lag` steps before,
/// `r = sum_(i>=lag) (y_i - m)(y_(i-lag) - m) / sum (y_i - m)^2`, `m` the mean of the whole. The divisor is the
/// same at every lag, so that |r| stays within 1. `None` for a series that does not vary, a lag beyond it, or a
/// value that is not finite.
///
/// ```
/// // By hand: mean 0, sum of squares 4, products of neighbours -1 -1 -1.
/// let r = plungeline::math::autoregression::autocorrelation(&[1.0, -1.0, 1.0, -1.0], 1);
/// assert_eq!(r, Some(-0.75));
/// ```
pub fn autocorrelation(y: &[f64], lag: usize) -> Option<f64> {
    if lag >= y.len() || !y.iter().all(|v| v.is_finite()) {
        return None;
    }
    let mean = y.iter().sum::<f64>() / y.len() as f64;
    let square: f64 = y.iter().map(|v| (v - mean).powi(2)).sum();
    let product: f64 = y[lag..].iter().zip(y).map(|(a, b)| (a - mean) * (b - mean)).sum();
    (square > 0.0).then(|| product / square)
}

/// Standard deviation of the sum of `count` successive values of a stationary AR(1) series, each of deviation
/// `sd` and correlated by `rho` with the one before:
/// `sd sqrt(n + 2 sum_(k=1..n-1) (n - k) rho^k)`. Independent values (`rho` 0) have `sd sqrt n`. Row S-PJ-sd.
///
/// ```
/// use plungeline::math::autoregression::sd_of_ar1_sum;
/// assert_eq!(sd_of_ar1_sum(2.0, 0.0, 9), 6.0); // by hand: 2 sqrt 9
/// assert_eq!(sd_of_ar1_sum(2.0, 1.0, 9), 18.0); // by hand: one value nine times
/// ```
pub fn sd_of_ar1_sum(sd: f64, rho: f64, count: u32) -> f64 {
    let n = f64::from(count);
    let (mut power, mut pairs) = (1.0, 0.0);
    for k in 1..count {
        power *= rho;
        pairs += (n - f64::from(k)) * power;
    }
    sd * (n + 2.0 * pairs).max(0.0).sqrt()
}

/// `rho` and the deviation of the steps of an AR(1) series, from the pairs of neighbours that it has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ar1 {
    /// Mean that the series returns to.
    pub mean: f64,
    /// Correlation with the step before.
    pub rho: f64,
    /// Deviation of a step's own part: `x_i - mean = rho (x_(i-1) - mean) + step_sd z`.
    pub step_sd: f64,
}

impl Ar1 {
    /// The fit to a series with holes, `rho` held within `rho_bounds`: the mean of all values, `rho` by least
    /// squares over the pairs without a hole between them, the deviation of what is left with that `rho`.
    /// `None` for fewer than `least_pairs` pairs, or a series that does not vary.
    pub fn fit(series: &[Option<f64>], rho_bounds: (f64, f64), least_pairs: usize) -> Option<Ar1> {
        let values: Vec<f64> = series.iter().flatten().copied().collect();
        let mean = super::quantiles::mean(&values)?;
        let pairs: Vec<(f64, f64)> = series
            .windows(2)
            .filter_map(|w| Some((w[0]? - mean, w[1]? - mean)))
            .collect();
        if pairs.len() < least_pairs.max(2) {
            return None;
        }
        let square: f64 = pairs.iter().map(|(before, _)| before * before).sum();
        if !(square > 0.0 && square.is_finite()) {
            return None;
        }
        let product: f64 = pairs.iter().map(|(before, now)| before * now).sum();
        let rho = (product / square).max(rho_bounds.0).min(rho_bounds.1);
        let left: f64 = pairs
            .iter()
            .map(|(before, now)| (now - rho * before).powi(2))
            .sum();
        Some(Ar1 {
            mean,
            rho,
            step_sd: (left / pairs.len() as f64).sqrt(),
        })
    }

    /// The value after `before` with the standard normal number `z`.
    pub fn next(&self, before: f64, z: f64) -> f64 {
        self.mean + self.rho * (before - self.mean) + self.step_sd * z
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::streams::{normal, stream};

    #[test]
    fn the_fit_finds_the_series_that_it_was_drawn_from() {
        let truth = Ar1 {
            mean: 2.0,
            rho: 0.8,
            step_sd: 0.3,
        };
        let mut numbers = stream(7, "ar1");
        let mut series = vec![Some(truth.mean)];
        for _ in 0..20_000 {
            let before = series.last().copied().flatten().unwrap();
            series.push(Some(truth.next(before, normal(&mut numbers))));
        }
        series[100] = None;
        let found = Ar1::fit(&series, (0.0, 1.0), 30).unwrap();
        // Standard errors: rho sqrt(0.36 / 20 000) = 0.004, mean 0.3 / 0.2 / 141 = 0.011, sd 0.0015; four of each.
        assert!((found.rho - 0.8).abs() < 0.017, "{found:?}");
        assert!((found.mean - 2.0).abs() < 0.044, "{found:?}");
        assert!((found.step_sd - 0.3).abs() < 0.006, "{found:?}");
        assert_eq!(
            Ar1::fit(&series, (0.0, 0.7), 30).unwrap().rho,
            0.7,
            "held within its bounds"
        );
    }

    #[test]
    fn a_series_without_pairs_or_without_change_has_no_fit() {
        assert_eq!(Ar1::fit(&[Some(1.0), None, Some(2.0)], (0.0, 1.0), 1), None);
        assert_eq!(Ar1::fit(&[Some(1.0); 9], (0.0, 1.0), 1), None);
        assert_eq!(Ar1::fit(&[], (0.0, 1.0), 1), None);
        assert_eq!(autocorrelation(&[1.0, 1.0], 1), None);
        assert_eq!(autocorrelation(&[1.0, 2.0], 2), None);
    }
}
