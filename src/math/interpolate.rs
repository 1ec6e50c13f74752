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
    if xs.len() != ys.len() {
        return None;
    }
    let after = xs.partition_point(|&knot| knot <= x);
    on_lines(xs.len(), after, |i| (xs[i], ys[i]), x)
}

/// Value at `x` of the straight lines through `knots` of `(x, y)`; like [`linear`].
pub fn linear_pairs(knots: &[(f64, f64)], x: f64) -> Option<f64> {
    let after = knots.partition_point(|&(knot, _)| knot <= x);
    on_lines(knots.len(), after, |i| knots[i], x)
}

/// Like [`linear`], but `None` beyond both ends.
///
/// ```
/// # use plungeline::math::interpolate::linear_inside;
/// assert_eq!(linear_inside(&[0.0, 10.0], &[20.0, 10.0], 10.0), Some(10.0));
/// assert_eq!(linear_inside(&[0.0, 10.0], &[20.0, 10.0], 10.1), None);
/// ```
pub fn linear_inside(xs: &[f64], ys: &[f64], x: f64) -> Option<f64> {
    let (first, last) = (*xs.first()?, *xs.last()?);
    (first..=last).contains(&x).then(|| linear(xs, ys, x)).flatten()
}

/// Value at `x` of the straight line through two points, whose `x` differ.
///
/// ```
/// # use plungeline::math::interpolate::line;
/// assert_eq!(line((0.0, 20.0), (10.0, 10.0), 2.5), 17.5);
/// ```
pub fn line((x0, y0): (f64, f64), (x1, y1): (f64, f64), x: f64) -> f64 {
    y0 + (x - x0) / (x1 - x0) * (y1 - y0)
}

/// The value at `x` among `count` knots, of which the first `after` do not lie beyond it.
fn on_lines(count: usize, after: usize, knot: impl Fn(usize) -> (f64, f64), x: f64) -> Option<f64> {
    if count == 0 || x.is_nan() {
        return None;
    }
    Some(match after {
        0 => knot(0).1,
        _ if after == count => knot(count - 1).1,
        _ => line(knot(after - 1), knot(after), x),
    })
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
        assert_eq!(linear_inside(&[], &[], 1.0), None);
        assert_eq!(linear_inside(&[1.0, 2.0], &[1.0, 2.0], f64::NAN), None);
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
