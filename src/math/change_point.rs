//! Where a series steps from one level to another.

/// Pettitt's rank test for one change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pettitt {
    /// `max |U_t|`.
    pub k: f64,
    /// Index of the last value before the change.
    pub last_before: usize,
    /// Approximate two-sided probability without a change; poor where neighbours are correlated.
    pub p: f64,
}

/// Pettitt's test: `U_t = sum_(i<=t) sum_(j>t) sign(y_i - y_j)`, `K = max |U_t|`,
/// `p ~ 2 exp(-6 K^2 / (n^3 + n^2))`, held at 1. Source: Pettitt 1979, Appl. Stat. 28:126; row S-PT.
/// `None` for fewer than two values or one that is not finite.
pub fn pettitt(y: &[f64]) -> Option<Pettitt> {
    if y.len() < 2 || !y.iter().all(|v| v.is_finite()) {
        return None;
    }
    let sign = |a: f64, b: f64| f64::from(i8::from(a > b) - i8::from(a < b));
    let u = |t: usize| {
        y[..=t]
            .iter()
            .map(|a| y[t + 1..].iter().map(|b| sign(*a, *b)).sum::<f64>())
            .sum::<f64>()
            .abs()
    };
    let mut best = (0, 0.0);
    for t in 0..y.len() - 1 {
        let found = u(t);
        if found > best.1 {
            best = (t, found);
        }
    }
    let n = y.len() as f64;
    Some(Pettitt {
        k: best.1,
        last_before: best.0,
        p: (2.0 * (-6.0 * best.1 * best.1 / (n.powi(3) + n.powi(2))).exp()).min(1.0),
    })
}

/// The best single step of a series by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Index of the first value after the change.
    pub first_after: usize,
    /// Sum of squares about one mean.
    pub square_before: f64,
    /// Sum of squares about the two means.
    pub square_after: f64,
    /// Mean after less mean before.
    pub step: f64,
}

/// The split of `y` into two parts with the least sum of squares about their means; each part has at least
/// `persistence` values, so that a spike is no change. Every index is tried: a search by strides misses
/// (row S-CP). `None` where the series is too short for two such parts or holds a value that is not finite.
///
/// ```
/// let split = plungeline::math::change_point::least_squares_split(&[1.0, 1.0, 1.0, 5.0, 5.0, 5.0], 3).unwrap();
/// assert_eq!((split.first_after, split.step, split.square_after), (3, 4.0, 0.0));
/// ```
pub fn least_squares_split(y: &[f64], persistence: usize) -> Option<Split> {
    let least = persistence.max(1);
    if y.len() < 2 * least || !y.iter().all(|v| v.is_finite()) {
        return None;
    }
    let square = |part: &[f64]| {
        let mean = part.iter().sum::<f64>() / part.len() as f64;
        part.iter().map(|v| (v - mean).powi(2)).sum::<f64>()
    };
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    (least..=y.len() - least)
        .map(|at| Split {
            first_after: at,
            square_before: square(y),
            square_after: square(&y[..at]) + square(&y[at..]),
            step: mean(&y[at..]) - mean(&y[..at]),
        })
        .min_by(|a, b| a.square_after.total_cmp(&b.square_after))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spike_is_no_change_that_lasts() {
        let mut y = vec![1.0; 12];
        y[11] = 90.0;
        assert_eq!(least_squares_split(&y, 1).unwrap().first_after, 11);
        assert_eq!(
            least_squares_split(&y, 3).unwrap().first_after,
            9,
            "the least part that may be"
        );
        assert_eq!(least_squares_split(&y[..5], 3), None);
        assert_eq!(least_squares_split(&[1.0, f64::NAN], 1), None);
    }

    #[test]
    fn a_series_that_does_not_vary_has_no_change() {
        let found = pettitt(&[2.0; 9]).unwrap();
        assert_eq!((found.k, found.p), (0.0, 1.0));
        assert_eq!(pettitt(&[2.0]), None);
    }
}
