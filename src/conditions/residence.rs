//! How long water stays in the lake.

use crate::units::S_PER_DAY;

/// Theoretical residence time `V / Q`, days: how long today's release would take to pass today's volume.
///
/// A stratified lake does not empty like a tank, and the river may run through its upper layers in a fraction
/// of it. Row S-RES. `None` where the release is not positive (it would never empty) or a value not finite.
///
/// ```
/// // By hand: 864 000 m3 at 1 m3/s.
/// assert_eq!(plungeline::conditions::residence::residence_days(864_000.0, 1.0), Some(10.0));
/// assert_eq!(plungeline::conditions::residence::residence_days(1.0, 0.0), None);
/// ```
pub fn residence_days(storage_m3: f64, release_m3s: f64) -> Option<f64> {
    (storage_m3.is_finite() && release_m3s.is_finite() && release_m3s > 0.0)
        .then(|| storage_m3 / (release_m3s * S_PER_DAY))
}
