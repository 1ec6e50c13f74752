//! Linear interpolation on knots, and the integral of what it draws.

/// Value at `x` of the straight lines through the knots `(xs[i], ys[i])`; constant beyond both ends.
///
/// `xs` and `ys` have one length, `xs` does not decrease (of knots at one place the later wins just at
/// it). `None` when there is no knot, when the lengths differ, or when `x` is not a number.
///
/// ```
/// # use plungeline::math::interpolate::linear;
/// assert_eq!(linear(&[0.0, 10.0], &[20.0, 10.0], 2.5), Some(17.5));
/// assert_eq!(linear(&[0.0, 10.0], &[20.0, 10.0], 99.0), Some(10.0));
/// ```
pub fn linear(xs: &[f64], ys: &[f64], x: f64) -> Option<f64> {
    if xs.is_empty() || xs.len() != ys.len() || x.is_nan() {
        return None;
    }
    let after = xs.partition_point(|&knot| knot <= x);
    if after == 0 {
        return Some(ys[0]);
    }
    if after == xs.len() {
        return Some(ys[after - 1]);
    }
    let share = (x - xs[after - 1]) / (xs[after] - xs[after - 1]);
    Some(ys[after - 1] + share * (ys[after] - ys[after - 1]))
}

/// Value at `x` of the straight lines through `knots` of `(x, y)`; like [`linear`].
pub fn linear_pairs(knots: &[(f64, f64)], x: f64) -> Option<f64> {
    let last = knots.last()?;
    if x.is_nan() {
        return None;
    }
    let after = knots.partition_point(|&(knot, _)| knot <= x);
    if after == 0 {
        return Some(knots[0].1);
    }
    if after == knots.len() {
        return Some(last.1);
    }
    let ((x0, y0), (x1, y1)) = (knots[after - 1], knots[after]);
    Some(y0 + (x - x0) / (x1 - x0) * (y1 - y0))
}

/// Integral by the trapezoid rule, exact for straight lines between the knots. Shape: `xs` and `ys` have
/// one length; 0 for fewer than two knots.
///
/// ```
/// # use plungeline::math::interpolate::trapezoid;
/// assert_eq!(trapezoid(&[0.0, 1.0, 3.0], &[0.0, 1.0, 1.0]), 2.5);
/// ```
pub fn trapezoid(xs: &[f64], ys: &[f64]) -> f64 {
    xs.windows(2)
        .zip(ys.windows(2))
        .map(|(x, y)| 0.5 * (y[0] + y[1]) * (x[1] - x[0]))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn knots_are_met_and_ends_stay_constant() {
        let (xs, ys) = ([1.0, 2.0, 4.0], [10.0, 20.0, 0.0]);
        for (x, y) in xs.iter().zip(ys) {
            assert_eq!(linear(&xs, &ys, *x), Some(y));
        }
        assert_eq!(linear(&xs, &ys, -5.0), Some(10.0));
        assert_eq!(linear(&xs, &ys, 3.0), Some(10.0));
        assert_eq!(linear(&xs, &ys, 9.0), Some(0.0));
    }

    #[test]
    fn nothing_comes_of_nothing() {
        assert_eq!(linear(&[], &[], 1.0), None);
        assert_eq!(linear(&[1.0], &[1.0, 2.0], 1.0), None);
        assert_eq!(linear(&[1.0], &[1.0], f64::NAN), None);
        assert_eq!(linear_pairs(&[], 1.0), None);
    }

    #[test]
    fn a_step_takes_its_later_value() {
        assert_eq!(
            linear(&[0.0, 1.0, 1.0, 2.0], &[0.0, 0.0, 5.0, 5.0], 1.0),
            Some(5.0)
        );
        assert_eq!(
            linear_pairs(&[(0.0, 0.0), (1.0, 0.0), (1.0, 5.0), (2.0, 5.0)], 1.0),
            Some(5.0)
        );
    }
}
