//! Means over a face, and how an exchange through it dies down.

// Lanes are walked by number in several arrays at once.
#![allow(clippy::needless_range_loop)]

use crate::column::layered::Lanes;

/// Largest share of a layer that a substep replaces.
const MOST_REPLACED: f64 = 0.25;

/// Takes the mean off, weighted by area.
#[inline(always)]
pub(super) fn take_off_mean<const L: usize>(values: &mut [Lanes<L>], area_m2: &[Lanes<L>]) {
    let (mut sum, mut whole_m2) = ([0.0; L], [0.0; L]);
    for (value, area) in values.iter().zip(area_m2) {
        for lane in 0..L {
            sum[lane] += value[lane] * area[lane];
            whole_m2[lane] += area[lane];
        }
    }
    let mut mean = [0.0; L];
    for lane in 0..L {
        let some = if whole_m2[lane] > 0.0 { whole_m2[lane] } else { 1.0 };
        mean[lane] = sum[lane] / some;
    }
    for (value, area) in values.iter_mut().zip(area_m2) {
        for lane in 0..L {
            let less = value[lane] - mean[lane];
            value[lane] = if area[lane] > 0.0 { less } else { 0.0 };
        }
    }
}

/// Time that an exchange stands for which dies down at a rate: `(1 - exp(-rate t))/rate`.
fn relaxed_s(span_s: f64, rate_per_s: f64) -> f64 {
    let x = span_s * rate_per_s;
    if x > 1e-8 {
        span_s * -(-x).exp_m1() / x
    } else {
        span_s
    }
}

/// How much time this substep stands for, lane by lane, after relaxation; by the largest share of any layer that is replaced in a
/// second, and the rate at which the pressure is taken away.
pub(super) fn substep_s<const L: usize>(
    (replaced, eased): (Lanes<L>, Lanes<L>),
    left_s: &mut Lanes<L>,
    last: bool,
) -> Lanes<L> {
    let mut moved_s = [0.0; L];
    for lane in 0..L {
        let parts = (left_s[lane] * replaced[lane] / MOST_REPLACED).ceil().max(1.0);
        let span_s = if last { left_s[lane] } else { left_s[lane] / parts };
        let ended = last || parts <= 1.0;
        left_s[lane] = if ended { 0.0 } else { left_s[lane] - span_s };
        let rate = if last {
            f64::max(eased[lane], replaced[lane])
        } else {
            eased[lane]
        };
        moved_s[lane] = relaxed_s(span_s, rate);
    }
    moved_s
}
