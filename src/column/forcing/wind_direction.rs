//! Where the wind comes from, step by step.

use super::record::Steps;
use crate::math::span_means::SpanRow;

/// Mean vector of a stretch of time, times its weight: the components that the wind blows toward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Blown {
    /// Beginning, s since the start.
    pub from: f64,
    /// End.
    pub to: f64,
    /// Toward east.
    pub east_m_s: f64,
    /// Toward north.
    pub north_m_s: f64,
}

impl Blown {
    /// A wind of `speed_m_s` that comes from the direction of a row; `None` where that is not known.
    pub fn of(row: &SpanRow, speed_m_s: f64) -> Option<Blown> {
        let toward_rad = (row.value? + 180.0).to_radians();
        Some(Blown {
            from: row.from,
            to: row.to,
            east_m_s: speed_m_s * toward_rad.sin(),
            north_m_s: speed_m_s * toward_rad.cos(),
        })
    }
}

/// Direction that the wind of each step comes from, clockwise from north, from 0 to below 360: that of the mean vector of the rows that
/// the step touches, each by the time it shares with the step. `None` where no row touches it, or they cancel.
///
/// ```text
/// theta = atan2(-E, -N),   (E, N) = sum over rows of (toward east, toward north) times shared time
/// ```
///
/// `rows` in order of time.
pub(super) fn wind_from_deg(rows: &[Blown], steps: Steps) -> Vec<Option<f64>> {
    let mut sums = vec![(0.0, 0.0, 0.0); steps.count];
    for row in rows {
        let first = (row.from / steps.step_s).floor().max(0.0) as usize;
        for (k, sum) in sums.iter_mut().enumerate().skip(first) {
            let (start, end) = (steps.step_s * k as f64, steps.step_s * (k + 1) as f64);
            if start >= row.to {
                break;
            }
            let shared = (row.to.min(end) - row.from.max(start)).max(0.0);
            sum.0 += row.east_m_s * shared;
            sum.1 += row.north_m_s * shared;
            sum.2 += row.east_m_s.hypot(row.north_m_s) * shared;
        }
    }
    let direction = |(east, north, whole): (f64, f64, f64)| {
        // Less than a billionth of the wind's way is the rounding of winds that cancel.
        let known = whole > 0.0 && east.hypot(north) > 1e-9 * whole;
        known.then(|| {
            let from_deg = f64::atan2(-east, -north).to_degrees().rem_euclid(360.0);
            // A rounding west of north comes out as a whole turn.
            if from_deg < 360.0 { from_deg } else { 0.0 }
        })
    };
    sums.into_iter().map(direction).collect()
}

#[cfg(test)]
mod tests {
    use chrono::DateTime;

    use super::*;

    fn steps(step_s: f64, count: usize) -> Steps {
        Steps {
            start: DateTime::UNIX_EPOCH,
            step_s,
            count,
        }
    }

    fn row(from: f64, to: f64, direction: f64, speed_m_s: f64) -> Blown {
        let value = Some(direction);
        Blown::of(&SpanRow { from, to, value }, speed_m_s).unwrap()
    }

    #[test]
    fn the_mean_of_two_northerly_winds_is_north_and_no_southerly_one() {
        let rows = [row(0.0, 1800.0, 350.0, 3.0), row(1800.0, 3600.0, 10.0, 3.0)];
        let found = wind_from_deg(&rows, steps(3600.0, 1))[0].unwrap();
        // By hand: the two lie either side of north; degrees of rounding.
        assert!(found < 1e-9 || (found > 360.0 - 1e-9 && found < 360.0), "{found}");
    }

    #[test]
    fn a_stronger_wind_weighs_more_and_so_does_a_longer_one() {
        // By hand: 3 from the west and 4 from the south make 5 from 180 + atan(3/4) = 216.87 degrees.
        let rows = [row(0.0, 1800.0, 270.0, 3.0), row(1800.0, 3600.0, 180.0, 4.0)];
        let found = wind_from_deg(&rows, steps(3600.0, 1))[0].unwrap();
        assert!(
            (found - (180.0 + 0.75_f64.atan().to_degrees())).abs() < 1e-9,
            "{found}"
        );
        // Half an hour at 3 and an hour and a half at 1 weigh the same: 225 degrees.
        let rows = [row(0.0, 1800.0, 270.0, 3.0), row(1800.0, 7200.0, 180.0, 1.0)];
        let found = wind_from_deg(&rows, steps(7200.0, 1))[0].unwrap();
        assert!((found - 225.0).abs() < 1e-9, "{found}");
    }

    #[test]
    fn a_calm_winds_that_cancel_and_an_hour_without_a_row_have_no_direction() {
        let rows = [
            row(0.0, 3600.0, 90.0, 0.0),
            row(3600.0, 5400.0, 90.0, 2.0),
            row(5400.0, 7200.0, 270.0, 2.0),
        ];
        assert_eq!(wind_from_deg(&rows, steps(3600.0, 3)), vec![None; 3]);
        let day = [row(-7200.0, 86_400.0, 45.0, 2.0)];
        let found = wind_from_deg(&day, steps(3600.0, 25));
        assert!(found[..24].iter().all(|d| (d.unwrap() - 45.0).abs() < 1e-9));
        assert_eq!(found[24], None);
    }
}
