//! Random streams named by a seed and a purpose.
//!
//! A result must not depend on the order in which things are drawn, nor on how many others are drawn
//! beside it. So nothing shares a generator: each purpose (`surface/17`, `profile/17`) has its own.

use rand_chacha::ChaCha12Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use sha2::{Digest, Sha256};

/// The stream of `purpose` under `seed`: ChaCha12 keyed with the SHA-256 of both. The same two give the
/// same numbers on every machine and in every order.
///
/// ```
/// # use plungeline::math::streams::{normal, stream};
/// let (mut a, mut b) = (stream(7, "wind/3"), stream(7, "wind/3"));
/// assert_eq!(normal(&mut a), normal(&mut b));
/// ```
pub fn stream(seed: u64, purpose: &str) -> ChaCha12Rng {
    let mut hash = Sha256::new();
    hash.update(seed.to_le_bytes());
    hash.update(purpose.as_bytes());
    ChaCha12Rng::from_seed(hash.finalize().into())
}

/// The next standard normal number of a stream.
pub fn normal(stream: &mut ChaCha12Rng) -> f64 {
    StandardNormal.sample(stream)
}

/// The next number of a stream that is uniform on 0 (inclusive) to 1 (exclusive).
pub fn uniform(stream: &mut ChaCha12Rng) -> f64 {
    rand::RngExt::random(stream)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_differ_by_seed_and_by_purpose() {
        let first = |seed, purpose: &str| normal(&mut stream(seed, purpose));
        assert_ne!(first(1, "a"), first(2, "a"));
        assert_ne!(first(1, "a"), first(1, "b"));
    }

    #[test]
    fn normal_numbers_have_mean_0_and_variance_1() {
        let mut numbers = stream(42, "test");
        let drawn: Vec<f64> = (0..40_000).map(|_| normal(&mut numbers)).collect();
        let mean = drawn.iter().sum::<f64>() / drawn.len() as f64;
        let variance = drawn.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / drawn.len() as f64;
        // Standard errors 0.005 and 0.007: four of them.
        assert!(mean.abs() < 0.02, "{mean}");
        assert!((variance - 1.0).abs() < 0.03, "{variance}");
    }

    #[test]
    fn uniform_numbers_stay_in_their_range() {
        let mut numbers = stream(42, "test");
        assert!(
            (0..1000)
                .map(|_| uniform(&mut numbers))
                .all(|x| (0.0..1.0).contains(&x))
        );
    }
}
