//! Slopes that one wild value cannot turn: Theil-Sen, with the variance of Mann-Kendall's statistic.

use statrs::distribution::{ContinuousCDF, Normal};

use super::quantiles::{median, quantile_of_sorted};

/// A Theil-Sen line with a rank confidence interval of its slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TheilSen {
    /// Median of the slopes of all pairs.
    pub slope: f64,
    /// Low end of the confidence interval of the slope.
    pub slope_low: f64,
    /// High end.
    pub slope_high: f64,
    /// `median(y - slope x)`: the intercept to use, the line through the middle of the residuals.
    pub intercept_joint: f64,
    /// `median(y) - slope median(x)`: the other one in use.
    pub intercept_separate: f64,
}

/// Theil-Sen line through the points `(x, y)`, with a two-sided interval of `confidence_frac` (0.80).
///
/// ```text
/// slope = median over i, j with x_j > x_i of (y_j - y_i) / (x_j - x_i)
/// sigma^2 = [n(n-1)(2n+5) - sum t(t-1)(2t+5)] / 18      t: sizes of ties in x and in y
/// low, high = the pairwise slopes of rank (N -+ z sigma) / 2     N: number of slopes
/// ```
///
/// `None` for arrays of different length, fewer than two different `x`, a value that is not finite, or
/// a confidence outside (0, 1). Sources: Sen 1968, JASA 63:1379 (interval from ranks); the rounding of
/// the ranks is that of scipy 1.17.1 `theilslopes`, held by rows S-TS, S-TSi, S-TSj.
///
/// ```
/// let days = [0.0, 1.0, 2.0, 3.0, 4.0];
/// let line = plungeline::math::slopes::theil_sen(&days, &[1.0, 3.0, 99.0, 7.0, 9.0], 0.8).unwrap();
/// assert_eq!(line.slope, 2.0); // the wild value does not turn it
/// ```
pub fn theil_sen(x: &[f64], y: &[f64], confidence_frac: f64) -> Option<TheilSen> {
    let inside = confidence_frac > 0.0 && confidence_frac < 1.0;
    if x.len() != y.len() || !inside || !x.iter().chain(y).all(|v| v.is_finite()) {
        return None;
    }
    let mut slopes = Vec::with_capacity(x.len() * x.len().saturating_sub(1) / 2);
    for i in 0..x.len() {
        for j in 0..x.len() {
            if x[j] > x[i] {
                slopes.push((y[j] - y[i]) / (x[j] - x[i]));
            }
        }
    }
    slopes.sort_by(f64::total_cmp);
    let slope = quantile_of_sorted(&slopes, 0.5)?;
    let residuals: Vec<f64> = x.iter().zip(y).map(|(x, y)| y - slope * x).collect();

    let n = x.len() as f64;
    let variance = (n * (n - 1.0) * (2.0 * n + 5.0) - tie_sum(x) - tie_sum(y)) / 18.0;
    let z = Normal::standard().inverse_cdf(0.5 + confidence_frac / 2.0);
    let half_width = z * variance.max(0.0).sqrt();
    let count = slopes.len() as f64;
    let last = slopes.len() - 1;
    let high = (((count + half_width) / 2.0).round_ties_even() as usize).min(last);
    let low = (((count - half_width) / 2.0).round_ties_even() - 1.0).max(0.0) as usize;
    Some(TheilSen {
        slope,
        slope_low: slopes[low],
        slope_high: slopes[high],
        intercept_joint: median(&residuals)?,
        intercept_separate: median(y)? - slope * median(x)?,
    })
}

/// Mann-Kendall's rank statistic of a series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    /// `S`: pairs that rise less pairs that fall.
    pub s: f64,
    /// Variance of `S` without a trend, ties allowed for.
    pub variance: f64,
    /// `(S - sign S) / sqrt(variance)`; 0 where `S` is 0.
    pub z: f64,
    /// `S` over the number of pairs.
    pub tau: f64,
}

/// Mann-Kendall's statistic of `y` in the order given; no allowance for serial correlation.
///
/// `Var S = [n(n-1)(2n+5) - sum t(t-1)(2t+5)] / 18` with `t` the sizes of ties; rows S-MK and S-MKt.
/// `None` for fewer than two values, or one that is not finite.
///
/// ```
/// let kendall = plungeline::math::slopes::mann_kendall(&[3.0, 2.0, 1.0]).unwrap();
/// assert_eq!((kendall.s, kendall.tau), (-3.0, -1.0));
/// ```
pub fn mann_kendall(y: &[f64]) -> Option<MannKendall> {
    if y.len() < 2 || !y.iter().all(|v| v.is_finite()) {
        return None;
    }
    let mut s = 0.0;
    for (i, early) in y.iter().enumerate() {
        for late in &y[i + 1..] {
            s += f64::from(i8::from(late > early) - i8::from(late < early));
        }
    }
    let n = y.len() as f64;
    let variance = (n * (n - 1.0) * (2.0 * n + 5.0) - tie_sum(y)) / 18.0;
    let z = if s == 0.0 {
        0.0
    } else {
        (s - s.signum()) / variance.sqrt()
    };
    Some(MannKendall {
        s,
        variance,
        z,
        tau: s / (n * (n - 1.0) / 2.0),
    })
}

/// `sum t(t-1)(2t+5)` over groups of `t` equal values.
fn tie_sum(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
        .chunk_by(|a, b| a == b)
        .map(|same| {
            let t = same.len() as f64;
            t * (t - 1.0) * (2.0 * t + 5.0)
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn points_without_a_slope_give_none() {
        assert!(theil_sen(&[], &[], 0.8).is_none());
        assert!(theil_sen(&[1.0, 1.0], &[1.0, 2.0], 0.8).is_none());
        assert!(theil_sen(&[1.0, 2.0], &[1.0], 0.8).is_none());
        assert!(theil_sen(&[1.0, 2.0], &[1.0, f64::NAN], 0.8).is_none());
        assert!(theil_sen(&[1.0, 2.0], &[1.0, 2.0], 1.0).is_none());
        assert!(mann_kendall(&[1.0]).is_none());
        assert_eq!(mann_kendall(&[2.0, 2.0, 2.0]).map(|k| k.z), Some(0.0));
    }

    proptest! {
        #[test]
        fn the_slope_lies_in_its_interval_and_a_line_is_found(
            y in prop::collection::vec(-1e3..1e3_f64, 2..30), slope in -5.0..5.0_f64,
        ) {
            let x: Vec<f64> = (0..y.len()).map(|i| i as f64).collect();
            let found = theil_sen(&x, &y, 0.8).unwrap();
            prop_assert!(found.slope_low <= found.slope && found.slope <= found.slope_high);
            let line: Vec<f64> = x.iter().map(|x| 3.0 + slope * x).collect();
            let found = theil_sen(&x, &line, 0.8).unwrap();
            prop_assert!((found.slope - slope).abs() < 1e-9);
            prop_assert!((found.intercept_joint - 3.0).abs() < 1e-6);
        }
    }
}
