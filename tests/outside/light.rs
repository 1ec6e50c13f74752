//! Sun against the NREL worked example and ephem (fixtures/published/physics-checks.csv, P2 rows).

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, TimeZone, Utc};
use plungeline::clock::LakeClock;
use plungeline::physics::sun::{SunTimes, sun_over_hills, sun_position, sun_times};

use crate::published::row;

/// The sun of a day at UTC-7, as the rows give it.
fn sun(date: NaiveDate, latitude_deg: f64, longitude_deg: f64) -> (DateTime<Utc>, SunTimes) {
    let from = Utc.from_utc_datetime(&date.and_time(NaiveTime::MIN)) + Duration::hours(7);
    let sun = sun_times(from, from + Duration::hours(24), latitude_deg, longitude_deg)
        .expect("a place on the globe");
    (from, sun)
}

/// Asserts an event against the clock time of row `id`, within the row's 60 s (the libraries behind the
/// rows differ by up to 30 s).
fn assert_clock(id: &str, from: DateTime<Utc>, found: Option<DateTime<Utc>>) {
    let row = row(id);
    let wanted = NaiveTime::parse_from_str(&row.expected, "%H:%M:%S").expect("a clock time");
    let wanted = from + (wanted - NaiveTime::MIN);
    let found = found.unwrap_or_else(|| panic!("{id}: no event"));
    let apart_s = (found - wanted).num_seconds().abs() as f64;
    assert!(apart_s <= row.tolerance, "{id}: wanted {wanted}, found {found}");
}

fn date(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).expect("a date")
}

#[test]
fn dawn_sunrise_sunset_and_dusk_are_ephems() {
    let days = [
        ("250320-40", date(2025, 3, 20), 40.0, -105.0),
        ("250621-40", date(2025, 6, 21), 40.0, -105.0),
        ("251221-40", date(2025, 12, 21), 40.0, -105.0),
        ("251101-47", date(2025, 11, 1), 47.0, -115.0),
        ("260418-47", date(2026, 4, 18), 47.0, -115.0),
    ];
    for (name, day, latitude_deg, longitude_deg) in days {
        let (from, sun) = sun(day, latitude_deg, longitude_deg);
        assert_clock(&format!("P2-CD-{name}"), from, sun.civil_dawn);
        assert_clock(&format!("P2-SR-{name}"), from, sun.sunrise);
        assert_clock(&format!("P2-SS-{name}"), from, sun.sunset);
        assert_clock(&format!("P2-CS-{name}"), from, sun.civil_dusk);
    }
}

#[test]
fn the_sunset_of_the_worked_example_is_that_of_the_local_day() {
    let (from, sun) = sun(date(2003, 10, 17), 39.742476, -105.1786);
    assert_clock("P2-SPA-SR", from, sun.sunrise);
    assert_clock("P2-SPA-SS", from, sun.sunset);
}

#[test]
fn the_azimuth_of_the_worked_example_is_met() {
    let at = Utc.with_ymd_and_hms(2003, 10, 17, 19, 30, 30).unwrap();
    let sun = sun_position(at, 39.742476, -105.1786, 1830.14).expect("a place on the globe");
    row("P2-SPA-AZ").assert(&[sun.azimuth_deg]);
}

#[test]
fn a_civil_day_of_23_hours_holds_one_sunrise_and_one_sunset() {
    let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
    let day = date(2026, 3, 8);
    let (from, to) = (
        clock.civil_day_start(day),
        clock.civil_day_start(date(2026, 3, 9)),
    );
    let sun = sun_times(from, to, 42.2, -119.6).expect("a place on the globe");
    for event in [sun.civil_dawn, sun.sunrise, sun.sunset, sun.civil_dusk] {
        assert_eq!(
            clock.civil_day(event.expect("the sun rises and sets in Oregon in March")),
            day
        );
    }
    assert!(sun.civil_dawn < sun.sunrise && sun.sunrise < sun.sunset && sun.sunset < sun.civil_dusk);
}

#[test]
fn december_days_are_long_in_the_south_and_short_in_the_north() {
    let length_h = |clock: LakeClock, latitude_deg: f64, longitude_deg: f64| {
        let (from, to) = (
            clock.civil_day_start(date(2025, 12, 21)),
            clock.civil_day_start(date(2025, 12, 22)),
        );
        let sun = sun_times(from, to, latitude_deg, longitude_deg).expect("a place on the globe");
        let (rise, set) = (sun.sunrise.expect("a sunrise"), sun.sunset.expect("a sunset"));
        (set - rise).num_seconds() as f64 / 3600.0
    };
    let south_h = length_h(LakeClock::new(chrono_tz::Pacific::Auckland), -44.0, 170.0);
    let north_h = length_h(LakeClock::new(chrono_tz::America::Denver), 44.0, -110.0);
    // Geometric day length at 44 degrees and declination 23.44: 15.28 h and 8.72 h by FAO-56 Eq. 34;
    // refraction and the sun's radius add about 10 min at either end of the year.
    assert!((south_h - 15.45).abs() < 0.15, "{south_h}");
    assert!((north_h - 8.90).abs() < 0.15, "{north_h}");
}

#[test]
fn polar_day_and_polar_night_have_no_sunrise() {
    // 78 N: sun up from April to August, down from October to February.
    for day in [date(2025, 6, 21), date(2025, 12, 21)] {
        let (_, sun) = sun(day, 78.0, 15.0);
        assert_eq!(
            (sun.civil_dawn, sun.sunrise, sun.sunset, sun.civil_dusk),
            (None, None, None, None)
        );
    }
}

#[test]
fn a_place_off_the_globe_is_refused_with_its_numbers() {
    let from = Utc.with_ymd_and_hms(2025, 6, 21, 0, 0, 0).unwrap();
    let error = sun_times(from, from + Duration::hours(24), 95.0, 10.0).expect_err("95 N does not exist");
    assert!(error.to_string().contains("95 N"), "{error}");
    assert!(sun_times(from, from + Duration::hours(24), f64::NAN, 10.0).is_err());
}

#[test]
fn the_sun_clears_a_rim_of_eight_degrees_when_ephem_says() {
    // ephem 4.2.1, 40 N 105 W at sea level, centre of the disc at 8 degrees, 1010 hPa and 15 degC: 12:23:07 on 2025-06-21 and
    // 15:14:16 on 2025-12-21 UTC. The search goes minute by minute from a sunrise, so that it is up to a minute later.
    for (day, wanted) in [
        (date(2025, 6, 21), "2025-06-21T12:23:07Z"),
        (date(2025, 12, 21), "2025-12-21T15:14:16Z"),
    ] {
        let (_, sun) = sun(day, 40.0, -105.0);
        let rise = sun.sunrise.expect("a sunrise");
        let rim = [(0.0, 8.0), (180.0, 8.0)];
        let found = sun_over_hills(rise, &rim, 40.0, -105.0)
            .expect("a place on the globe")
            .expect("a time");
        let late_s = (found - wanted.parse::<DateTime<Utc>>().expect("a time")).num_seconds();
        assert!((-10..=70).contains(&late_s), "{found}: {late_s} s");
        assert_eq!(sun_over_hills(rise, &[], 40.0, -105.0), Ok(None));
        assert_eq!(sun_over_hills(rise, &[(0.0, 89.0)], 40.0, -105.0), Ok(None));
    }
}
