//! Smoothing a series: exponentially weighted mean, and local lines (LOESS).

use super::quantiles::median;

/// Weight of the newest value in an exponentially weighted mean whose older weights halve in `half_life` steps:
/// `alpha = 1 - exp(ln 0.5 / half_life)`. `None` where `half_life` is not positive.
///
/// ```
/// // By hand: with a half-life of one step the newest value weighs a half.
/// assert_eq!(plungeline::math::smooth::weight_of_half_life(1.0), Some(0.5));
/// ```
pub fn weight_of_half_life(half_life: f64) -> Option<f64> {
    (half_life > 0.0).then(|| 1.0 - (0.5_f64.ln() / half_life).exp())
}

/// Exponentially weighted mean that starts at the first value:
/// `m_0 = y_0`, `m_i = (1 - alpha) m_(i-1) + alpha y_i`. Shape as the input.
///
/// The first value keeps the weight of all that came before it, so an early outlier shows for long; see
/// [`ewma_weighted`]. Row S-EW, first number (pandas 3.1.1 `ewm`, `adjust=False`).
pub fn ewma_recursive(y: &[f64], alpha: f64) -> Vec<f64> {
    let mut mean: Option<f64> = None;
    y.iter()
        .map(|value| {
            let next = mean.map_or(*value, |before| (1.0 - alpha) * before + alpha * value);
            mean = Some(next);
            next
        })
        .collect()
}

/// Exponentially weighted mean of what there is:
/// `m_i = sum_k (1 - alpha)^k y_(i-k) / sum_k (1 - alpha)^k`, `k` from 0 to `i`. Shape as the input.
///
/// Row S-EW, second number (pandas 3.1.1 `ewm`, `adjust=True`).
pub fn ewma_weighted(y: &[f64], alpha: f64) -> Vec<f64> {
    let (mut sum, mut weight) = (0.0, 0.0);
    y.iter()
        .map(|value| {
            sum = (1.0 - alpha) * sum + value;
            weight = (1.0 - alpha) * weight + 1.0;
            sum / weight
        })
        .collect()
}

/// LOESS of degree 1 at each `x`: a weighted line through the nearest `floor(span_frac n)` points, tricube
/// weights `(1 - (d / h)^3)^3` with `h` the distance of the farthest of them; then `robust_iterations` times
/// again, each point weighted further by the bisquare `(1 - (r / 6 m)^2)^2` of its residual `r`, with `m` the
/// median of the absolute residuals.
///
/// `x` does not decrease. `None` for arrays of different length, a span outside (0, 1], fewer than two points
/// in a window, or a value that is not finite. At the ends the window is one-sided: the newest two values
/// are no headline. Where no weight is left in a window the value itself stands. Source: Cleveland 1979, JASA 74:829; rows S-LW, S-LW3 (statsmodels 0.15.0 `lowess`).
///
/// ```
/// // A line comes back as it is.
/// let x: Vec<f64> = (0..10).map(f64::from).collect();
/// let smooth = plungeline::math::smooth::loess(&x, &x, 0.5, 3).unwrap();
/// assert!(smooth.iter().zip(&x).all(|(s, x)| (s - x).abs() < 1e-12));
/// ```
pub fn loess(x: &[f64], y: &[f64], span_frac: f64, robust_iterations: usize) -> Option<Vec<f64>> {
    let inside = span_frac > 0.0 && span_frac <= 1.0;
    if x.len() != y.len() || !inside || !x.iter().chain(y).all(|v| v.is_finite()) {
        return None;
    }
    let near = (span_frac * x.len() as f64 + 1e-10).floor() as usize;
    if near < 2 {
        return None;
    }
    let mut robust = vec![1.0; x.len()];
    let mut smooth = pass(x, y, near, &robust);
    for _ in 0..robust_iterations {
        let residuals: Vec<f64> = y.iter().zip(&smooth).map(|(y, s)| (y - s).abs()).collect();
        let scale = 6.0 * median(&residuals)?;
        for (weight, residual) in robust.iter_mut().zip(&residuals) {
            // Half of the points on the curve: the rest count as outliers altogether.
            let u = match (scale > 0.0, *residual > 0.0) {
                (true, _) => residual / scale,
                (false, beside) => f64::from(u8::from(beside)),
            };
            *weight = if u < 1.0 { (1.0 - u * u).powi(2) } else { 0.0 };
        }
        smooth = pass(x, y, near, &robust);
    }
    Some(smooth)
}

/// One pass of local lines through the `near` nearest points.
fn pass(x: &[f64], y: &[f64], near: usize, robust: &[f64]) -> Vec<f64> {
    let mut left = 0;
    (0..x.len())
        .map(|i| {
            while left + near < x.len() && x[left + near] - x[i] < x[i] - x[left] {
                left += 1;
            }
            let window = left..left + near;
            let reach = (x[i] - x[window.start]).max(x[window.end - 1] - x[i]);
            let weights: Vec<f64> = window
                .clone()
                .map(|j| {
                    let d = if reach > 0.0 {
                        (x[j] - x[i]).abs() / reach
                    } else {
                        0.0
                    };
                    (1.0 - d.powi(3)).max(0.0).powi(3) * robust[j]
                })
                .collect();
            local_line(&x[window.clone()], &y[window], &weights, x[i]).unwrap_or(y[i])
        })
        .collect()
}

/// Value at `at` of the weighted least-squares line; the weighted mean where all `x` with weight are one;
/// `None` without weight.
fn local_line(x: &[f64], y: &[f64], weights: &[f64], at: f64) -> Option<f64> {
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return None;
    }
    let mean = |of: &[f64]| of.iter().zip(weights).map(|(v, w)| v * w).sum::<f64>() / total;
    let (mean_x, mean_y) = (mean(x), mean(y));
    let (mut xx, mut xy) = (0.0, 0.0);
    for ((x, y), w) in x.iter().zip(y).zip(weights) {
        xx += w * (x - mean_x).powi(2);
        xy += w * (x - mean_x) * (y - mean_y);
    }
    let slope = if xx > 0.0 { xy / xx } else { 0.0 };
    Some(mean_y + slope * (at - mean_x))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wild_value_bends_the_robust_curve_less() {
        let x: Vec<f64> = (0..20).map(f64::from).collect();
        let mut y = x.clone();
        // Steps to either side: the scale of the residuals must reach the wild value's neighbours, whose curve
        // it bends in the first pass.
        for (i, value) in y.iter_mut().enumerate() {
            *value += if i % 2 == 0 { 3.0 } else { -3.0 };
        }
        y[10] += 50.0;
        let at_10 = |iterations| (loess(&x, &y, 0.5, iterations).unwrap()[10] - 10.0).abs();
        assert!(at_10(3) < 2.0 && at_10(0) > 5.0, "{} {}", at_10(3), at_10(0));
    }

    #[test]
    fn what_cannot_be_smoothed_says_so() {
        assert_eq!(loess(&[0.0, 1.0], &[0.0], 0.5, 0), None);
        assert_eq!(
            loess(&[0.0, 1.0, 2.0], &[0.0, 1.0, 2.0], 0.5, 0),
            None,
            "one point a window"
        );
        assert_eq!(loess(&[0.0, 1.0], &[0.0, f64::NAN], 1.0, 0), None);
        assert_eq!(loess(&[0.0, 1.0], &[0.0, 1.0], 1.5, 0), None);
        assert_eq!(weight_of_half_life(0.0), None);
        assert!(ewma_recursive(&[], 0.3).is_empty() && ewma_weighted(&[], 0.3).is_empty());
    }
}
