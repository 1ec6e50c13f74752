//! Powers with an exponent that is known beforehand: shorter than a logarithm and an exponential, and without a division.
//!
//! The same operations in the same order for one value or eight, as in [`fast`].

// Numbers are walked by their places in several arrays at once.
#![allow(clippy::needless_range_loop)]

use std::f64::consts::LN_2;

use super::fast;

/// Adding it leaves the nearest integer in the low bits of the sum: 1.5 x 2^52.
const ROUNDING: f64 = 6_755_399_441_055_744.0;
/// Bits of 1, and of the root of one half.
const ONE: u64 = 0x3ff0_0000_0000_0000;
const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
/// 2^52, whose last bit counts ones, and its bits.
const TWO_52: f64 = 4_503_599_627_370_496.0;
const TWO_52_BITS: u64 = 0x4330_0000_0000_0000;
const MANTISSA: u64 = 0x000f_ffff_ffff_ffff;

/// Up to here from 1 a number is near one.
pub const MOST_NEAR_ONE: f64 = std::f64::consts::SQRT_2;

/// `x^y` of positive normal x for one exponent y: `m^y 2^(k y)` with `x = m 2^k`, m between the roots of one half and of two.
///
/// m^y is a polynomial of `m - 1`, fitted here for the least relative error on that interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Power {
    exponent: f64,
    /// Of the powers of `m - 1` from none up.
    coefficients: [f64; 12],
}

/// `x^(1/5)`, relative error under 3e-11 while |ln x| is under 300.
pub const FIFTH_ROOT: Power = Power {
    exponent: 0.2,
    coefficients: [
        0.9999999999986287,
        0.2000000004035942,
        -0.07999999922333378,
        0.04799992029361534,
        -0.03360002376425236,
        0.025540456944991345,
        -0.020431640264652162,
        0.016824948562602804,
        -0.01424761228500354,
        0.013444526520782372,
        -0.013009309923298773,
        0.007293220080289118,
    ],
};

/// `x^(2/3)`, relative error under 1e-11 while |ln x| is under 50.
pub const TWO_THIRDS: Power = Power {
    exponent: 2.0 / 3.0,
    coefficients: [
        1.000000000000179,
        0.6666666668604636,
        -0.11111111114964776,
        0.049382677935029255,
        -0.028806563629706537,
        0.019206500343350405,
        -0.01387206763074548,
        0.010519867249008443,
        -0.008289730581017677,
        0.007267677242932259,
        -0.006679304633685612,
        0.0036821268337770864,
    ],
};

/// `x^(5/3)`, relative error under 1e-11 while |ln x| is under 30.
pub const FIVE_THIRDS: Power = Power {
    exponent: 5.0 / 3.0,
    coefficients: [
        0.9999999999996823,
        1.6666666666362666,
        0.5555555557042642,
        -0.061728389006089415,
        0.02057611715325438,
        -0.009602528252700726,
        0.005335220543770244,
        -0.003294930275820677,
        0.0021858301716176855,
        -0.0016181520043243424,
        0.0013099700069390432,
        -0.0006894141830949682,
    ],
};

/// `x^-0.43`, relative error under 2e-10 while |ln x| is under 30.
pub const MINUS_0_43: Power = Power {
    exponent: -0.43,
    coefficients: [
        1.0000000000480003,
        -0.4300000050609587,
        0.30744997505681493,
        -0.24903348459995706,
        0.2135485698111836,
        -0.1892606600249607,
        0.17123286301454063,
        -0.15593432650819553,
        0.14460691515775542,
        -0.1500256643680538,
        0.15452905674960818,
        -0.08825574717488915,
    ],
};

impl Power {
    /// The power of a positive normal number; of no account for others.
    #[inline(always)]
    pub fn of(&self, x: f64) -> f64 {
        let shifted = x.to_bits().wrapping_add(ONE - ROOT_HALF);
        let k = f64::from_bits((shifted >> 52) | TWO_52_BITS) - (TWO_52 + 1023.0);
        let m = f64::from_bits((shifted & MANTISSA).wrapping_add(ROOT_HALF));
        self.near_one(m) * exp2(self.exponent * k)
    }

    /// The powers of many numbers, each of at least `least`, eight at once.
    #[inline(always)]
    pub fn of_all(&self, numbers: &[f64], least: f64, into: &mut [f64]) {
        let of_least = self.of(least);
        let one = |x: f64| self.of(fast::higher(x, least));
        let (blocks, rest) = numbers.as_chunks::<8>();
        let (into_blocks, into_rest) = into.as_chunks_mut::<8>();
        for (into, block) in into_blocks.iter_mut().zip(blocks) {
            // Where all are as low as that, nothing is to be reckoned.
            *into = if block.iter().all(|x| *x <= least) {
                [of_least; 8]
            } else {
                let mut powers = [0.0; 8];
                for i in 0..8 {
                    powers[i] = one(block[i]);
                }
                powers
            };
        }
        for (into, x) in into_rest.iter_mut().zip(rest) {
            *into = one(*x);
        }
    }

    /// [`Power::of`] between the roots of one half and of two: the same bits there, sooner.
    #[inline(always)]
    pub fn near_one(&self, x: f64) -> f64 {
        let [c0, c1, c2, c3, c4, c5, c6, c7, c8, c9, c10, c11] = self.coefficients;
        let v = x - 1.0;
        let v2 = v * v;
        let v4 = v2 * v2;
        // Estrin's grouping: short chains.
        let low = (c0 + v * c1) + v2 * (c2 + v * c3);
        let middle = (c4 + v * c5) + v2 * (c6 + v * c7);
        let high = (c8 + v * c9) + v2 * (c10 + v * c11);
        low + v4 * (middle + v4 * high)
    }
}

/// `2^x`, relative error under 1e-11 for |x| under 1000: a power of two and the series of `e^r`, |r| <= 0.35, to the ninth power.
#[inline(always)]
fn exp2(x: f64) -> f64 {
    let shifted = x + ROUNDING;
    let r = (x - (shifted - ROUNDING)) * LN_2;
    let r2 = r * r;
    let r4 = r2 * r2;
    let a = (1.0 + r) + r2 * (1.0 / 2.0 + r * (1.0 / 6.0));
    let b = (1.0 / 24.0 + r * (1.0 / 120.0)) + r2 * (1.0 / 720.0 + r * (1.0 / 5040.0));
    let c = 1.0 / 40_320.0 + r * (1.0 / 362_880.0);
    let whole = f64::from_bits((shifted.to_bits() << 52).wrapping_add(ONE));
    (a + r4 * (b + r4 * c)) * whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_are_those_of_std_to_their_errors() {
        for (power, most, error) in [
            (FIFTH_ROOT, 300.0, 3e-11),
            (TWO_THIRDS, 50.0, 1e-11),
            (FIVE_THIRDS, 30.0, 1e-11),
            (MINUS_0_43, 30.0, 2e-10),
        ] {
            for i in -20_000..=20_000 {
                let (near, far) = (f64::from(i) / 20_000.0, most * f64::from(i) / 20_000.0);
                for x in [near.exp(), far.exp()] {
                    let wanted = x.powf(power.exponent);
                    assert!(
                        (power.of(x) / wanted - 1.0).abs() < error,
                        "{x}^{}",
                        power.exponent
                    );
                }
            }
        }
    }

    #[test]
    fn all_are_as_one_by_one() {
        let numbers: Vec<f64> = (0..29).map(|i| 0.01 * f64::from((i - 12).max(-3))).collect();
        let mut found = vec![0.0; 29];
        MINUS_0_43.of_all(&numbers, 0.02, &mut found);
        for (found, x) in found.iter().zip(&numbers) {
            assert_eq!(*found, MINUS_0_43.of(x.max(0.02)), "{x}");
        }
    }

    #[test]
    fn near_one_the_bits_are_the_same() {
        for i in 0..=20_000 {
            let x = 0.7072 + 0.707 * f64::from(i) / 20_000.0;
            assert_eq!(
                FIVE_THIRDS.of(x).to_bits(),
                FIVE_THIRDS.near_one(x).to_bits(),
                "{x}"
            );
        }
    }

    #[test]
    fn exp2_is_that_of_std() {
        for i in -10_000..=10_000 {
            let x = f64::from(i) / 11.0;
            assert!((exp2(x) / x.exp2() - 1.0).abs() < 1e-11, "{x}");
        }
    }
}
