//! Counts that scatter more than Poisson: the negative binomial with its slopes.

use statrs::distribution::{ContinuousCDF, Gamma};
use statrs::function::gamma::{digamma, ln_gamma};

/// Up to this count differences of the gamma function are taken as sums.
const SUM_UP_TO: f64 = 64.0;

/// Logarithm of the probability of a count and its slopes by `l = ln mu` and `c = ln k`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountSlopes {
    /// `d ln p / dl`.
    pub by_mean: f64,
    /// `-d2 ln p / dl2`.
    pub mean_curvature: f64,
    /// `d ln p / dc`; 0 for Poisson.
    pub by_k: f64,
    /// `-d2 ln p / dc2`; 0 for Poisson.
    pub k_curvature: f64,
    /// `-d2 ln p / (dl dc)`; 0 for Poisson.
    pub cross_curvature: f64,
}

/// Logarithm of the probability of `count` under the negative binomial NB2 with mean `mu` and dispersion `k`:
///
/// `ln p = lnG(y + k) - lnG(k) - lnG(y + 1) + k ln(k / (k + mu)) + y ln(mu / (k + mu))`
///
/// `mu` above 0; `k` above 0, smaller scatters more, variance `mu + mu^2 / k`; an infinite `k` is Poisson. Source:
/// Hilbe 2011 (from memory); checked against scipy, F-NB.
///
/// ```
/// # use plungeline::math::counts::count_ln_prob;
/// // scipy 1.17.1: nbinom.logpmf(3, 1.5, 1.5 / (1.5 + 1.2)) = -2.531711307
/// assert!((count_ln_prob(3.0, 1.2, 1.5) + 2.531711307).abs() < 1e-8);
/// ```
pub fn count_ln_prob(count: f64, mu: f64, k: f64) -> f64 {
    if k.is_infinite() {
        return count * mu.ln() - mu - ln_gamma(count + 1.0);
    }
    // ln(1 + mu / k) keeps its digits where k is large.
    let ln_one_plus = (mu / k).ln_1p();
    let of_counts = if count == 0.0 {
        0.0
    } else {
        count * (mu.ln() - k.ln() - ln_one_plus)
    };
    rising_ln(count, k) - ln_gamma(count + 1.0) - k * ln_one_plus + of_counts
}

/// `lnG(y + k) - lnG(k)`.
fn rising_ln(count: f64, k: f64) -> f64 {
    if count <= SUM_UP_TO {
        (0..count as u32).map(|i| (k + f64::from(i)).ln()).sum()
    } else {
        ln_gamma(count + k) - ln_gamma(k)
    }
}

/// The slopes of [`count_ln_prob`]. With `with_k` false those by `ln k` are left at 0.
///
/// `d/dl = (y - mu) k / (k + mu)`, `-d2/dl2 = mu k (k + y) / (k + mu)^2`; for Poisson `y - mu` and `mu`.
pub fn count_slopes(count: f64, mu: f64, k: f64, with_k: bool) -> CountSlopes {
    if k.is_infinite() {
        return CountSlopes {
            by_mean: count - mu,
            mean_curvature: mu,
            by_k: 0.0,
            k_curvature: 0.0,
            cross_curvature: 0.0,
        };
    }
    let sum = k + mu;
    let (mut by_k, mut k_curvature, mut cross_curvature) = (0.0, 0.0, 0.0);
    if with_k {
        let (first, second) = rising_slopes(count, k);
        let slope = first - (mu / k).ln_1p() + 1.0 - (k + count) / sum;
        let bend = second + 1.0 / k - 1.0 / sum - (mu - count) / (sum * sum);
        by_k = k * slope;
        k_curvature = -(k * slope + k * k * bend);
        cross_curvature = -k * (count - mu) * mu / (sum * sum);
    }
    CountSlopes {
        by_mean: (count - mu) * k / sum,
        mean_curvature: mu * k * (k + count) / (sum * sum),
        by_k,
        k_curvature,
        cross_curvature,
    }
}

/// First and second derivative of `lnG(y + k) - lnG(k)` by `k`.
fn rising_slopes(count: f64, k: f64) -> (f64, f64) {
    if count <= SUM_UP_TO {
        return (0..count as u32).fold((0.0, 0.0), |(first, second), i| {
            let part = 1.0 / (k + f64::from(i));
            (first + part, second - part * part)
        });
    }
    (digamma(count + k) - digamma(k), trigamma(count + k) - trigamma(k))
}

/// Trigamma function, the derivative of digamma, for `x` above 0: upward recurrence to 12 and the asymptotic series
/// (Abramowitz & Stegun 1964, 6.4.6 and 6.4.12, from memory; checked against scipy).
///
/// ```
/// # use plungeline::math::counts::trigamma;
/// assert!((trigamma(1.0) - std::f64::consts::PI.powi(2) / 6.0).abs() < 1e-12);
/// ```
pub fn trigamma(x: f64) -> f64 {
    let (mut x, mut sum) = (x, 0.0);
    while x < 12.0 {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let i2 = 1.0 / (x * x);
    let series =
        i2 * (1.0 / 6.0 - i2 * (1.0 / 30.0 - i2 * (1.0 / 42.0 - i2 * (1.0 / 30.0 - i2 * (5.0 / 66.0)))));
    sum + 1.0 / x + 0.5 * i2 + series / x
}

/// Probability of at least one, `1 - (k / (k + mu))^k`; for Poisson `1 - exp(-mu)`.
///
/// ```
/// # use plungeline::math::counts::at_least_one_prob;
/// assert!((at_least_one_prob(2.0, 1.0) - 2.0 / 3.0).abs() < 1e-15); // 1 - 1/3
/// ```
pub fn at_least_one_prob(mu: f64, k: f64) -> f64 {
    let ln_none = if k.is_infinite() {
        -mu
    } else {
        -k * (mu / k).ln_1p()
    };
    -ln_none.exp_m1()
}

/// Logarithm of the probability of `count` by class under the Dirichlet-multinomial with `weight` by class:
///
/// `ln n! + lnG(A) - lnG(n + A) + sum (lnG(y + a) - lnG(a) - ln y!)`, `A = sum a`. It scatters more than a multinomial by
/// `(n + A) / (1 + A)`. Nothing of the program rests on it: it drops trips without fish, which the counts above use. Source: science
/// reference 4.2; F-DM.
pub fn dirichlet_multinomial_ln_prob(count: &[f64], weight: &[f64]) -> f64 {
    let (n, a): (f64, f64) = (count.iter().sum(), weight.iter().sum());
    let each = count
        .iter()
        .zip(weight)
        .map(|(y, a)| rising_ln(*y, *a) - ln_gamma(y + 1.0));
    ln_gamma(n + 1.0) - rising_ln(n, a) + each.sum::<f64>()
}

/// Interval of a rate from a count over an exposure, with equal tails of `(1 - confidence) / 2`: quantiles of
/// `Gamma(y / d + 1/2, rate E / d)`, the posterior of a Poisson rate under Jeffreys' prior, with count and exposure divided by `d`.
/// The lower end is 0 where nothing was counted.
///
/// `widening` `d` is variance over mean of the counts, at least 1 (project choice: 1 for Poisson, `1 + mu / k` for a negative
/// binomial of mean `mu` a unit); dividing by it makes the interval as wide as the scatter wants. `None` for a negative count, an
/// exposure or confidence that is none, or a widening below 1. Source: Jeffreys 1946 (from memory); scipy's quantiles.
pub fn rate_interval(count: f64, exposure: f64, widening: f64, confidence: f64) -> Option<(f64, f64)> {
    let sound = count >= 0.0 && exposure > 0.0 && widening >= 1.0 && confidence > 0.0 && confidence < 1.0;
    if !(sound && exposure.is_finite() && widening.is_finite() && count.is_finite()) {
        return None;
    }
    let posterior = Gamma::new(count / widening + 0.5, exposure / widening).ok()?;
    let tail = 0.5 - 0.5 * confidence;
    let low = if count == 0.0 {
        0.0
    } else {
        posterior.inverse_cdf(tail)
    };
    Some((low, posterior.inverse_cdf(1.0 - tail)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_are_those_of_the_probability() {
        for (count, mu, k) in [
            (0.0, 0.7, 1.5),
            (3.0, 1.2, 0.4),
            (9.0, 20.0, 6.0),
            (150.0, 90.0, 2.5),
        ] {
            let at = |l: f64, c: f64| count_ln_prob(count, mu * l.exp(), k * c.exp());
            let s = count_slopes(count, mu, k, true);
            // Central differences of 1e-4: errors of 1e-8 times the fourth derivatives, and rounding of 1e-14 / 1e-8.
            let h = 1e-4;
            let near = |found: f64, wanted: f64| (found - wanted).abs() < 3e-5 * (1.0 + wanted.abs());
            assert!(near(s.by_mean, (at(h, 0.0) - at(-h, 0.0)) / (2.0 * h)), "{s:?}");
            assert!(near(s.by_k, (at(0.0, h) - at(0.0, -h)) / (2.0 * h)), "{s:?}");
            let bend = |there: f64, back: f64| (there + back - 2.0 * at(0.0, 0.0)) / (h * h);
            assert!(near(s.mean_curvature, -bend(at(h, 0.0), at(-h, 0.0))), "{s:?}");
            assert!(near(s.k_curvature, -bend(at(0.0, h), at(0.0, -h))), "{s:?}");
            let mixed = (at(h, h) - at(h, -h) - at(-h, h) + at(-h, -h)) / (4.0 * h * h);
            assert!(near(s.cross_curvature, -mixed), "{s:?}");
        }
    }

    #[test]
    fn a_large_dispersion_is_poisson() {
        let (wide, poisson) = (
            count_ln_prob(4.0, 2.5, 1e9),
            count_ln_prob(4.0, 2.5, f64::INFINITY),
        );
        assert!((wide - poisson).abs() < 1e-7, "{wide} {poisson}");
        assert!((at_least_one_prob(0.8, 1e9) - at_least_one_prob(0.8, f64::INFINITY)).abs() < 1e-8);
    }

    #[test]
    fn sums_and_the_gamma_function_agree_where_they_meet() {
        let by_gamma = |y: f64, k: f64| ln_gamma(y + k) - ln_gamma(k);
        assert!((rising_ln(64.0, 1.5) - by_gamma(64.0, 1.5)).abs() < 1e-11);
        let (first, second) = rising_slopes(64.0, 1.5);
        assert!((first - (digamma(65.5) - digamma(1.5))).abs() < 1e-12);
        assert!((second - (trigamma(65.5) - trigamma(1.5))).abs() < 1e-12);
    }

    #[test]
    fn an_interval_without_exposure_or_of_less_than_poisson_is_none() {
        for (count, exposure, widening, confidence) in [
            (1.0, 0.0, 1.0, 0.8),
            (1.0, 2.0, 0.5, 0.8),
            (-1.0, 2.0, 1.0, 0.8),
            (1.0, 2.0, 1.0, 1.0),
        ] {
            assert_eq!(rate_interval(count, exposure, widening, confidence), None);
        }
        assert_eq!(rate_interval(0.0, 2.0, 1.0, 0.8).unwrap().0, 0.0);
    }
}
