//! The input of a hindcast from an invented lake file with every key, and its invented tables.

use std::path::PathBuf;

use chrono::{NaiveDate, TimeZone as _, Utc};
use plungeline::column::forcing::WeatherNote;
use plungeline::hindcast::{HindcastInput, InputNote, Observed, load_hindcast};
use plungeline::lake::{WeatherWhat, read_lake_file};
use plungeline::sources::service_rules;

use crate::house::source::root;

fn folder() -> PathBuf {
    root().join("fixtures/hindcast")
}

fn quill_tarn() -> HindcastInput {
    let file = folder().join("quill-tarn.toml");
    let lake = read_lake_file(&file, &service_rules()).unwrap_or_else(|error| panic!("{error:?}"));
    load_hindcast(lake, &folder()).unwrap_or_else(|error| panic!("{error}"))
}

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} against {wanted}");
}

/// Exact definitions: 1 ft = 0.3048 m, 1 acre = 4046.8564224 m2, 1 cfs = 0.028316846592 m3/s.
#[test]
fn everything_is_in_si_and_begins_with_the_spin_up() {
    let input = quill_tarn();
    assert_eq!(
        input.forcing.start,
        Utc.with_ymd_and_hms(2021, 4, 1, 0, 0, 0).unwrap()
    );
    assert_eq!(
        (input.forcing.weather.len(), input.forcing.step_s),
        (6 * 24, 3600.0)
    );
    assert_eq!(
        input.compare_from,
        Utc.with_ymd_and_hms(2021, 4, 3, 0, 0, 0).unwrap()
    );
    near(input.start_elevation_m, 1495.0 * 0.3048, 1e-9);
    near(input.surface_depth_m, 4.0 * 0.3048, 1e-9);
    assert_eq!(input.fixed, [("wind_frac".to_owned(), 1.1)]);
    let table = input.lake.hypsography.as_ref().expect("it is read");
    near(table.elevation_m[0], 1400.0 * 0.3048, 1e-9);
    near(table.area_m2[3], 200.0 * 4_046.856_422_4, 1e-6);
}

#[test]
fn a_civil_day_keeps_its_mean_through_the_end_of_daylight_saving_time() {
    let input = quill_tarn();
    // New Zealand, 2021: UTC+13 until 4 April 03:00, UTC+12 after (Daylight Time Order 2007). The civil day of 4 April
    // runs from 3 April 11:00 to 4 April 12:00 UTC: 25 hours from step 59 on.
    let weather = &input.forcing.weather;
    let mean = |from: usize, to: usize, figure: fn(&plungeline::column::forcing::Weather) -> f64| {
        weather[from..to].iter().map(figure).sum::<f64>() / (to - from) as f64
    };
    // 8.64 MJ/m2 a day are 100 W/m2; 57 degF are 13.888.. degC.
    near(mean(59, 84, |w| w.sunlight_w_m2), 100.0, 1e-9);
    near(mean(59, 84, |w| w.air_temp_degc), 25.0 / 1.8, 1e-9);
    near(mean(84, 108, |w| w.sunlight_w_m2), 200.0, 1e-9);
    // 15 mph x 0.44704, from 2 m to 10 m over water of 2e-4 m roughness: ln(50000) / ln(10000).
    near(
        mean(59, 84, |w| w.wind_speed_m_s),
        15.0 * 0.447_04 * 50_000_f64.ln() / 10_000_f64.ln(),
        1e-9,
    );
    // Night at 171.5 E is noon in UTC.
    assert!(weather[12].sunlight_w_m2 == 0.0 && weather[0].sunlight_w_m2 > 300.0);
    // Half an inch spread over 24 h: the rate of the table's own step.
    near(
        mean(59, 84, |w| w.precipitation_m_s.unwrap_or(f64::NAN)),
        0.0127 / 86_400.0,
        1e-15,
    );
}

#[test]
fn rivers_releases_and_the_level_stand_on_the_same_hours() {
    let input = quill_tarn();
    let cfs = 0.028_316_846_592;
    let river = &input.forcing.rivers[0];
    // Flood: 400 cfs at 12:00 UTC of 3 April (step 60), 900 six hours later; the mean of the first hour between.
    near(river[60].discharge_m3s, (400.0 + 500.0 / 12.0) * cfs, 1e-9);
    // The day of 4 April in UTC+12.
    let day = &river[60..84];
    near(day.iter().map(|r| r.temp_degc).sum::<f64>() / 24.0, 8.4, 1e-9);
    assert!(
        day.iter()
            .all(|r| r.oxygen_mg_l.is_some_and(|o| (10.9..11.3).contains(&o)))
    );
    let release = &input.forcing.release_m3s;
    assert_eq!(release.len(), 2);
    // 210 acre-ft of the day that ends on 4 April at 00:00 of UTC+12: steps 36 to 60.
    near(release[0][36], 210.0 * 1_233.481_837_547_52 / 86_400.0, 1e-9);
    assert!(release[1].iter().all(|flow| *flow == 0.0));
    assert!(
        input
            .notes
            .contains(&InputNote::OutletWithoutTable("spillway".to_owned()))
    );
    // 94.7 ft on the gauge, whose zero is at 1400 ft, at the end of step 59.
    near(input.forcing.level_m[59], 1494.7 * 0.3048, 1e-9);
}

#[test]
fn profiles_are_told_apart_and_what_is_wrong_with_them_is_counted() {
    let input = quill_tarn();
    // 9:00 of UTC+13 on 3 April is 20:00 UTC of 2 April, before the first day of the hindcast; 14:30 of UTC+12 is 2:30.
    let at = Utc.with_ymd_and_hms(2021, 4, 5, 2, 30, 0).unwrap();
    let [only] = &input.temperatures[..] else {
        panic!("{:?}", input.temperatures);
    };
    assert_eq!(only.time, at);
    near(only.value, 14.0, 1e-9); // 57.2 degF
    near(only.depth_m, 3.048, 1e-9);
    let oxygen: Vec<(f64, f64)> = input
        .oxygen
        .iter()
        .map(|o: &Observed| (o.depth_m, o.value))
        .collect();
    // 8:00 of UTC+12 is 20:00 UTC of the day before.
    assert_eq!(oxygen.len(), 1, "{oxygen:?}");
    near(oxygen[0].0, 0.9144, 1e-9);
    let file: PathBuf = "casts.csv".into();
    assert!(input.notes.contains(&InputNote::BeyondLimits { file, count: 1 }));
    let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d);
    assert_eq!(input.ice[0].last, day(2019, 8, 30));
    assert_eq!((input.ice[1].first, input.ice[1].last), (None, day(2020, 8, 11)));
}

#[test]
fn observations_that_agree_are_merged_and_those_that_differ_are_left_out() {
    let file = folder().join("quill-tarn.toml");
    let mut lake = read_lake_file(&file, &service_rules()).unwrap();
    let hindcast = lake.hindcast.as_mut().unwrap();
    hindcast.start = NaiveDate::from_ymd_opt(2021, 4, 2).unwrap();
    hindcast.spin_up_days = 1;
    let input = load_hindcast(lake, &folder()).unwrap();
    assert_eq!(input.temperatures.len(), 3); // 0 and 10 ft of the 3rd, 10 ft of the 5th
    let file = || PathBuf::from("casts.csv");
    for wanted in [
        InputNote::Merged {
            file: file(),
            places: 1,
        },
        InputNote::WithoutValue {
            file: file(),
            count: 1,
        },
    ] {
        assert!(input.notes.contains(&wanted), "{:?}", input.notes);
    }
    let differing = input.notes.iter().find_map(|note| match note {
        InputNote::Contradicting { places, spread, .. } => Some((*places, *spread)),
        _ => None,
    });
    let (places, spread) = differing.expect("one depth differs");
    assert_eq!(places, 1);
    near(spread, 5.0 / 1.8, 1e-9); // 52 less 47 degF
}

#[test]
fn what_was_derived_or_filled_is_told() {
    let input = quill_tarn();
    let told = |wanted: WeatherNote| input.notes.contains(&InputNote::Weather(wanted));
    assert!(told(WeatherNote::VapourFrom(WeatherWhat::RelativeHumidity)));
    // The day without air temperature.
    assert!(told(WeatherNote::Filled {
        what: WeatherWhat::AirTemp,
        gaps: 1,
        length_h: 24.0
    }));
    let from_sunlight =
        |note: &InputNote| matches!(note, InputNote::Weather(WeatherNote::LongwaveFromSunlight { .. }));
    assert!(input.notes.iter().any(from_sunlight), "{:?}", input.notes);
}
