//! What the members differ in: their factors on the published defaults.

use crate::column::layered::{FACTORS, ModelFactors};
use crate::lake::ModelFactor;
use crate::math::streams::{normal, stream};

/// What is known of the factors before any reading, in the order of [`FACTORS`]: each is log-normal, and independent of the others.
/// A fit's covariances between factors are left out, which makes the spread of the water somewhat too wide and not too narrow
/// where two factors make up for each other, as wind and light do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FactorSpread {
    /// Logarithm of the median. Shape `[factor]`.
    pub log_median: [f64; FACTORS.len()],
    /// Standard deviation of the logarithm. Shape `[factor]`.
    pub log_sd: [f64; FACTORS.len()],
}

impl FactorSpread {
    /// The default, with what a lake file states in its place. A name that is none of the factors changes nothing: the reader of
    /// lake files refuses it.
    pub fn stated(factors: &[ModelFactor]) -> FactorSpread {
        let mut spread = FactorSpread::default();
        for factor in factors {
            let stem = factor.name.strip_suffix("_frac");
            if let Some(k) = FACTORS.iter().position(|known| Some(*known) == stem) {
                spread.log_median[k] = factor.median_frac.ln();
                spread.log_sd[k] = factor.log_sd;
            }
        }
        spread
    }
}

impl Default for FactorSpread {
    /// Project choices: the wind over a lake from that of a grid or of a station on land is known to about 15 %, extinction from
    /// a Secchi depth to 20 %, longwave radiation of a reanalysis to 1 % (3 W/m2), background diffusivity within a
    /// factor of 1.6, the shares of power, exchange and oxygen demand to 30 %.
    fn default() -> Self {
        FactorSpread {
            log_median: [0.0; FACTORS.len()],
            log_sd: [0.15, 0.2, 0.01, 0.5, 0.3, 0.3, 0.3],
        }
    }
}

/// The factors of one member: log-normal about their medians, each from a stream of its own, so that a member is the same however many there are.
pub fn draw_factors(seed: u64, member: usize, spread: &FactorSpread) -> ModelFactors {
    from_logs(std::array::from_fn(|k| {
        let noise = normal(&mut stream(seed, &format!("factors/{}/{member}", FACTORS[k])));
        spread.log_median[k] + spread.log_sd[k] * noise
    }))
}

/// Logarithms of the factors, in the order of [`FACTORS`].
pub(super) fn to_logs(factors: &ModelFactors) -> [f64; FACTORS.len()] {
    factors.list().map(f64::ln)
}

/// Factors from their logarithms.
pub(super) fn from_logs(logs: [f64; FACTORS.len()]) -> ModelFactors {
    ModelFactors::from_list(logs.map(f64::exp))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_member_is_the_same_however_many_there_are_and_unlike_the_others() {
        let spread = FactorSpread::default();
        assert_eq!(draw_factors(7, 3, &spread), draw_factors(7, 3, &spread));
        assert_ne!(draw_factors(7, 3, &spread), draw_factors(7, 4, &spread));
        assert_ne!(draw_factors(7, 3, &spread), draw_factors(8, 3, &spread));
    }

    #[test]
    fn what_a_lake_file_states_moves_and_narrows_the_draws_of_that_factor_alone() {
        let names: Vec<String> = FACTORS.iter().map(|name| format!("{name}_frac")).collect();
        assert_eq!(names, crate::lake::MODEL_FACTORS, "the words of the lake file");
        let light = ModelFactor {
            name: "extinction_frac".to_owned(),
            median_frac: 1.5,
            log_sd: 0.05,
        };
        let (before, after) = (FactorSpread::default(), FactorSpread::stated(&[light]));
        for member in 0..8 {
            let (old, new) = (draw_factors(3, member, &before), draw_factors(3, member, &after));
            let (old, new) = (to_logs(&old), to_logs(&new));
            for k in 0..FACTORS.len() {
                // The default's spread of extinction is 0.2; logarithms and exponentials to 1e-15.
                let wanted = if k == 1 {
                    1.5_f64.ln() + old[k] / 0.2 * 0.05
                } else {
                    old[k]
                };
                assert!((new[k] - wanted).abs() < 1e-14, "{member} {k}");
            }
        }
    }

    #[test]
    fn draws_have_the_spread_that_is_stated() {
        let spread = FactorSpread::default();
        let logs: Vec<_> = (0..2000).map(|m| to_logs(&draw_factors(1, m, &spread))).collect();
        for (k, sd) in spread.log_sd.into_iter().enumerate() {
            let mean = logs.iter().map(|l| l[k]).sum::<f64>() / 2000.0;
            let variance = logs.iter().map(|l| (l[k] - mean).powi(2)).sum::<f64>() / 1999.0;
            // Standard errors over the spread: 0.022 and 0.016; four of them.
            assert!(
                mean.abs() < 0.09 * sd && (variance.sqrt() / sd - 1.0).abs() < 0.064,
                "{}",
                FACTORS[k]
            );
        }
    }
}
