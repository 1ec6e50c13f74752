//! Monotone cubic interpolation: slopes at the knots such that the curve never overshoots them.
//!
//! Between two knots the curve is the cubic Hermite polynomial of the values and slopes at both. It is
//! monotone where the slopes lie in the region of Fritsch & Carlson (1980, SIAM J. Numer. Anal. 17, 238-246);
//! the slopes here are the weighted harmonic means of Fritsch & Butland (1984, SIAM J. Sci. Stat. Comput. 5,
//! 300-304), which do, with the three-point formula at the ends, cut back where it would overshoot.

/// Slopes at the knots `(xs[i], ys[i])` of the monotone cubic through them.
///
/// Inside, with `h` the steps and `m` the secants before and after a knot:
/// `d = (w1 + w2) / (w1 / m1 + w2 / m2)`, `w1 = 2 h2 + h1`, `w2 = h2 + 2 h1`; 0 where the secants differ in sign
/// or one is 0. `None` for fewer than two knots, unequal lengths, or `xs` that do not grow or are no numbers.
///
/// ```
/// # use plungeline::math::pchip::slopes;
/// assert_eq!(slopes(&[0.0, 1.0, 3.0], &[0.0, 2.0, 6.0]), Some(vec![2.0, 2.0, 2.0]));
/// ```
pub fn slopes(xs: &[f64], ys: &[f64]) -> Option<Vec<f64>> {
    let usable = xs.len() == ys.len()
        && xs.len() >= 2
        && xs.iter().chain(ys).all(|v| v.is_finite())
        && xs.windows(2).all(|w| w[1] > w[0]);
    if !usable {
        return None;
    }
    let steps: Vec<f64> = xs.windows(2).map(|w| w[1] - w[0]).collect();
    let secants: Vec<f64> = ys
        .windows(2)
        .zip(&steps)
        .map(|(w, h)| (w[1] - w[0]) / h)
        .collect();
    let last = secants.len() - 1;
    if last == 0 {
        return Some(vec![secants[0]; 2]);
    }
    let mut slopes = vec![end((steps[0], steps[1]), (secants[0], secants[1]))];
    for i in 0..last {
        slopes.push(inner((steps[i], steps[i + 1]), (secants[i], secants[i + 1])));
    }
    slopes.push(end(
        (steps[last], steps[last - 1]),
        (secants[last], secants[last - 1]),
    ));
    Some(slopes)
}

/// Slope at a knot from the steps and secants before and after it.
fn inner((h1, h2): (f64, f64), (m1, m2): (f64, f64)) -> f64 {
    if m1 * m2 <= 0.0 {
        return 0.0;
    }
    let (w1, w2) = (2.0 * h2 + h1, h2 + 2.0 * h1);
    (w1 + w2) / (w1 / m1 + w2 / m2)
}

/// Slope at an end from the nearest step and secant, and the next: three points, kept monotone.
fn end((h1, h2): (f64, f64), (m1, m2): (f64, f64)) -> f64 {
    let slope = ((2.0 * h1 + h2) * m1 - h1 * m2) / (h1 + h2);
    if slope * m1 <= 0.0 {
        0.0
    } else if m1 * m2 < 0.0 && slope.abs() > 3.0 * m1.abs() {
        3.0 * m1
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_slopes_are_those_of_another_program() {
        // scipy 1.17.1, scipy.interpolate.PchipInterpolator(x, y).derivative()(x).
        let cases: [(&[f64], &[f64], &[f64]); 4] = [
            (
                &[0.0, 1.0, 3.0, 4.0],
                &[0.0, 2.0, 3.0, 7.0],
                &[2.5, 0.8571428571428571, 0.972972972972973, 5.166666666666668],
            ),
            (
                &[0.0, 1.0, 2.0, 4.0, 8.0],
                &[0.0, 1.0, 8.0, 64.0, 512.0],
                &[0.0, 1.75, 10.499999999999998, 41.99999999999999, 168.0],
            ),
            (
                &[1.0, 2.0, 4.0, 7.0],
                &[5.0, 5.0, 3.0, 4.0],
                &[0.0, 0.0, 0.0, 1.0000000000000002],
            ),
            (
                &[0.0, 1.0, 1.5],
                &[0.0, 1.0, 0.2],
                &[2.733333333333333, 0.0, -2.466666666666667],
            ),
        ];
        for (xs, ys, wanted) in cases {
            let found = slopes(xs, ys).unwrap();
            assert_eq!(found.len(), wanted.len());
            for (f, w) in found.iter().zip(wanted) {
                // The same formula in another order: the last figures may differ.
                assert!(
                    (f - w).abs() <= 1e-12 * (1.0 + w.abs()),
                    "{found:?} against {wanted:?}"
                );
            }
        }
    }

    #[test]
    fn knots_that_make_no_curve_give_none() {
        assert_eq!(slopes(&[0.0], &[1.0]), None);
        assert_eq!(slopes(&[0.0, 0.0], &[1.0, 2.0]), None);
        assert_eq!(slopes(&[0.0, 1.0], &[1.0]), None);
        assert_eq!(slopes(&[0.0, 1.0], &[1.0, f64::NAN]), None);
        assert_eq!(slopes(&[1.0, 0.0], &[1.0, 2.0]), None);
    }
}
