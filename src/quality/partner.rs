//! Multivariate test (QARTOD test 9): does the value agree with its partner? Never a failure.

use crate::math::quantiles::quantile_nearest_rank;
use crate::series::Flag;

/// Which side of its partner a value must keep to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Not above it, as a dew point and the air's temperature.
    NotAbove,
    /// Not below it, as a gust and the mean wind.
    NotBelow,
}

/// 3 where a value is on the wrong side of its partner by more than `margin` (in the unit of the
/// values), 1 on the right side, 2 where the partner has no value, 9 where there is no value. Both
/// slices of the same times.
pub fn check_side(values: &[Option<f64>], partner: &[Option<f64>], side: Side, margin: f64) -> Vec<Flag> {
    let flag = |(value, partner): (&Option<f64>, &Option<f64>)| match (value, partner) {
        (None, _) => Flag::Missing,
        (Some(_), None) => Flag::NotEvaluated,
        (Some(value), Some(partner)) => {
            let beyond = match side {
                Side::NotAbove => value - partner,
                Side::NotBelow => partner - value,
            };
            if beyond > margin {
                Flag::Suspect
            } else {
                Flag::Pass
            }
        }
    };
    values.iter().zip(partner).map(flag).collect()
}

/// Fewest pairs from which the usual difference is taken.
const PAIRS: usize = 30;

/// 3 where the reported value differs from the expected one, after their usual (median) difference
/// has been taken out, by more than `suspect_frac` of the expected; 1 elsewhere; 2 where there is no
/// expected value or fewer than 30 pairs; 9 where there is no value.
///
/// For storage against the elevation-storage table. The median is taken out because a table made
/// after a new survey of the bed is off by a nearly constant volume from one made before.
pub fn check_expected(values: &[Option<f64>], expected: &[Option<f64>], suspect_frac: f64) -> Vec<Flag> {
    let pairs = || {
        values
            .iter()
            .zip(expected)
            .filter_map(|(v, e)| Some((*v)? - (*e)?))
    };
    let mut differences: Vec<f64> = pairs().collect();
    let usual = (differences.len() >= PAIRS)
        .then(|| quantile_nearest_rank(&mut differences, 0.5))
        .flatten();
    let flag = |(value, expected): (&Option<f64>, &Option<f64>)| match (value, expected, usual) {
        (None, _, _) => Flag::Missing,
        (Some(value), Some(expected), Some(usual)) => {
            let off = (value - expected - usual).abs() > suspect_frac * expected.abs();
            if off { Flag::Suspect } else { Flag::Pass }
        }
        _ => Flag::NotEvaluated,
    };
    values.iter().zip(expected).map(flag).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gust_below_the_mean_wind_is_suspect() {
        let gust = [Some(9.0), Some(3.0), Some(4.95), None, Some(1.0)];
        let mean = [Some(5.0), Some(5.0), Some(5.0), Some(5.0), None];
        let flags = check_side(&gust, &mean, Side::NotBelow, 0.1)
            .into_iter()
            .map(Flag::code);
        assert_eq!(flags.collect::<Vec<_>>(), [1, 3, 1, 9, 2]);
    }

    #[test]
    fn a_constant_difference_between_tables_is_no_fault() {
        let expected: Vec<Option<f64>> = (0..40).map(|i| Some(1000.0 + f64::from(i))).collect();
        let mut values: Vec<Option<f64>> = expected.iter().map(|e| e.map(|e| e + 80.0)).collect();
        values[20] = values[20].map(|v| v + 6.0);
        let flags = check_expected(&values, &expected, 0.005);
        let suspect: Vec<usize> = (0..40).filter(|&i| flags[i] == Flag::Suspect).collect();
        assert_eq!(suspect, [20]);
    }
}
