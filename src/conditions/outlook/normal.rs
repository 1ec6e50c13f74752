//! The outlook in closed form, for a net volume that is normally distributed: the check of the members.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::conditions::balance::{elevation_at_m, storage_at_m3};
use crate::lake::Hypsography;

/// A storage that a normal net volume is added to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalStorage {
    /// Mean of the storage at the end.
    pub mean_m3: f64,
    /// Its standard deviation, above 0; of a sum of correlated days see
    /// [`sd_of_ar1_sum`](crate::math::autoregression::sd_of_ar1_sum).
    pub sd_m3: f64,
}

impl NormalStorage {
    /// Level that the lake stays below with probability `prob`: the table's level at that quantile of the
    /// storage, for a level grows with its storage. `None` outside the table, or without a spread. Row S-PJ-q.
    pub fn level_quantile_m(&self, table: &Hypsography, prob: f64) -> Option<f64> {
        let normal = Normal::new(self.mean_m3, self.sd_m3).ok()?;
        (prob > 0.0 && prob < 1.0)
            .then(|| elevation_at_m(table, normal.inverse_cdf(prob)))
            .flatten()
    }

    /// Probability that the level is below `elevation_m`: `Phi((S(elevation) - mean) / sd)`. `None` as above.
    /// Row S-PJ-p.
    pub fn below_prob(&self, table: &Hypsography, elevation_m: f64) -> Option<f64> {
        let normal = Normal::new(self.mean_m3, self.sd_m3).ok()?;
        Some(normal.cdf(storage_at_m3(table, elevation_m)?))
    }
}
