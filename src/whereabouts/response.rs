//! The response functions of the rules: pure functions of drivers, without a lake or a date.
//!
//! Where nothing else is said a shape or scale is a project choice without a source.

use crate::species::response::{PulseShape, StockingScale};
use crate::species::{Ramp, ReactionDistance};

/// Position of `x` on `ramp`: `clamp((x - zero_at) / (one_at - zero_at), 0, 1)`; NaN for NaN.
///
/// ```
/// use plungeline::{species::Ramp, whereabouts::response::ramp};
/// let warm = Ramp::new(18.0, 20.0).unwrap();
/// assert_eq!([ramp(17.0, warm), ramp(19.0, warm), ramp(25.0, warm)], [0.0, 0.5, 1.0]);
/// ```
pub fn ramp(x: f64, ramp: Ramp) -> f64 {
    ((x - ramp.zero_at) / (ramp.one_at - ramp.zero_at)).clamp(0.0, 1.0)
}

/// Strength of an inflow pulse, 0 to 1: `ramp(ln(Q/Qb); ln r0, ln r1) exp(-max(0, days since peak) / fade)`.
///
/// `peak_ratio` = Q/Qb, flow over baseflow at the peak (a ratio of 0 or less gives 0); `days_since_peak` is
/// 0 or less while the river still rises. Source: project choice; direction from
/// Dodge & MacCrimmon 1971.
pub fn pulse(peak_ratio: f64, days_since_peak: f64, shape: PulseShape) -> f64 {
    if peak_ratio <= 0.0 {
        return 0.0;
    }
    let PulseShape { ratio, fade_days } = shape;
    let logs = Ramp {
        zero_at: ratio.zero_at.ln(),
        one_at: ratio.one_at.ln(),
    };
    ramp(peak_ratio.ln(), logs) * (-days_since_peak.max(0.0) / fade_days).exp()
}

/// Logarithm of an arm's suitable volume over the main body's, held within +- `bound`.
///
/// Either volume may be 0: then it is the bound itself; where both are 0 there is nothing to compare and
/// it is 0.
pub fn volume_ratio(arm_m3: f64, main_m3: f64, bound: f64) -> f64 {
    match (arm_m3 > 0.0, main_m3 > 0.0) {
        (true, true) => (arm_m3 / main_m3).ln().clamp(-bound, bound),
        (true, false) => bound,
        (false, true) => -bound,
        (false, false) => 0.0,
    }
}

/// Pull of a river colder than the lake's best water: `ramp(T_mb - T_riv) ramp(T_mb)`.
///
/// `lake_best_degc` = T_mb, temperature at the depth of greatest suitability in the main body.
/// Source: direction Garrett & Bennett 1995, Keefer, Peery & High 2009, Goniea, Peery & Bennett 2003.
pub fn cold_refuge(lake_best_degc: f64, river_degc: f64, colder_by_degc: Ramp, lake_degc: Ramp) -> f64 {
    ramp(lake_best_degc - river_degc, colder_by_degc) * ramp(lake_best_degc, lake_degc)
}

/// How far a river of `river_degc` is open to fish that run: 1 where it is cold enough, 0 where too warm.
pub fn open_below(river_degc: f64, closes_degc: Ramp) -> f64 {
    1.0 - ramp(river_degc, closes_degc)
}

/// Log of the distance at which trout react to prey, relative to clear water: `ln d(NTU)`.
///
/// Linear in NTU between the logarithms of the points, constant before the first, on the last segment's line
/// beyond the last, never below the logarithm of the floor. Source of the points: Barrett, Grossman &
/// Rosenfeld 1992 (0.80 at 15 NTU, 0.45 at 30, of that at 4-6); floor: project choice.
pub fn log_reaction_distance(turbidity_ntu: f64, distance: &ReactionDistance) -> f64 {
    let points = distance.relative.points();
    // The segment that holds the turbidity; the first and the last reach on.
    let right = points
        .partition_point(|(ntu, _)| *ntu <= turbidity_ntu)
        .clamp(1, points.len() - 1);
    let ((x0, y0), (x1, y1)) = (points[right - 1], points[right]);
    let part = ((turbidity_ntu - x0) / (x1 - x0)).max(0.0);
    let log = y0.ln() + part * (y1.ln() - y0.ln());
    log.max(distance.floor_frac.ln())
}

/// One release of hatchery fish as rule R9 sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Release {
    /// Fish.
    pub count: f64,
    /// Distance from the place of the release.
    pub distance_m: f64,
    /// Days since; negative before it.
    pub age_days: f64,
}

/// Pull of recent releases: `sum min(1, n / n1) exp(-d / d1) exp(-t / t1)`; a release that has not happened
/// yet counts nothing.
///
/// Source: direction Ivasauskas & Bettoli 2011, Harmon et al. 2018; scales: project choice.
pub fn stocking(releases: &[Release], scale: StockingScale) -> f64 {
    let StockingScale {
        full_count,
        fade_m,
        fade_days,
    } = scale;
    let pull = |r: &Release| {
        (r.count / full_count).min(1.0) * (-r.distance_m / fade_m).exp() * (-r.age_days / fade_days).exp()
    };
    releases.iter().filter(|r| r.age_days >= 0.0).map(pull).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRESHET: PulseShape = PulseShape {
        ratio: Ramp {
            zero_at: 1.5,
            one_at: 4.0,
        },
        fade_days: 5.0,
    };

    fn ramp_of(zero_at: f64, one_at: f64) -> Ramp {
        Ramp::new(zero_at, one_at).unwrap()
    }

    #[test]
    fn a_ramp_is_flat_outside_its_ends_and_is_not_made_backwards() {
        let r = ramp_of(3.0, 6.0);
        assert_eq!(
            [
                ramp(-9.0, r),
                ramp(3.0, r),
                ramp(4.5, r),
                ramp(6.0, r),
                ramp(99.0, r)
            ],
            [0.0, 0.0, 0.5, 1.0, 1.0]
        );
        assert!(ramp(f64::NAN, r).is_nan());
        assert_eq!((Ramp::new(6.0, 3.0), Ramp::new(3.0, 3.0)), (None, None));
    }

    #[test]
    fn a_pulse_is_full_at_its_peak_from_four_times_baseflow_and_fades_by_e_in_five_days() {
        assert_eq!(pulse(4.0, 0.0, FRESHET), 1.0);
        assert_eq!(pulse(9.0, -1.0, FRESHET), 1.0, "still rising");
        assert_eq!(pulse(1.5, 0.0, FRESHET), 0.0);
        assert_eq!(pulse(0.0, 0.0, FRESHET), 0.0);
        assert!((pulse(4.0, 5.0, FRESHET) - 0.367_879).abs() < 1e-6, "1/e");
        let half = (1.5f64 * 4.0).sqrt();
        assert!(
            (pulse(half, 0.0, FRESHET) - 0.5).abs() < 1e-12,
            "half way in logarithms"
        );
    }

    #[test]
    fn the_volume_ratio_is_bounded_and_has_an_answer_for_no_suitable_water() {
        assert_eq!(volume_ratio(1.0, 1.0, 4.0), 0.0);
        assert!((volume_ratio(1.0, 4.0, 4.0) + 1.386_294).abs() < 1e-6, "-ln 4");
        assert_eq!(volume_ratio(1.0, 1e9, 4.0), -4.0);
        assert_eq!(volume_ratio(0.0, 5.0, 4.0), -4.0);
        assert_eq!(volume_ratio(5.0, 0.0, 4.0), 4.0);
        assert_eq!(volume_ratio(0.0, 0.0, 4.0), 0.0);
    }

    #[test]
    fn the_refuge_needs_both_a_warm_lake_and_a_colder_river() {
        let (colder, lake) = (ramp_of(2.0, 5.0), ramp_of(18.0, 20.0));
        assert_eq!(cold_refuge(22.0, 15.0, colder, lake), 1.0);
        assert_eq!(cold_refuge(22.0, 21.0, colder, lake), 0.0, "river hardly colder");
        assert_eq!(cold_refuge(17.0, 5.0, colder, lake), 0.0, "lake still cool");
    }

    #[test]
    fn a_release_to_come_counts_nothing_and_a_large_one_no_more_than_five_thousand() {
        let fresh = Release {
            count: 5000.0,
            distance_m: 0.0,
            age_days: 0.0,
        };
        let scale = StockingScale {
            full_count: 5000.0,
            fade_m: 2000.0,
            fade_days: 14.0,
        };
        let of = |releases: &[Release]| stocking(releases, scale);
        assert_eq!(of(&[fresh]), 1.0);
        assert_eq!(
            of(&[Release {
                count: 50_000.0,
                ..fresh
            }]),
            1.0
        );
        assert_eq!(
            of(&[Release {
                age_days: -3.0,
                ..fresh
            }]),
            0.0
        );
        assert_eq!(
            of(&[
                fresh,
                Release {
                    count: 2500.0,
                    ..fresh
                }
            ]),
            1.5
        );
    }
}
