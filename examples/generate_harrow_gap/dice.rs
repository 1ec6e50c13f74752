//! Seeded random numbers and elementary functions that are the same on every machine.
//!
//! `std`'s `exp`, `sin` and the like come from the C library and may differ in the last bit from one
//! processor to the next; those of the `libm` crate are plain Rust and do not.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

pub use libm::{atan2, cos, exp, log as ln, pow, sin};

/// One seed for the whole demonstration; every process draws from a stream of its own.
const SEED: u64 = 20;

/// One stream of random numbers.
pub struct Dice {
    stream: ChaCha8Rng,
    spare: Option<f64>,
}

impl Dice {
    /// The stream numbered `stream`. Numbers are given once, in the list of streams in the callers.
    pub fn new(stream: u64) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(SEED);
        generator.set_stream(stream);
        Dice {
            stream: generator,
            spare: None,
        }
    }

    /// Uniform in [0, 1), 53 bits.
    pub fn uniform(&mut self) -> f64 {
        (self.stream.next_u64() >> 11) as f64 / 9_007_199_254_740_992.0
    }

    /// Standard normal (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = libm::sqrt(-2.0 * ln(1.0 - self.uniform()));
        let angle = 2.0 * std::f64::consts::PI * self.uniform();
        self.spare = Some(radius * sin(angle));
        radius * cos(angle)
    }

    /// Gamma with a shape of `halves / 2` (sum of squared normals) and the given mean.
    pub fn gamma_halves(&mut self, halves: u32, mean: f64) -> f64 {
        let sum: f64 = (0..halves)
            .map(|_| {
                let z = self.normal();
                z * z
            })
            .sum();
        mean * sum / f64::from(halves)
    }
}

/// A stationary first-order autoregressive process with unit variance, one step an hour.
pub struct Memory {
    keep: f64,
    kick: f64,
    value: f64,
}

impl Memory {
    /// A process with an e-folding time of `time_h`, started from its stationary distribution.
    pub fn new(time_h: f64, dice: &mut Dice) -> Self {
        let keep = exp(-1.0 / time_h);
        Memory {
            keep,
            kick: libm::sqrt(1.0 - keep * keep),
            value: dice.normal(),
        }
    }

    /// The next value.
    pub fn step(&mut self, dice: &mut Dice) -> f64 {
        self.value = self.keep * self.value + self.kick * dice.normal();
        self.value
    }
}

/// Logistic function.
pub fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + exp(-x))
}

/// `exp(-x^2)`.
pub fn bell(x: f64) -> f64 {
    exp(-x * x)
}
