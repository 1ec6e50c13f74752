//! Mann-Kendall's test where neighbours in time resemble one another.

use statrs::distribution::{ContinuousCDF, Normal};

use super::autoregression::autocorrelation;
use super::slopes::{MannKendall, mann_kendall, theil_sen};

/// Values below which no p-value is given: the normal approximation and the estimated correlation are both
/// too rough (project choice).
pub const P_VALUE_MIN_COUNT: usize = 15;
/// Correlations within this two-sided level of 0 are left out of the correction (Hamed & Rao's).
const CORRELATION_LEVEL_FRAC: f64 = 0.05;

/// A trend test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendTest {
    /// Kendall's statistic, with the variance of the test.
    pub kendall: MannKendall,
    /// Two-sided probability of as strong a statistic without a trend; `None` for fewer than
    /// [`P_VALUE_MIN_COUNT`] values.
    pub p: Option<f64>,
}

impl TrendTest {
    fn of(kendall: MannKendall, count: usize) -> TrendTest {
        let p = 2.0 * Normal::standard().sf(kendall.z.abs());
        TrendTest {
            kendall,
            p: (count >= P_VALUE_MIN_COUNT).then_some(p),
        }
    }
}

/// Mann-Kendall with the variance corrected for serial correlation.
///
/// ```text
/// Var* = Var S [1 + 2 / (n(n-1)(n-2)) sum_(k=1..n-1) (n-k)(n-k-1)(n-k-2) r_k]
/// ```
///
/// with `r_k` the autocorrelation of the ranks of the series less its Theil-Sen trend, those within the 95 %
/// bound `1.96 / sqrt n` left out. Source: Hamed & Rao 1998, J. Hydrol. 204:182; row S-MKhr
/// (pymannkendall 1.4.3). Where the sum would make the variance negative there is no test: `None`, as for fewer
/// than three values or one that is not finite.
pub fn hamed_rao(y: &[f64]) -> Option<TrendTest> {
    let n = y.len();
    if n < 3 {
        return None;
    }
    let plain = mann_kendall(y)?;
    let ranks = ranks(&detrended(y)?.0);
    let bound = Normal::standard().inverse_cdf(1.0 - CORRELATION_LEVEL_FRAC / 2.0) / (n as f64).sqrt();
    let weight = |k: usize| ((n - k) as f64) * (n as f64 - k as f64 - 1.0) * (n as f64 - k as f64 - 2.0);
    let sum: f64 = (1..n)
        .filter_map(|k| Some((k, autocorrelation(&ranks, k)?)))
        .filter(|(_, r)| r.abs() > bound)
        .map(|(k, r)| weight(k) * r)
        .sum();
    let variance = plain.variance * (1.0 + 2.0 / weight(0) * sum);
    if variance.is_nan() || variance <= 0.0 {
        return None;
    }
    Some(TrendTest::of(with_variance(plain, variance), n))
}

/// Mann-Kendall on the series prewhitened around its trend: the Theil-Sen trend is taken out, then the
/// correlation with the day before, `x_i = d_i - r_1 d_(i-1)`, then the trend is put back.
///
/// Plain prewhitening would take out part of the trend with the correlation. Source: Yue, Pilon, Phinney &
/// Cavadias 2002, Hydrol. Process. 16:1807; row S-MKtf (pymannkendall 1.4.3). `None` as for [`hamed_rao`].
pub fn trend_free_prewhitened(y: &[f64]) -> Option<TrendTest> {
    if y.len() < 3 {
        return None;
    }
    let (rest, slope) = detrended(y)?;
    // A series that is nothing but its trend has no correlation to take out.
    let r1 = autocorrelation(&rest, 1).unwrap_or(0.0);
    let white: Vec<f64> = rest
        .windows(2)
        .enumerate()
        .map(|(i, pair)| pair[1] - r1 * pair[0] + slope * (i + 1) as f64)
        .collect();
    Some(TrendTest::of(mann_kendall(&white)?, white.len()))
}

fn with_variance(plain: MannKendall, variance: f64) -> MannKendall {
    let z = if plain.s == 0.0 {
        0.0
    } else {
        (plain.s - plain.s.signum()) / variance.sqrt()
    };
    MannKendall { variance, z, ..plain }
}

/// `y` less its Theil-Sen trend, and the slope.
fn detrended(y: &[f64]) -> Option<(Vec<f64>, f64)> {
    let x: Vec<f64> = (1..=y.len()).map(|i| i as f64).collect();
    let slope = theil_sen(&x, y, 0.95)?.slope;
    Some((y.iter().zip(&x).map(|(y, x)| y - slope * x).collect(), slope))
}

/// Ranks from 1, equal values sharing the mean of theirs.
fn ranks(values: &[f64]) -> Vec<f64> {
    values
        .iter()
        .map(|v| {
            let below = values.iter().filter(|w| *w < v).count();
            let equal = values.iter().filter(|w| *w == v).count();
            below as f64 + (equal as f64 + 1.0) / 2.0
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_values_have_a_statistic_and_no_p_value() {
        let falling: Vec<f64> = (0..14).map(|i| -f64::from(i) + f64::from(i % 3)).collect();
        assert!(hamed_rao(&falling).unwrap().p.is_none());
        assert!(trend_free_prewhitened(&falling).unwrap().p.is_none());
        let longer: Vec<f64> = (0..30).map(|i| -f64::from(i) + f64::from(i % 3)).collect();
        assert!(hamed_rao(&longer).unwrap().p.unwrap() < 0.01);
    }

    #[test]
    fn what_has_no_trend_test_says_so() {
        assert_eq!(hamed_rao(&[1.0, 2.0]), None);
        assert_eq!(trend_free_prewhitened(&[1.0, f64::NAN, 2.0]), None);
    }

    #[test]
    fn equal_values_share_their_ranks() {
        assert_eq!(ranks(&[3.0, 1.0, 3.0, 2.0]), vec![3.5, 1.0, 3.5, 2.0]);
    }
}
