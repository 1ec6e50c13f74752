//! The sun's height over a lake in closed form: fast enough for a century of hours.
//!
//! Declination and equation of time are Spencer's series, which place the sun within half a degree; [`super::sun`] is for
//! when it rises and sets. What is spread over the day by these forms keeps the total that it had.

use std::f64::consts::{PI, TAU};

/// Declination of the sun, rad, with `g = 2 pi (J - 1) / 365`:
///
/// ```text
/// 0.006918 - 0.399912 cos g + 0.070257 sin g - 0.006758 cos 2g + 0.000907 sin 2g - 0.002697 cos 3g + 0.00148 sin 3g
/// ```
///
/// J = `day_of_year`, 1 at the first midnight of the year. Source: Spencer 1971, Search 2:172 (coefficients from memory;
/// they are held against the full algorithm). The sine of FAO-56 ([`super::radiation::declination_rad`]) is a degree off in
/// autumn.
pub fn series_declination_rad(day_of_year: f64) -> f64 {
    let g = TAU * (day_of_year - 1.0) / 365.0;
    0.006918 - 0.399912 * g.cos() + 0.070257 * g.sin() - 0.006758 * (2.0 * g).cos()
        + 0.000907 * (2.0 * g).sin()
        - 0.002697 * (3.0 * g).cos()
        + 0.00148 * (3.0 * g).sin()
}

/// True solar time less mean solar time, h, with g as for [`series_declination_rad`]:
///
/// ```text
/// (12 / pi) (0.000075 + 0.001868 cos g - 0.032077 sin g - 0.014615 cos 2g - 0.040849 sin 2g)
/// ```
///
/// Source: as there.
pub fn equation_of_time_h(day_of_year: f64) -> f64 {
    let g = TAU * (day_of_year - 1.0) / 365.0;
    let angle_rad = 0.000075 + 0.001868 * g.cos()
        - 0.032077 * g.sin()
        - 0.014615 * (2.0 * g).cos()
        - 0.040849 * (2.0 * g).sin();
    angle_rad * 12.0 / PI
}

/// A stretch of one day, as the sun sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunSpan {
    /// Mean of the cosine of the zenith over the stretch, nights as 0.
    pub mean_height_frac: f64,
    /// Share of the stretch with the sun up.
    pub sunlit_frac: f64,
}

/// The sun over a place on one day of the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunCourse {
    /// `sin phi sin delta`.
    level_frac: f64,
    /// `cos phi cos delta`.
    swing_frac: f64,
    /// Hour angle at 0 h UTC.
    midnight_rad: f64,
    /// Hour angle at sunset.
    sunset_rad: f64,
}

impl SunCourse {
    /// The course at `latitude_deg`, `longitude_deg` (east positive) on the day of the year in UTC.
    pub fn new(latitude_deg: f64, longitude_deg: f64, day_of_year: f64) -> SunCourse {
        let (phi, delta) = (latitude_deg.to_radians(), series_declination_rad(day_of_year));
        let (level_frac, swing_frac) = (phi.sin() * delta.sin(), phi.cos() * delta.cos());
        let sunset_rad = if level_frac >= swing_frac {
            PI
        } else if level_frac <= -swing_frac {
            0.0
        } else {
            (-level_frac / swing_frac).acos()
        };
        let solar_midnight_h = longitude_deg / 15.0 + equation_of_time_h(day_of_year);
        SunCourse {
            level_frac,
            swing_frac,
            midnight_rad: (solar_midnight_h - 12.0) * PI / 12.0,
            sunset_rad,
        }
    }

    /// Cosine of the zenith at an hour of UTC: `sin phi sin delta + cos phi cos delta cos omega`; below 0 at night.
    pub fn height_frac(&self, hour_h: f64) -> f64 {
        self.level_frac + self.swing_frac * (self.midnight_rad + hour_h * PI / 12.0).cos()
    }

    /// Mean height over `from_h` to `to_h` (hours of UTC, at most 24 of them), by the integral of the cosine between
    /// the hour angles of the stretch that lie between sunrise and sunset (as FAO-56, equation 28, cut at the horizon).
    pub fn span(&self, from_h: f64, to_h: f64) -> SunSpan {
        let angle = |hour_h: f64| self.midnight_rad + hour_h * PI / 12.0;
        let turns = ((angle(from_h) + PI) / TAU).floor() * TAU;
        // The stretch begins within half a turn of noon and may reach into the next day.
        let (from, to) = (angle(from_h) - turns, angle(to_h) - turns);
        let (mut height, mut sunlit) = (0.0, 0.0);
        for noon in [0.0, TAU] {
            let (start, end) = (from.max(noon - self.sunset_rad), to.min(noon + self.sunset_rad));
            if end > start {
                height += self.level_frac * (end - start) + self.swing_frac * (end.sin() - start.sin());
                sunlit += end - start;
            }
        }
        SunSpan {
            mean_height_frac: (height / (to - from)).max(0.0),
            sunlit_frac: sunlit / (to - from),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::radiation::inverse_relative_distance;
    use crate::physics::sun::sun_position;
    use chrono::{TimeZone as _, Utc};

    #[test]
    fn the_mean_of_a_day_is_that_of_the_radiation_at_the_top_of_the_air() {
        // FAO-56 Example 8: 3 September at 20 S gives 32.2 MJ/m2 a day, 372.7 W/m2, printed to 0.1 MJ. The two
        // declinations differ by 0.7 degrees there, 1.3 % of the day; which is right, the full algorithm says below.
        let top_w_m2 = 0.0820e6 / 60.0 * inverse_relative_distance(246.0);
        let day = SunCourse::new(-20.0, 0.0, 246.0).span(0.0, 24.0);
        assert!(
            (top_w_m2 * day.mean_height_frac / 372.7 - 1.0).abs() < 0.015,
            "{day:?}"
        );
    }

    #[test]
    fn the_closed_form_is_the_integral_of_the_height() {
        for (latitude_deg, longitude_deg) in [
            (-70.0, 10.0),
            (-36.9, 174.5),
            (0.0, 0.0),
            (51.7, -170.0),
            (89.0, 47.0),
        ] {
            for day_of_year in [1.0, 80.0, 172.0, 300.0] {
                let course = SunCourse::new(latitude_deg, longitude_deg, day_of_year);
                for (from_h, to_h) in [(0.0, 24.0), (4.5, 7.5), (18.0, 26.0), (-3.0, 0.5)] {
                    let slices = 20_000;
                    let sum: f64 = (0..slices)
                        .map(|k| {
                            let at_h = from_h + (to_h - from_h) * (f64::from(k) + 0.5) / f64::from(slices);
                            course.height_frac(at_h).max(0.0)
                        })
                        .sum();
                    let (found, wanted) = (
                        course.span(from_h, to_h).mean_height_frac,
                        sum / f64::from(slices),
                    );
                    // The midpoint rule errs where a slice holds sunrise, by the square of a slice.
                    assert!(
                        (found - wanted).abs() < 1e-7,
                        "{latitude_deg} {day_of_year} {from_h}: {found} {wanted}"
                    );
                }
            }
        }
    }

    #[test]
    fn hours_add_up_to_the_day_wherever_it_begins() {
        for longitude_deg in [-179.0, -89.4, 0.0, 174.5] {
            for latitude_deg in [-36.9, 60.4, 80.0] {
                let course = SunCourse::new(latitude_deg, longitude_deg, 172.0);
                let whole = course.span(0.0, 24.0).mean_height_frac;
                let hours: f64 = (0..24)
                    .map(|h| course.span(f64::from(h), f64::from(h) + 1.0).mean_height_frac / 24.0)
                    .sum();
                assert!((hours - whole).abs() < 1e-12, "{longitude_deg} {latitude_deg}");
            }
        }
    }

    #[test]
    fn the_sun_stands_near_the_full_algorithm() {
        let mut worst_deg: f64 = 0.0;
        for (latitude_deg, longitude_deg) in [(51.74, 10.9), (43.0, -89.41), (-36.89, 174.47)] {
            for (month, day) in (1..=12).flat_map(|month| [(month, 5), (month, 15), (month, 25)]) {
                for hour in 0..24 {
                    let at = Utc.with_ymd_and_hms(2015, month, day, hour, 0, 0).unwrap();
                    let day_of_year = f64::from(chrono::Datelike::ordinal(&at.date_naive()));
                    let course =
                        SunCourse::new(latitude_deg, longitude_deg, day_of_year + f64::from(hour) / 24.0);
                    let found_deg = course.height_frac(f64::from(hour)).acos().to_degrees();
                    let wanted_deg = sun_position(at, latitude_deg, longitude_deg, 0.0)
                        .unwrap()
                        .zenith_deg;
                    // Near the horizon the full algorithm lifts the sun by refraction.
                    if wanted_deg < 85.0 {
                        worst_deg = worst_deg.max((found_deg - wanted_deg).abs());
                    }
                }
            }
        }
        // The series is of a mean year: leap days move it by up to a day, 0.4 degrees of declination at the equinox.
        assert!(worst_deg < 0.5, "{worst_deg}");
    }
}
