//! When the boat is out.

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, Timelike, Utc};

use crate::clock::LakeClock;
use crate::lake::Lake;
use crate::physics::sun::sun_times;

/// How long before civil dawn a trip begins at the earliest (common practice, no source).
const BEFORE_DAWN_H: i64 = 1;
/// Civil hour at which a trip begins where the sun gives none (project choice).
const NO_DAWN_HOUR: u32 = 6;
/// Longest trip that is believed, hours.
const LONGEST_TRIP_H: f64 = 72.0;

/// The stretch of time on the water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TripWindow {
    /// Civil day of the trip.
    pub day: NaiveDate,
    /// Beginning.
    pub from: DateTime<Utc>,
    /// End: the boat's planned hours later.
    pub to: DateTime<Utc>,
}

/// The trip that a brief at `as_of` is for.
///
/// Its day is the civil day of `as_of` before noon, and the next one from noon on (a brief of the evening
/// before). It begins an hour before civil dawn of that day, or at `as_of` where that is later, and lasts
/// the boat's planned hours, none without a boat. Where there is no dawn (polar day and night) 06:00 civil time stands in.
///
/// A planned time that is no number, negative or above 72 h is a fault of the lake file, which its check
/// refuses; should one come here, the window is empty or 72 h long.
pub fn trip_window(lake: &Lake, as_of: DateTime<Utc>) -> TripWindow {
    let clock = LakeClock::new(lake.time_zone);
    let local = clock.local(as_of);
    let today = local.date_naive();
    let day = if local.hour() < 12 {
        today
    } else {
        today.succ_opt().unwrap_or(today)
    };
    let earliest = civil_dawn(lake, &clock, day).map_or_else(
        || {
            let hour = NaiveTime::from_hms_opt(NO_DAWN_HOUR, 0, 0).unwrap_or(NaiveTime::MIN);
            clock.instant(day.and_time(hour))
        },
        |dawn| dawn - Duration::hours(BEFORE_DAWN_H),
    );
    let from = as_of.max(earliest);
    let trip_h = lake.boat.map_or(0.0, |boat| boat.trip_h);
    let trip_s = (trip_h.clamp(0.0, LONGEST_TRIP_H) * 3600.0) as i64;
    TripWindow {
        day,
        from,
        to: from + Duration::seconds(trip_s),
    }
}

fn civil_dawn(lake: &Lake, clock: &LakeClock, day: NaiveDate) -> Option<DateTime<Utc>> {
    let next = day.succ_opt()?;
    let (from, to) = (clock.civil_day_start(day), clock.civil_day_start(next));
    sun_times(from, to, lake.latitude_deg, lake.longitude_deg)
        .ok()?
        .civil_dawn
}
