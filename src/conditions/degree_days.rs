//! Warmth summed over days.

/// Degree days above a base of daily means: `sum max(T - base, 0)`, degC day (row S-DD).
///
/// ```
/// let sum = plungeline::conditions::degree_days::degree_days_degc(&[9.0, 12.0, 15.5], 10.0);
/// assert_eq!(sum, 7.5); // by hand: 0 + 2 + 5.5
/// ```
pub fn degree_days_degc(mean_degc: &[f64], base_degc: f64) -> f64 {
    mean_degc.iter().map(|t| (t - base_degc).max(0.0)).sum()
}

/// Degree days of one day from its minimum and maximum, the course of the day a sine between them.
///
/// ```text
/// base <= min:        (min + max) / 2 - base
/// base >= max:        0
/// else, w = (max - min) / 2, m = (max + min) / 2, s = asin((base - m) / w):
///                     [(m - base)(pi / 2 - s) + w cos s] / pi
/// ```
///
/// The simple mean of a day that straddles the base gives too little, down to 0 where a warm afternoon counts
/// (row S-DDs). Source: Baskerville & Emin 1969, Ecology 50:514. `None` where the maximum is below the
/// minimum or a value is not finite.
pub fn sine_degree_days_degc(min_degc: f64, max_degc: f64, base_degc: f64) -> Option<f64> {
    let finite = min_degc.is_finite() && max_degc.is_finite() && base_degc.is_finite();
    if !finite || max_degc < min_degc {
        return None;
    }
    let mean_degc = f64::midpoint(min_degc, max_degc);
    if base_degc <= min_degc {
        return Some(mean_degc - base_degc);
    }
    if base_degc >= max_degc {
        return Some(0.0);
    }
    let half_degc = 0.5 * (max_degc - min_degc);
    let crossing_rad = ((base_degc - mean_degc) / half_degc).asin();
    let above_degc = (mean_degc - base_degc) * (std::f64::consts::FRAC_PI_2 - crossing_rad)
        + half_degc * crossing_rad.cos();
    Some(above_degc / std::f64::consts::PI)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn the_sine_never_gives_less_than_the_mean_of_the_day(min in -10.0..30.0_f64, width in 0.0..25.0_f64) {
            let sine = sine_degree_days_degc(min, min + width, 10.0).unwrap();
            let mean = degree_days_degc(&[min + width / 2.0], 10.0);
            // Rounding of a few operations on numbers below 60.
            prop_assert!(sine >= mean - 1e-12, "{sine} {mean}");
        }
    }

    #[test]
    fn a_maximum_below_the_minimum_is_no_day() {
        assert_eq!(sine_degree_days_degc(12.0, 2.0, 10.0), None);
        assert_eq!(sine_degree_days_degc(f64::NAN, 2.0, 10.0), None);
    }
}
