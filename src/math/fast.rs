//! Exponential, logarithm and power without branches, so that a loop over lanes becomes vector instructions.
//!
//! The same operations in the same order for one value or eight: what a lane gets does not depend on its neighbours.
//! Made for finite arguments of the sizes that water has; errors are stated for those and tested against `std`.

use std::f64::consts::{LOG2_E, SQRT_2};

/// Adding it leaves the nearest integer in the low bits of the sum: 1.5 x 2^52.
const ROUNDING: f64 = 6_755_399_441_055_744.0;
/// ln 2 in two parts; the first has so few digits that its products with exponents are exact (Cody & Waite 1980).
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// Bits of 1, and of the root of one half.
const ONE: u64 = 0x3ff0_0000_0000_0000;
const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
/// 2^52, whose last bit counts ones, and its bits.
const TWO_52: f64 = 4_503_599_627_370_496.0;
const TWO_52_BITS: u64 = 0x4330_0000_0000_0000;
const MANTISSA: u64 = 0x000f_ffff_ffff_ffff;

/// The higher of two numbers; by a bare comparison, as `f64::max` looks after what is no number.
#[inline(always)]
pub fn higher(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The lower of two numbers, likewise.
#[inline(always)]
pub fn lower(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// `e^x`, relative error under 1e-14 for x of -700 to 700; beyond, that of the nearer end.
///
/// `2^k e^r` with k the integer next to `x / ln 2` and the series of e^r, |r| <= 0.35, to the twelfth power.
#[inline(always)]
pub fn exp(x: f64) -> f64 {
    let x = x.clamp(-700.0, 700.0);
    let shifted = x * LOG2_E + ROUNDING;
    let k = shifted - ROUNDING;
    let r = (x - k * LN_2_HIGH) - k * LN_2_LOW;
    let r2 = r * r;
    // Estrin's grouping: short chains.
    let a = (1.0 + r) + r2 * (1.0 / 2.0 + r * (1.0 / 6.0));
    let b = (1.0 / 24.0 + r * (1.0 / 120.0)) + r2 * (1.0 / 720.0 + r * (1.0 / 5040.0));
    let c = (1.0 / 40_320.0 + r * (1.0 / 362_880.0))
        + r2 * (1.0 / 3_628_800.0 + r * (1.0 / 39_916_800.0) + r2 * (1.0 / 479_001_600.0));
    let r4 = r2 * r2;
    let power = f64::from_bits((shifted.to_bits() << 52).wrapping_add(ONE));
    (a + r4 * (b + r4 * c)) * power
}

/// `e^x` for small x: relative error under 5e-9 for |x| <= 2, under 2e-6 for |x| <= 4.
///
/// `(e^(x/8))^8`, the series to the seventh power.
#[inline(always)]
pub fn exp_small(x: f64) -> f64 {
    let r = 0.125 * x;
    let r2 = r * r;
    let low = (1.0 + r) + r2 * (1.0 / 2.0 + r * (1.0 / 6.0));
    let high = (1.0 / 24.0 + r * (1.0 / 120.0)) + r2 * (1.0 / 720.0 + r * (1.0 / 5040.0));
    let power = low + r2 * r2 * high;
    let square = power * power;
    let fourth = square * square;
    fourth * fourth
}

/// `1 - e^-x` for x of 0 to 0.5, relative error under 1e-13: the series to the twelfth power.
#[inline(always)]
pub fn one_less_exp_small(x: f64) -> f64 {
    let x2 = x * x;
    let x4 = x2 * x2;
    let low = (1.0 - x * (1.0 / 2.0)) + x2 * (1.0 / 6.0 - x * (1.0 / 24.0));
    let middle = (1.0 / 120.0 - x * (1.0 / 720.0)) + x2 * (1.0 / 5040.0 - x * (1.0 / 40_320.0));
    let high =
        (1.0 / 362_880.0 - x * (1.0 / 3_628_800.0)) + x2 * (1.0 / 39_916_800.0 - x * (1.0 / 479_001_600.0));
    x * (low + x4 * (middle + x4 * high))
}

/// Natural logarithm of a positive normal number, error under 1e-15 plus 4e-16 of the value; of no account for others.
///
/// `k ln 2 + 2 atanh((m - 1)/(m + 1))`, m between the roots of one half and of two; the series to the nineteenth power.
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    let shifted = x.to_bits().wrapping_add(ONE - ROOT_HALF);
    let k = f64::from_bits((shifted >> 52) | TWO_52_BITS) - (TWO_52 + 1023.0);
    let m = f64::from_bits((shifted & MANTISSA).wrapping_add(ROOT_HALF));
    let s = (m - 1.0) / (m + 1.0);
    let s2 = s * s;
    let s4 = s2 * s2;
    let low = (1.0 / 3.0 + s2 * (1.0 / 5.0)) + s4 * (1.0 / 7.0 + s2 * (1.0 / 9.0));
    let high = (1.0 / 11.0 + s2 * (1.0 / 13.0)) + s4 * (1.0 / 15.0 + s2 * (1.0 / 17.0) + s4 * (1.0 / 19.0));
    let series = low + s4 * s4 * high;
    k * LN_2_HIGH + (k * LN_2_LOW + 2.0 * (s + s * s2 * series))
}

/// `x^y` of a positive normal x, relative error under 2e-14 while |y ln x| is under 30.
#[inline(always)]
pub fn powf(x: f64, y: f64) -> f64 {
    exp(y * ln(x))
}

/// Arc tangent of x >= 0, error under 2e-15.
///
/// Brought under tan(pi/8) by `atan x = pi/4 + atan((x - 1)/(x + 1))` or `pi/2 - atan(1/x)`, halved once more by
/// `2 atan(x/(1 + sqrt(1 + x^2)))`; the series to the nineteenth power.
#[inline(always)]
pub fn atan(x: f64) -> f64 {
    let (is_large, is_middle) = (x > 1.0 + SQRT_2, x > SQRT_2 - 1.0);
    let (above, below, part) = if is_large {
        (-1.0, x, std::f64::consts::FRAC_PI_2)
    } else if is_middle {
        (x - 1.0, x + 1.0, std::f64::consts::FRAC_PI_4)
    } else {
        (x, 1.0, 0.0)
    };
    let t = above / below;
    let t = t / (1.0 + (1.0 + t * t).sqrt());
    let t2 = t * t;
    let t4 = t2 * t2;
    let low = (-1.0 / 3.0 + t2 * (1.0 / 5.0)) + t4 * (-1.0 / 7.0 + t2 * (1.0 / 9.0));
    let high = (-1.0 / 11.0 + t2 * (1.0 / 13.0)) + t4 * (-1.0 / 15.0 + t2 * (1.0 / 17.0) - t4 * (1.0 / 19.0));
    part + 2.0 * (t + t * t2 * (low + t4 * t4 * high))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spread(from: f64, to: f64) -> impl Iterator<Item = f64> {
        (0..=20_000).map(move |i| from + (to - from) * f64::from(i) / 20_000.0)
    }

    #[test]
    fn higher_and_lower_are_those_of_std() {
        for (a, b) in [(1.0, 2.0), (2.0, 1.0), (-1.0, -1.0), (f64::INFINITY, 0.0)] {
            assert_eq!((higher(a, b), lower(a, b)), (f64::max(a, b), f64::min(a, b)));
        }
    }

    #[test]
    fn exp_is_that_of_std() {
        for x in spread(-700.0, 700.0).chain(spread(-2.0, 2.0)) {
            assert!((exp(x) / x.exp() - 1.0).abs() < 1e-14, "{x}");
        }
        assert_eq!(exp(0.0), 1.0);
        assert_eq!(exp(-1e9), exp(-700.0));
        assert!(exp(f64::NAN).is_nan());
    }

    #[test]
    fn small_exp_is_that_of_std_to_its_error() {
        for (most, error) in [(2.0, 5e-9), (4.0, 2e-6)] {
            for x in spread(-most, most) {
                assert!((exp_small(x) / x.exp() - 1.0).abs() < error, "{x}");
            }
        }
    }

    #[test]
    fn one_less_small_exp_is_that_of_std() {
        for x in spread(1e-9, 0.5) {
            assert!(
                (one_less_exp_small(x) / -(-x).exp_m1() - 1.0).abs() < 1e-13,
                "{x}"
            );
        }
        assert_eq!(one_less_exp_small(0.0), 0.0);
    }

    #[test]
    fn ln_is_that_of_std() {
        for x in spread(-300.0, 300.0)
            .map(|e| 10f64.powf(e))
            .chain(spread(0.4, 3.0))
        {
            let wanted = x.ln();
            assert!((ln(x) - wanted).abs() <= 1e-15 + 4e-16 * wanted.abs(), "{x}");
        }
        assert_eq!(ln(1.0), 0.0);
    }

    #[test]
    fn powf_is_that_of_std() {
        for x in spread(-6.0, 6.0).map(|e| 10f64.powf(e)) {
            for y in [-0.43, 0.25, 0.4, 1.0 / 3.0, 1.7] {
                assert!((powf(x, y) / x.powf(y) - 1.0).abs() < 2e-14, "{x} {y}");
            }
        }
    }

    #[test]
    fn atan_is_that_of_std() {
        for x in spread(0.0, 10.0).chain(spread(0.0, 1e4)) {
            assert!((atan(x) - x.atan()).abs() < 2e-15, "{x}");
        }
    }
}
