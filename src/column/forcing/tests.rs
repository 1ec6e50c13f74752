//! The forcing against means, published days and the physics it rests on.

use chrono::{TimeZone as _, Utc};
use proptest::prelude::*;

use super::*;
use crate::lake::WeatherWhat;
use crate::math::span_means::SpanRow;

const SITE: Site = Site {
    latitude_deg: 51.0,
    longitude_deg: 11.0,
    elevation_m: 424.0,
};

fn steps(days: usize) -> Steps {
    Steps {
        start: Utc.with_ymd_and_hms(2015, 6, 1, 0, 0, 0).unwrap(),
        step_s: 3600.0,
        count: 24 * days,
    }
}

/// A track of rows of `step_s` from `from_s` on.
fn track(values: &[f64], step_s: f64, from_s: f64) -> Track {
    let rows = values.iter().enumerate().map(|(i, &value)| SpanRow {
        from: from_s + step_s * i as f64,
        to: from_s + step_s * (i + 1) as f64,
        value: Some(value),
    });
    Track {
        rows: rows.collect(),
        step_s,
        longest_gap_s: 12.0 * 3600.0,
    }
}

/// A quiet week of daily rows.
fn record(days: usize) -> WeatherRecord {
    let even = |value: f64| track(&vec![value; days], 86_400.0, 0.0);
    [
        (WeatherWhat::AirTemp, even(15.0)),
        (WeatherWhat::DewPoint, even(10.0)),
        (WeatherWhat::WindSpeed, even(3.0)),
        (WeatherWhat::Shortwave, even(250.0)),
        (WeatherWhat::Longwave, even(320.0)),
    ]
    .into()
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    values.iter().sum::<f64>() / values.len() as f64
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn every_mean_of_the_record_is_kept_at_any_step(
        step_h in prop::sample::select(vec![1_usize, 3, 6, 12, 24]),
        values in prop::collection::vec((0.0..900.0_f64, -30.0..35.0_f64, 0.0..20.0_f64, 0.0..2e-6_f64), 96),
    ) {
        let step_s = step_h as f64 * 3600.0;
        let rows = 96 / step_h;
        let column = |pick: fn(&(f64, f64, f64, f64)) -> f64| {
            values.iter().take(rows).map(pick).collect::<Vec<f64>>()
        };
        let mut record = record(4);
        record.insert(WeatherWhat::Shortwave, track(&column(|v| v.0), step_s, 0.0));
        record.insert(WeatherWhat::AirTemp, track(&column(|v| v.1), step_s, 0.0));
        record.insert(WeatherWhat::WindSpeed, track(&column(|v| v.2), step_s, 0.0));
        record.insert(WeatherWhat::Precipitation, track(&column(|v| v.3), step_s, 0.0));
        let (weather, _) = weather_steps(&record, SITE, steps(4)).unwrap();
        for (span, row) in weather.chunks(step_h).zip(&values) {
            // Rounding of sums of 24 numbers.
            prop_assert!((mean(span.iter().map(|w| w.sunlight_w_m2)) - row.0).abs() < 1e-9);
            prop_assert!((mean(span.iter().map(|w| w.air_temp_degc)) - row.1).abs() < 1e-10);
            prop_assert!((mean(span.iter().map(|w| w.wind_speed_m_s)) - row.2).abs() < 1e-10);
            prop_assert!((mean(span.iter().map(|w| w.precipitation_m_s.unwrap_or(f64::NAN))) - row.3).abs() < 1e-15);
        }
        prop_assert!(weather.iter().all(|w| w.sunlight_w_m2 >= 0.0 && w.wind_speed_m_s >= -1e-12));
    }

    #[test]
    fn rows_centred_on_their_stamps_keep_the_whole(values in prop::collection::vec(0.0..900.0_f64, 33)) {
        // Three-hourly rows that begin half an hour before a whole hour cut hours in two.
        let mut record = record(4);
        record.insert(WeatherWhat::Shortwave, track(&values, 10_800.0, -5400.0));
        let (weather, _) = weather_steps(&record, SITE, steps(4)).unwrap();
        let whole: f64 = weather.iter().map(|w| w.sunlight_w_m2 * 3600.0).sum();
        let given: f64 = values[1..32].iter().map(|v| v * 10_800.0).sum();
        let ends = (values[0] + values[32]) * 10_800.0;
        prop_assert!(whole >= given - 1e-3 && whole <= given + ends + 1e-3);
    }
}

#[test]
fn finer_rows_become_the_means_of_their_hours() {
    let values: Vec<f64> = (0..6 * 24).map(|i| f64::from(i % 6)).collect();
    let mut record = record(1);
    record.insert(WeatherWhat::AirTemp, track(&values, 600.0, 0.0));
    record.insert(WeatherWhat::Shortwave, track(&values, 600.0, 0.0));
    let (weather, _) = weather_steps(&record, SITE, steps(1)).unwrap();
    for hour in &weather {
        assert!((hour.air_temp_degc - 2.5).abs() < 1e-12 && (hour.sunlight_w_m2 - 2.5).abs() < 1e-12);
    }
}

#[test]
fn a_day_of_sunlight_falls_between_sunrise_and_sunset_with_its_peak_at_noon() {
    let (weather, _) = weather_steps(&record(7), SITE, steps(7)).unwrap();
    let light: Vec<f64> = weather[..24].iter().map(|w| w.sunlight_w_m2).collect();
    // At 11 E true noon of early June is 12 h - 44 min - 2 min of UTC: 11:14 (FAO-56 equations 31-33, by hand).
    let peak = (0..24).max_by(|&a, &b| light[a].total_cmp(&light[b])).unwrap();
    assert_eq!(peak, 11, "{light:?}");
    assert!(light[23] == 0.0 && light[1] == 0.0 && light[4] > 0.0, "{light:?}");
    assert!(weather[23].sun_height_frac == 0.0 && weather[11].sun_height_frac > 0.85);
}

#[test]
fn a_clear_day_derived_from_cloud_has_the_energy_of_a_clear_day() {
    let mut record = record(1);
    record.remove(&WeatherWhat::Shortwave);
    record.insert(WeatherWhat::CloudCover, track(&[0.0], 86_400.0, 0.0));
    let site = Site {
        latitude_deg: 51.0,
        longitude_deg: 11.0,
        elevation_m: 100.0,
    };
    let (weather, notes) = weather_steps(&record, site, steps(1)).unwrap();
    let found = mean(weather.iter().map(|w| w.sunlight_w_m2));
    // FAO-56 equation 37, 0.752 of the 41.2 MJ/m2 a day at the top of the air (equation 21 at 51 N, 1 June).
    let top = crate::physics::radiation::extraterrestrial_w_m2(51.0, 152.0);
    let wanted = crate::physics::radiation::clear_sky_daily_w_m2(top, 100.0);
    // Two formulas of a clear sky agree to 5 % (from memory).
    assert!((found / wanted - 1.0).abs() < 0.05, "{found} {wanted}");
    assert!(notes.contains(&WeatherNote::SunlightFromCloud));
}

#[test]
fn dew_point_and_relative_humidity_of_the_same_air_give_one_vapour_pressure() {
    let vapour = |what, value: f64| {
        let mut record = record(2);
        record.remove(&WeatherWhat::DewPoint);
        record.insert(WeatherWhat::AirTemp, track(&[24.5, 24.5], 86_400.0, 0.0));
        record.insert(what, track(&[value, value], 86_400.0, 0.0));
        let (weather, _) = weather_steps(&record, SITE, steps(2)).unwrap();
        weather[30].vapour_pressure_pa
    };
    // FAO-56 Annex 2, Table 2.3: saturation at 17.0 degC is 1.938 kPa, at 24.5 degC 3.075 kPa.
    let dew = vapour(WeatherWhat::DewPoint, 17.0);
    let relative = vapour(WeatherWhat::RelativeHumidity, 1.938 / 3.075);
    assert!((dew - 1938.0).abs() < 0.6, "{dew}"); // printed to 1 Pa
    assert!((relative - 1938.0).abs() < 1.2, "{relative}");
    let pressure_pa = crate::physics::atmosphere::standard_pressure_pa(SITE.elevation_m);
    let specific = crate::physics::atmosphere::specific_humidity_kg_kg(dew, pressure_pa);
    assert!((vapour(WeatherWhat::SpecificHumidity, specific) - dew).abs() < 1e-9);
}

#[test]
fn longwave_that_is_missing_comes_from_air_and_the_light_that_is_missing() {
    let longwave = |sunlight: f64, cloud: Option<f64>| {
        let mut record = record(7);
        record.remove(&WeatherWhat::Longwave);
        record.insert(WeatherWhat::Shortwave, track(&[sunlight; 7], 86_400.0, 0.0));
        if let Some(cloud) = cloud {
            record.insert(WeatherWhat::CloudCover, track(&[cloud; 7], 86_400.0, 0.0));
        }
        let (weather, _) = weather_steps(&record, SITE, steps(7)).unwrap();
        mean(weather.iter().map(|w| w.sky_longwave_w_m2))
    };
    // Black sky at 15 degC: sigma 288.15^4 = 390.9 W/m2.
    let (clear, dark) = (longwave(345.0, None), longwave(60.0, None));
    assert!(clear > 290.0 && clear < dark && dark < 390.9, "{clear} {dark}");
    let (open, closed) = (longwave(345.0, Some(0.0)), longwave(345.0, Some(1.0)));
    assert!((open - clear).abs() < 15.0 && closed > 370.0, "{open} {closed}");
}

#[test]
fn a_gap_of_half_a_day_is_filled_and_counted_and_a_longer_one_is_named() {
    let mut record = record(4);
    let mut air = track(&[15.0; 96], 3600.0, 0.0);
    air.rows.drain(30..42);
    record.insert(WeatherWhat::AirTemp, air.clone());
    let (_, notes) = weather_steps(&record, SITE, steps(4)).unwrap();
    let filled = WeatherNote::Filled {
        what: WeatherWhat::AirTemp,
        gaps: 1,
        length_h: 12.0,
    };
    assert!(notes.contains(&filled), "{notes:?}");
    air.rows.remove(30);
    record.insert(WeatherWhat::AirTemp, air);
    let error = weather_steps(&record, SITE, steps(4)).unwrap_err();
    let at = |hour| Utc.with_ymd_and_hms(2015, 6, 2, hour, 0, 0).unwrap();
    assert_eq!(
        error,
        ForcingError::Gap {
            what: "air_temp".to_owned(),
            from: at(6),
            to: at(19),
            longest_h: 12.0
        }
    );
}

#[test]
fn a_night_in_a_gap_of_sunlight_stays_dark() {
    let mut record = record(3);
    let (clear, _) = weather_steps(&record, SITE, steps(3)).unwrap();
    let hours: Vec<f64> = clear.iter().map(|w| w.sunlight_w_m2).collect();
    let mut light = track(&hours, 3600.0, 0.0);
    light.rows.drain(30..38);
    record.insert(WeatherWhat::Shortwave, light);
    let (filled, _) = weather_steps(&record, SITE, steps(3)).unwrap();
    for (found, wanted) in filled.iter().zip(&hours) {
        // The light of a day follows the sun's height, and so does what fills the gap.
        assert!((found.sunlight_w_m2 - wanted).abs() < 0.02 * wanted + 0.1);
    }
}

#[test]
fn a_value_that_no_weather_has_is_named() {
    let mut record = record(2);
    record.insert(
        WeatherWhat::VapourPressure,
        track(&[12.0, 101_325.0], 86_400.0, 0.0),
    );
    let error = weather_steps(&record, SITE, steps(2)).unwrap_err();
    assert!(error.to_string().contains("2015-06-02"), "{error}");
    assert!(matches!(
        error,
        ForcingError::Unbelievable { value: 101_325.0, .. }
    ));
    record.remove(&WeatherWhat::VapourPressure);
    record.remove(&WeatherWhat::AirTemp);
    let error = weather_steps(&record, SITE, steps(2)).unwrap_err();
    assert_eq!(error, ForcingError::Missing { what: "air_temp" });
    assert!(matches!(
        weather_steps(&self::record(1), SITE, steps(9)).unwrap_err(),
        ForcingError::Gap { .. }
    ));
}

#[test]
fn winds_of_different_times_are_not_put_together() {
    let mut record = record(2);
    record.remove(&WeatherWhat::WindSpeed);
    record.insert(WeatherWhat::WindU, track(&[3.0, 3.0], 86_400.0, 0.0));
    record.insert(WeatherWhat::WindV, track(&[4.0, 4.0], 86_400.0, 0.0));
    let (weather, notes) = weather_steps(&record, SITE, steps(2)).unwrap();
    assert!((weather[5].wind_speed_m_s - 5.0).abs() < 1e-12); // 3, 4, 5
    assert!(notes.contains(&WeatherNote::WindFromVector));
    record.insert(WeatherWhat::WindV, track(&[4.0; 4], 43_200.0, 0.0));
    let error = weather_steps(&record, SITE, steps(2)).unwrap_err();
    assert!(matches!(error, ForcingError::Apart { .. }));
}

#[test]
fn rivers_run_straight_between_instants_and_a_long_silence_is_refused() {
    let hours = |points: &[(f64, f64)]| FlowRecord::Instants {
        points: points.iter().map(|&(h, v)| (h * 3600.0, v)).collect(),
        longest_gap_s: 48.0 * 3600.0,
    };
    let river = RiverTracks {
        discharge: hours(&[(0.0, 10.0), (10.0, 20.0), (12.0, 0.0), (48.0, 0.0)]),
        temp: hours(&[(0.0, -1.0), (48.0, 8.0)]),
        oxygen: None,
    };
    let mut notes = Vec::new();
    let flow = river_steps("sorrel", &river, steps(2), &mut notes).unwrap();
    // Means of straight lines: the value in the middle of the hour.
    assert!((flow[0].discharge_m3s - 10.5).abs() < 1e-9 && (flow[11].discharge_m3s - 5.0).abs() < 1e-9);
    assert!((flow[23].temp_degc - 8.0 * 23.5 / 48.0).abs() < 1e-9);
    let raised = FlowNote::BelowZero {
        what: "temp of sorrel".to_owned(),
        rows: 1,
        least: -1.0,
    };
    assert!(notes.contains(&raised), "{notes:?}");
    let error = river_steps("sorrel", &river, steps(5), &mut notes).unwrap_err();
    assert!(matches!(error, ForcingError::Gap { .. }), "{error}");
}

#[test]
fn a_daily_release_stays_even_over_its_day_and_a_level_is_read_at_the_end_of_the_step() {
    let mut notes = Vec::new();
    let record = FlowRecord::Means(track(&[5.0, 7.0], 86_400.0, 0.0));
    let release = release_steps("outlet", &record, steps(2), &mut notes).unwrap();
    for (k, wanted) in [(0, 5.0), (23, 5.0), (24, 7.0)] {
        // Rounding of the integral over a day.
        assert!((release[k] - wanted).abs() < 1e-12, "{release:?}");
    }
    let level = FlowRecord::Instants {
        points: vec![(0.0, 100.0), (48.0 * 3600.0, 104.8)],
        longest_gap_s: 1e6,
    };
    let level = level_steps(&level, steps(2), &mut notes).unwrap();
    assert!((level[0] - 100.1).abs() < 1e-9 && (level[47] - 104.8).abs() < 1e-9);
}
