//! Loops over lanes by the widest vector instructions that the processor has.

/// Does work with AVX2 where the processor has it. Write the closure as `#[inline(always)] || ...`, and so the functions that it
/// calls: what is not inlined into it is not made wide.
///
/// Operations and their order stay those of the source, and nothing is fused, so the bits of the result do not depend on the
/// processor.
#[inline(always)]
pub fn wide<R>(work: impl FnOnce() -> R) -> R {
    #[cfg(target_arch = "x86_64")]
    if let Some(avx2) = fearless_simd::Level::new().as_avx2() {
        return fearless_simd::Simd::vectorize(avx2, work);
    }
    work()
}

#[cfg(test)]
mod tests {
    use super::wide;
    use crate::math::fast;

    #[test]
    fn wide_work_gives_the_same_bits() {
        let x: [f64; 64] = std::array::from_fn(|i| 0.1 + 0.37 * i as f64);
        let work = |i: usize| x[i] * fast::powf(x[i], -0.43) + fast::exp(-x[i]) * x[(i + 1) % 64];
        let plain: [f64; 64] = std::array::from_fn(work);
        let found: [f64; 64] = wide(
            #[inline(always)]
            || std::array::from_fn(work),
        );
        assert_eq!(found.map(f64::to_bits), plain.map(f64::to_bits));
    }
}
