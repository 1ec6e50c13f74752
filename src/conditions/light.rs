//! Light of the day of the trip.

use super::morning::Morning;
use super::{LightCondition, TripWindow};
use crate::physics::sun::{SunError, sun_times};

/// Dawn, sunrise, sunset and dusk within the civil day of the trip.
///
/// # Errors
/// [`SunError`] for a position off the globe, which the check of the lake file refuses.
pub(super) fn light(morning: &Morning, trip: &TripWindow) -> Result<LightCondition, SunError> {
    let next = trip.day.succ_opt().unwrap_or(trip.day);
    let (from, to) = (
        morning.clock.civil_day_start(trip.day),
        morning.clock.civil_day_start(next),
    );
    let sun = sun_times(from, to, morning.lake.latitude_deg, morning.lake.longitude_deg)?;
    Ok(LightCondition {
        civil_dawn: sun.civil_dawn,
        sunrise: sun.sunrise,
        sunset: sun.sunset,
        civil_dusk: sun.civil_dusk,
    })
}
