//! The members ahead.

use chrono::Duration;

use super::world::{World, air, at, flow, level, morning, wind};
use crate::column::stored::{SeamScale, StoredNote};
use crate::conditions::seam::{SeamBasis, SeamPart};
use crate::series::{Consequence, GapReason};

const FROM: &str = "2025-08-01T00:00:00Z";

fn world(members: u16) -> World {
    let mut world = World::hourly("2025-07-25T00:00:00Z");
    world.ensemble(members);
    for id in ["sorrel-flow", "wicket-flow"] {
        world.days(id, at("2022-01-01T08:00:00Z"), morning(), &flow);
    }
    world.days("release", at("2022-01-01T08:00:00Z"), morning(), &flow);
    world.days("pool", at("2022-01-01T08:00:00Z"), morning(), &level);
    world
}

#[test]
fn each_member_has_its_own_weather_as_far_as_the_forecast_reaches() {
    let stored = world(4).stored(FROM, 6);
    assert_eq!(stored.ahead.len(), 6);
    let end = stored.past.start + Duration::hours(stored.past.weather.len() as i64);
    assert_eq!(end, at("2025-09-25T11:00:00Z"));
    for (m, ahead) in stored.ahead.iter().enumerate() {
        assert_eq!(ahead.start, end);
        // From 11 h to midnight ten days after the forecast's first: 10 days less 11 hours.
        assert_eq!(ahead.weather.len(), 229);
        assert!(ahead.level_m.is_empty());
        assert_eq!((ahead.rivers.len(), ahead.release_m3s.len()), (2, 2));
        for (k, weather) in ahead.weather.iter().enumerate() {
            let middle = end + Duration::minutes(60 * k as i64 + 30);
            // Lines over three hours of a day that swings by 5 degC: 5 (1 - cos(pi / 8)) = 0.4.
            let wanted = air(middle) + (m % 4) as f64;
            assert!((weather.air_temp_degc - wanted).abs() < 0.4, "{m} {k}");
            assert!(
                (weather.wind_speed_m_s - wind(middle) - 0.1 * (m % 4) as f64).abs() < 0.2,
                "{m} {k}"
            );
        }
    }
    let again = StoredNote::MembersAgain { issued: 4, wanted: 6 };
    assert!(stored.notes.contains(&again) && stored.notes.contains(&StoredNote::LevelFollowsFlows));
    assert_ne!(
        stored.ahead[0].rivers, stored.ahead[4].rivers,
        "members again, but other rivers"
    );
}

#[test]
fn a_member_does_not_depend_on_those_beside_it_and_another_seed_is_another_member() {
    let world = world(4);
    let (few, many) = (world.stored(FROM, 2), world.stored(FROM, 7));
    assert_eq!(few.ahead[..], many.ahead[..2]);
    assert_eq!(few.past, many.past);
    assert_eq!(world.stored(FROM, 7), many);
    let mut options = world.options(FROM, 2);
    options.seed = 8;
    let other = crate::column::stored::stored_forcing(&world.lake, &world.set, &options).unwrap();
    assert_eq!(other.past, few.past);
    assert_ne!(other.ahead[0].rivers, few.ahead[0].rivers);
}

#[test]
fn without_a_forecast_there_is_nothing_ahead_and_a_gap_says_so() {
    let mut world = world(4);
    world.set.forecasts.clear();
    let stored = world.stored(FROM, 5);
    assert!(stored.ahead.is_empty());
    let gap = stored
        .gaps
        .iter()
        .find(|gap| gap.what == "weather ahead")
        .unwrap();
    assert_eq!(gap.reason, GapReason::NoData);
}

#[test]
fn what_is_not_forecast_is_as_in_other_years_or_derived() {
    let mut world = world(3);
    world
        .set
        .forecasts
        .remove(&crate::lake::SeriesId::new("wind-speed"));
    world
        .set
        .forecasts
        .remove(&crate::lake::SeriesId::new("shortwave"));
    let from = at("2025-09-25T00:00:00Z");
    world.forecast("cloud-cover", (from, 10, 3), &|_, _| 0.0);
    for year in [2022, 2023] {
        let day = |month: u32| at(&format!("{year}-{month:02}-01T08:00:00Z"));
        world.days("wind-speed", day(8), day(12), &|_| 7.0);
    }
    let stored = world.stored(FROM, 3);
    let ahead = &stored.ahead[2];
    assert!(
        ahead
            .weather
            .iter()
            .all(|w| (w.wind_speed_m_s - 7.0).abs() < 1e-9)
    );
    let brightest = ahead.weather.iter().map(|w| w.sunlight_w_m2).fold(0.0, f64::max);
    // Haurwitz 1945 at noon of late September at 42 N: c = cos(42 + 1) = 0.73, by hand 1098 c exp(-0.057 / c) = 742.
    assert!((700.0..780.0).contains(&brightest), "{brightest}");
    let gap = stored
        .gaps
        .iter()
        .find(|gap| gap.what == "wind_speed ahead")
        .unwrap();
    assert!(matches!(gap.consequence, Consequence::StandIn { .. }));
}

#[test]
fn one_run_is_spread_by_its_usual_error_and_humidity_stays_relative() {
    let stored = world(1).stored(FROM, 200);
    assert_eq!(stored.ahead.len(), 200);
    let spread = |hour: usize| {
        let airs: Vec<f64> = stored
            .ahead
            .iter()
            .map(|f| f.weather[hour].air_temp_degc)
            .collect();
        let mean = airs.iter().sum::<f64>() / airs.len() as f64;
        (airs.iter().map(|a| (a - mean).powi(2)).sum::<f64>() / airs.len() as f64).sqrt()
    };
    // Deviations of 0.6 + 0.25 a day since 4 h of the first day: 0.67 at the clock, 2.6 at the end of the eighth day after it;
    // give or take three standard errors of 200 members, 15 %, and what a line between two days loses, at most
    // (1 - 0.75) / 4 of the variance.
    assert!((0.5..0.85).contains(&spread(0)), "{}", spread(0));
    assert!((1.9..3.1).contains(&spread(192)), "{}", spread(192));
    let humidity = |m: usize| {
        let weather = &stored.ahead[m].weather[100];
        weather.vapour_pressure_pa
            / crate::physics::atmosphere::saturation_vapour_pressure_pa(weather.air_temp_degc)
    };
    assert!(
        (humidity(0) - humidity(1)).abs() < 1e-3,
        "{} {}",
        humidity(0),
        humidity(1)
    );
    assert!(
        stored
            .notes
            .iter()
            .any(|note| matches!(note, StoredNote::OneRun { .. }))
    );
}

#[test]
fn a_forecast_that_has_read_warm_is_brought_down_by_the_runs_before_it() {
    let mut world = world(4);
    let newest = world.set.forecasts[&crate::lake::SeriesId::new("air-temp")].clone();
    let runs = (1..=20).rev().map(|back| {
        let mut run = newest.clone();
        let time = (0..=8).map(|k| at("2025-09-25T00:00:00Z") + Duration::hours(3 * k - 24 * back));
        run.time = time.collect();
        run.issued_at = run.time[0];
        run.value = vec![run.time.iter().map(|t| Some(air(*t) + 3.0)).collect()];
        run.members.truncate(1);
        run
    });
    let runs = runs.collect();
    world
        .set
        .earlier_runs
        .insert(crate::lake::SeriesId::new("air-temp"), runs);
    let stored = world.stored(FROM, 2);
    let seam = stored
        .seams
        .iter()
        .find(|seam| seam.part == SeamPart::Forecast)
        .unwrap();
    assert_eq!(seam.basis, Some(SeamBasis::IssuedForecasts));
    let Some(SeamScale::Offset(bias)) = seam.scale else {
        panic!("{seam:?}");
    };
    // Lines over three hours lose 0.02 of a day's mean at most.
    assert!((bias.reads_high - 3.0).abs() < 0.05, "{bias:?}");
    let middle = stored.ahead[0].start + Duration::minutes(30 + 60 * 100);
    let found = stored.ahead[0].weather[100].air_temp_degc;
    assert!((found - (air(middle) - 3.0)).abs() < 0.5, "{found}");
}
