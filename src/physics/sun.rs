//! Where the sun stands, and when it rises and sets.
//!
//! Positions are those of the NREL solar position algorithm (Reda & Andreas 2004, Solar Energy 76:577),
//! +-0.0003 degrees, by the crate `solar-positioning`. Sunrise and sunset: centre of the disc 0.8333
//! degrees below the horizon (34' of refraction and 16' of radius); civil dawn and dusk: 6 degrees
//! below. The horizon is that of the sea: a canyon rim of h degrees delays the sun by minutes.

use chrono::{DateTime, Datelike, Duration, Utc};
use solar_positioning::{Horizon, Location, RefractionCorrection, SolarEvents, SolarPositions, delta_t};

use crate::math::interpolate::line;

/// Longest that hills are taken to hide the sun, minutes (project choice).
const LONGEST_SHADE_MIN: i64 = 360;

/// Why there is no position of the sun.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SunError {
    /// Position on Earth outside its range.
    #[error(
        "cannot place the sun at {latitude_deg} N {longitude_deg} E: found a position off the globe, \
             wanted a latitude of -90 to 90 and a longitude of -180 to 180; mend latitude and longitude in the lake file"
    )]
    OffTheGlobe {
        /// Latitude asked for.
        latitude_deg: f64,
        /// Longitude asked for.
        longitude_deg: f64,
    },
    /// The algorithm refused the time.
    #[error(
        "cannot place the sun at {at}: found a time outside the years -2000 to 6000, wanted one inside; mend the clock"
    )]
    OutOfYears {
        /// Time asked for.
        at: DateTime<Utc>,
        /// The algorithm's own words.
        #[source]
        source: solar_positioning::Error,
    },
}

/// The sun's events within a stretch of time; `None` where one does not occur.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SunTimes {
    /// The sun passes 6 degrees below the horizon, rising.
    pub civil_dawn: Option<DateTime<Utc>>,
    /// The upper limb appears.
    pub sunrise: Option<DateTime<Utc>>,
    /// The upper limb vanishes.
    pub sunset: Option<DateTime<Utc>>,
    /// The sun passes 6 degrees below the horizon, setting.
    pub civil_dusk: Option<DateTime<Utc>>,
}

/// Where the sun stands, refraction of a standard atmosphere included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunPosition {
    /// Direction, clockwise from north.
    pub azimuth_deg: f64,
    /// Angle from straight up; above 90 the sun is down.
    pub zenith_deg: f64,
}

/// The sun's events from `from` (excluded) to `to`: give the bounds of the lake's civil day, so that
/// a western sunset is not taken for that of the day before (an UTC day does that).
///
/// Risings are the first in the stretch; settings are the first after the rising where there is one,
/// else the first in the stretch. In polar day and polar night there are none.
///
/// # Errors
/// [`SunError`] for a position off the globe and for years that the algorithm does not reach.
///
/// ```
/// use chrono::{TimeZone, Utc};
/// // 40 N 105 W at UTC-7 on 2025-06-21: sunrise 04:31:25 (ephem 4.2.1, row P2-SR-250621-40)
/// let from = Utc.with_ymd_and_hms(2025, 6, 21, 7, 0, 0).unwrap();
/// let sun = plungeline::physics::sun::sun_times(from, from + chrono::Duration::hours(24), 40.0, -105.0).unwrap();
/// let published = Utc.with_ymd_and_hms(2025, 6, 21, 11, 31, 25).unwrap();
/// assert!((sun.sunrise.unwrap() - published).num_seconds().abs() <= 60);
/// ```
pub fn sun_times(
    from: DateTime<Utc>,
    to: DateTime<Utc>,
    latitude_deg: f64,
    longitude_deg: f64,
) -> Result<SunTimes, SunError> {
    let place = location(latitude_deg, longitude_deg)?;
    let delta_t_s = delta_t_s(from);
    let events = SolarEvents::new();
    let refuse = |source| SunError::OutOfYears { at: from, source };
    let pair = |horizon| -> Result<_, SunError> {
        let rise = events
            .next_rise(&from, &to, place, delta_t_s, horizon)
            .map_err(refuse)?;
        let after = rise.unwrap_or(from);
        let mut set = events
            .next_set(&after, &to, place, delta_t_s, horizon)
            .map_err(refuse)?;
        if set.is_none() && rise.is_some() {
            set = events
                .next_set(&from, &to, place, delta_t_s, horizon)
                .map_err(refuse)?;
        }
        Ok((rise, set))
    };
    let (sunrise, sunset) = pair(Horizon::SunriseSunset)?;
    let (civil_dawn, civil_dusk) = pair(Horizon::CivilTwilight)?;
    Ok(SunTimes {
        civil_dawn,
        sunrise,
        sunset,
        civil_dusk,
    })
}

/// When the sun clears the hills: the first minute from `sunrise` on at which it stands higher than they do in its direction, within
/// six hours; `None` where it does not.
///
/// `horizon` is `(direction_deg, height_deg)`, direction increasing within 0..360, straight between and around the circle. The
/// middle of the disc counts, so that the first rim shows a minute or two before. From the position of [`sun_position`] at sea
/// level; own search, minute by minute.
///
/// # Errors
/// [`SunError`] as there.
pub fn sun_over_hills(
    sunrise: DateTime<Utc>,
    horizon: &[(f64, f64)],
    latitude_deg: f64,
    longitude_deg: f64,
) -> Result<Option<DateTime<Utc>>, SunError> {
    for minute in 0..=LONGEST_SHADE_MIN {
        let at = sunrise + Duration::minutes(minute);
        let sun = sun_position(at, latitude_deg, longitude_deg, 0.0)?;
        let Some(hills_deg) = around(horizon, sun.azimuth_deg) else {
            return Ok(None);
        };
        if 90.0 - sun.zenith_deg >= hills_deg {
            return Ok(Some(at));
        }
    }
    Ok(None)
}

/// Height of the hills in a direction; `None` without any.
fn around(horizon: &[(f64, f64)], direction_deg: f64) -> Option<f64> {
    let (&first, &last) = (horizon.first()?, horizon.last()?);
    let direction = direction_deg.rem_euclid(360.0);
    let after = horizon.partition_point(|&(deg, _)| deg <= direction);
    let (before, behind) = match after {
        0 => ((last.0 - 360.0, last.1), first),
        n if n == horizon.len() => (last, (first.0 + 360.0, first.1)),
        n => (horizon[n - 1], horizon[n]),
    };
    Some(if behind.0 > before.0 {
        line(before, behind, direction)
    } else {
        before.1.max(behind.1)
    })
}

/// Where the sun stands at `at`.
///
/// # Errors
/// [`SunError`] for a position off the globe and for years that the algorithm does not reach.
///
/// ```
/// use chrono::{TimeZone, Utc};
/// // The worked example of NREL/TP-560-34302 (row P2-SPA-AZ): azimuth 194.34024 degrees.
/// let at = Utc.with_ymd_and_hms(2003, 10, 17, 19, 30, 30).unwrap();
/// let sun = plungeline::physics::sun::sun_position(at, 39.742476, -105.1786, 1830.14).unwrap();
/// assert!((sun.azimuth_deg - 194.34024).abs() < 0.0005);
/// ```
pub fn sun_position(
    at: DateTime<Utc>,
    latitude_deg: f64,
    longitude_deg: f64,
    elevation_m: f64,
) -> Result<SunPosition, SunError> {
    let place = location(latitude_deg, longitude_deg)?;
    let position = SolarPositions::new()
        .at(
            &at,
            place,
            elevation_m,
            delta_t_s(at),
            Some(RefractionCorrection::standard()),
        )
        .map_err(|source| SunError::OutOfYears { at, source })?;
    Ok(SunPosition {
        azimuth_deg: position.azimuth(),
        zenith_deg: position.zenith_angle(),
    })
}

fn location(latitude_deg: f64, longitude_deg: f64) -> Result<Location, SunError> {
    let on_globe = (-90.0..=90.0).contains(&latitude_deg) && (-180.0..=180.0).contains(&longitude_deg);
    if on_globe {
        Ok(Location {
            latitude: latitude_deg,
            longitude: longitude_deg,
        })
    } else {
        Err(SunError::OffTheGlobe {
            latitude_deg,
            longitude_deg,
        })
    }
}

/// Terrestrial time less universal time. Its estimate is good to seconds for centuries; 69 s, adequate
/// for 2020 to 2030 (from memory), stands in for years that the estimate does not reach.
fn delta_t_s(at: DateTime<Utc>) -> f64 {
    delta_t::estimate_from_date(at.year(), at.month()).unwrap_or(69.0)
}
