//! Wind, fog, and the window of the trip.

use super::*;

#[test]
fn wind_is_the_ninetieth_percentile_of_the_members_highest() {
    let mut set = set_of(Vec::new());
    // Member m blows m m/s at its highest, at 16 UTC; 11 members: the 90th percentile is 9.
    forecast(&mut set, "wind_speed", 11, |m, h| {
        Some(if h == 10 { f64::from(m) } else { 0.0 })
    });
    forecast(&mut set, "wind_direction", 1, |_, h| {
        Some(if h == 5 { 270.0 } else { 90.0 })
    });
    let found = conditions_at(&lake(), &set);
    let wind = found.wind.as_ref().expect("wind");
    assert_eq!(
        (wind.members, wind.speed_max_m_s, wind.gust_max_m_s),
        (11, 9.0, None)
    );
    // Of each hour the same: 9 at 16 UTC, none in the hour after.
    let highs: Vec<_> = wind.hours.iter().map(|h| h.speed_high_m_s).collect();
    let at_16 = wind.hours.iter().position(|h| h.speed_high_m_s == Some(9.0));
    assert_eq!(
        wind.hours[at_16.expect("an hour")].time,
        Utc.with_ymd_and_hms(2025, 7, 24, 16, 0, 0).unwrap()
    );
    assert_eq!(highs.iter().filter(|h| **h == Some(0.0)).count(), highs.len() - 1);
    assert_eq!(wind.from, morning());
    assert_eq!(wind.to, morning() + Duration::hours(8));
    assert!(matches!(gap(&found, "wind_gust").reason, GapReason::NoData));
}

#[test]
fn wind_that_does_not_reach_to_the_end_of_the_trip_is_not_known() {
    let mut set = set_of(Vec::new());
    forecast(&mut set, "wind_speed", 1, |_, h| (h < 12).then_some(3.0));
    let found = conditions_at(&lake(), &set);
    assert!(found.wind.is_none());
    assert!(matches!(
        gap(&found, "wind_speed").consequence,
        Consequence::CautionGiven { .. }
    ));
}

#[test]
fn fog_is_likely_in_a_calm_with_air_at_its_dew_point() {
    let mut set = set_of(Vec::new());
    forecast(&mut set, "air_temp", 1, |_, h| Some(10.0 + h as f64));
    forecast(&mut set, "dew_point", 1, |_, _| Some(14.5));
    forecast(&mut set, "wind_speed", 1, |_, _| Some(1.0));
    assert_eq!(conditions_at(&lake(), &set).sky.unwrap().fog_likely, Some(true));
    forecast(&mut set, "wind_speed", 1, |_, _| Some(4.0));
    assert_eq!(conditions_at(&lake(), &set).sky.unwrap().fog_likely, Some(false));
}

#[test]
fn a_brief_of_the_evening_is_for_the_next_dawn() {
    let evening = Utc.with_ymd_and_hms(2025, 7, 25, 2, 0, 0).unwrap();
    let trip = trip_window(&lake(), evening);
    assert_eq!(trip.day, NaiveDate::from_ymd_opt(2025, 7, 25).unwrap());
    assert!(trip.from > evening && trip.to - trip.from == Duration::hours(6));
    // Civil dawn in late July at 42 N stands about 05:00 summer time.
    let begins = clock().local(trip.from).time();
    assert!(
        (3.5..4.75).contains(&(chrono::Timelike::num_seconds_from_midnight(&begins) as f64 / 3600.0)),
        "{begins}"
    );
}

#[test]
fn a_winter_trip_begins_an_hour_before_civil_dawn_and_not_in_the_night() {
    // 04:30 standard time at the lake (UTC-8).
    let as_of = Utc.with_ymd_and_hms(2026, 1, 17, 12, 30, 0).unwrap();
    let trip = trip_window(&lake(), as_of);
    let light = conditions_at(
        &lake(),
        &SeriesSet {
            as_of,
            ..SeriesSet::default()
        },
    )
    .light
    .unwrap();
    assert_eq!(trip.from, light.civil_dawn.unwrap() - Duration::hours(1));
    assert!(trip.from > as_of);
}

#[test]
fn a_late_morning_goes_out_at_once_and_a_polar_day_at_six() {
    let late = Utc.with_ymd_and_hms(2025, 7, 24, 16, 0, 0).unwrap();
    assert_eq!(trip_window(&lake(), late).from, late);
    let mut north = lake();
    (north.latitude_deg, north.longitude_deg, north.time_zone) =
        (78.0, 15.0, chrono_tz::Arctic::Longyearbyen);
    let midnight = Utc.with_ymd_and_hms(2025, 6, 21, 0, 0, 0).unwrap();
    // Summer time there is UTC+2.
    assert_eq!(
        trip_window(&north, midnight).from,
        Utc.with_ymd_and_hms(2025, 6, 21, 4, 0, 0).unwrap()
    );
    let light = conditions_at(
        &north,
        &SeriesSet {
            as_of: midnight,
            ..SeriesSet::default()
        },
    )
    .light
    .unwrap();
    assert_eq!(
        (light.civil_dawn, light.sunrise, light.sunset, light.civil_dusk),
        (None, None, None, None)
    );
}
