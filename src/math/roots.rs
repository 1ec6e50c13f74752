//! Roots of a function of one variable.

/// Root of `f` between `low` and `high` by bisection, to within `width` of it.
///
/// `None` unless the ends have values of opposite sign (an end that is exactly a root is returned).
///
/// ```
/// # use plungeline::math::roots::bisect;
/// let root = bisect(|x| x * x - 2.0, 0.0, 2.0, 1e-12).unwrap();
/// assert!((root - 2f64.sqrt()).abs() < 1e-12);
/// ```
pub fn bisect(f: impl Fn(f64) -> f64, low: f64, high: f64, width: f64) -> Option<f64> {
    let (mut low, mut high) = (low, high);
    let (at_low, at_high) = (f(low), f(high));
    if at_low == 0.0 {
        return Some(low);
    }
    if at_high == 0.0 {
        return Some(high);
    }
    if at_low.is_nan() || at_high.is_nan() || (at_low > 0.0) == (at_high > 0.0) {
        return None;
    }
    loop {
        let middle = 0.5 * (low + high);
        // The second test ends the search when no double lies between the ends.
        if (high - low).abs() <= width || middle == low || middle == high {
            return Some(middle);
        }
        if (f(middle) > 0.0) == (at_low > 0.0) {
            low = middle
        } else {
            high = middle
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_change_of_sign_is_no_root() {
        assert_eq!(bisect(|x| x * x + 1.0, -1.0, 1.0, 1e-9), None);
        assert_eq!(bisect(|_| f64::NAN, -1.0, 1.0, 1e-9), None);
    }

    #[test]
    fn a_width_of_nothing_still_ends() {
        let root = bisect(|x| x.cos(), 1.0, 2.0, 0.0).unwrap();
        assert!((root - std::f64::consts::FRAC_PI_2).abs() < 1e-15);
    }
}
