//! What the members differ in: their factors on the published defaults.

use crate::column::layered::{FACTORS, ModelFactors};
use crate::math::streams::{normal, stream};

/// Standard deviation of the logarithm of each factor, in the order of [`FACTORS`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FactorSpread {
    /// Shape `[factor]`.
    pub log_sd: [f64; FACTORS.len()],
}

impl Default for FactorSpread {
    /// Project choices: the wind over a lake from that of a grid or of a station on land is known to about 15 %, extinction from
    /// a Secchi depth to 20 %, longwave radiation of a reanalysis to 1 % (3 W/m2), background diffusivity within a
    /// factor of 1.6, the shares of power, exchange and oxygen demand to 30 %.
    fn default() -> Self {
        FactorSpread {
            log_sd: [0.15, 0.2, 0.01, 0.5, 0.3, 0.3, 0.3],
        }
    }
}

/// The factors of one member: log-normal about 1, each from a stream of its own, so that a member is the same however many there are.
pub fn draw_factors(seed: u64, member: usize, spread: &FactorSpread) -> ModelFactors {
    let mut logs = spread.log_sd;
    for (log, name) in logs.iter_mut().zip(FACTORS) {
        *log *= normal(&mut stream(seed, &format!("factors/{name}/{member}")));
    }
    from_logs(logs)
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
