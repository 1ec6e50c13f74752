//! The least-squares line, with standard errors that do and that do not trust neighbours to be independent.

/// An ordinary least-squares line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Slope.
    pub slope: f64,
    /// Value at `x` = 0.
    pub intercept: f64,
    /// Standard error of the slope if the residuals are independent and of one spread.
    pub slope_se: f64,
    /// Standard error that allows for residuals that follow one another over some lags.
    pub slope_hac_se: f64,
}

/// Least-squares line through `(x, y)`, in the order of time, with the HAC standard error over `lags`.
///
/// ```text
/// slope = sum (x - mx)(y - my) / X,   X = sum (x - mx)^2,   e = y - intercept - slope x
/// se^2  = [sum e^2 / (n - 2)] / X
/// hac^2 = [g_0 + 2 sum_(l=1..L) (1 - l / (L + 1)) g_l] / X^2,   g_l = sum_i z_i z_(i-l),   z = (x - mx) e
/// ```
///
/// Source: Newey & West 1987, Econometrica 55:703 (Bartlett weights), no correction for small samples, as in
/// statsmodels 0.15.0; row S-OLS. `None` for fewer than three points, one `x` alone, arrays of different length,
/// or a value that is not finite.
pub fn line_hac(x: &[f64], y: &[f64], lags: usize) -> Option<Line> {
    let n = x.len();
    if n != y.len() || n < 3 || !x.iter().chain(y).all(|v| v.is_finite()) {
        return None;
    }
    let (mean_x, mean_y) = (x.iter().sum::<f64>() / n as f64, y.iter().sum::<f64>() / n as f64);
    let xx: f64 = x.iter().map(|x| (x - mean_x).powi(2)).sum();
    if xx <= 0.0 {
        return None;
    }
    let slope = x
        .iter()
        .zip(y)
        .map(|(x, y)| (x - mean_x) * (y - mean_y))
        .sum::<f64>()
        / xx;
    let intercept = mean_y - slope * mean_x;
    let residuals: Vec<f64> = x.iter().zip(y).map(|(x, y)| y - intercept - slope * x).collect();
    let scores: Vec<f64> = x.iter().zip(&residuals).map(|(x, e)| (x - mean_x) * e).collect();
    let lagged = |lag: usize| {
        scores
            .iter()
            .skip(lag)
            .zip(&scores)
            .map(|(a, b)| a * b)
            .sum::<f64>()
    };
    let long_run = (1..=lags.min(n - 1))
        .map(|lag| 2.0 * (1.0 - lag as f64 / (lags + 1) as f64) * lagged(lag))
        .sum::<f64>()
        + lagged(0);
    let variance = residuals.iter().map(|e| e * e).sum::<f64>() / (n - 2) as f64;
    Some(Line {
        slope,
        intercept,
        slope_se: (variance / xx).sqrt(),
        // Bartlett's weights keep the sum from falling below 0 but for rounding.
        slope_hac_se: long_run.max(0.0).sqrt() / xx,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_without_noise_has_no_error_and_what_has_no_line_says_so() {
        let line = line_hac(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 5.0, 7.0], 3).unwrap();
        assert_eq!(
            (line.slope, line.intercept, line.slope_se, line.slope_hac_se),
            (2.0, 1.0, 0.0, 0.0)
        );
        assert_eq!(line_hac(&[0.0, 1.0], &[0.0, 1.0], 1), None);
        assert_eq!(line_hac(&[1.0; 3], &[0.0, 1.0, 2.0], 1), None);
        assert_eq!(line_hac(&[0.0, 1.0, 2.0], &[0.0, f64::NAN, 2.0], 1), None);
    }

    #[test]
    fn without_lags_the_robust_error_is_whites() {
        // By hand: residuals of y = 0, 3, 0 about their mean 1: -1, 2, -1; z = 1, 0, -1; sqrt(2) / 2.
        let line = line_hac(&[0.0, 1.0, 2.0], &[0.0, 3.0, 0.0], 0).unwrap();
        assert!(
            (line.slope_hac_se - 2.0_f64.sqrt() / 2.0).abs() < 1e-12,
            "{line:?}"
        );
    }
}
