//! Open-Meteo: recorded replies of forecast, archive and ensemble; figures read off the files by eye.

use chrono_tz::{America::New_York, Australia::Adelaide, Australia::Melbourne, Europe::Berlin, Tz};
use plungeline::clock::LakeClock;
use plungeline::lake::Cadence;
use plungeline::quantity::Quantity;
use plungeline::series::{Approval, Member};
use plungeline::sources::ReadError;
use plungeline::sources::open_meteo::{Context, Times, Weather, read_weather, to_batch, to_forecast};

use super::{at, want};
use crate::validation::data;

fn weather(file: &str) -> Option<Weather> {
    let path = data(&format!("recordings/open-meteo/{file}"))?;
    let weather = read_weather(&std::fs::read(path).unwrap()).unwrap();
    assert!(weather.faults.is_empty(), "{:?}", weather.faults);
    Some(weather)
}

fn context(zone: Tz, as_of: &str) -> Context<'static> {
    Context {
        clock: LakeClock::new(zone),
        as_of: at(as_of),
        retrieved_at: at(as_of),
        issued_at: at(as_of),
        position: "recorded",
        approval: Approval::Unstated,
    }
}

#[test]
fn a_recorded_forecast_in_km_h_becomes_m_s() {
    let Some(weather) = weather("ny_forecast_hourly_daily.json") else {
        return;
    };
    let table = weather.hourly.unwrap();
    let context = context(New_York, "2025-12-28T23:20:00Z");
    let forecast = |quantity, parameter| {
        to_forecast(
            &table,
            &want(quantity, Cadence::Forecast, "open-meteo", "", parameter),
            context,
        )
        .unwrap()
    };
    let wind = forecast(Quantity::WindSpeed, "wind_speed_10m");
    // The file's 336 hours begin at 2025-12-28T00:00; 23 of them are past.
    assert_eq!((wind.time.len(), wind.time[0]), (313, at("2025-12-28T23:00:00Z")));
    assert_eq!(wind.time.last(), Some(&at("2026-01-10T23:00:00Z")));
    // Last hour 20.4 km/h = 20.4 / 3.6 m/s; tolerance: rounding.
    assert!((wind.value[0].last().unwrap().unwrap() - 5.666_666_667).abs() < 1e-9);
    assert_eq!(wind.members, [Member(0)]);
    let gust = forecast(Quantity::WindGust, "wind_gusts_10m");
    assert!((gust.value[0].last().unwrap().unwrap() - 58.7 / 3.6).abs() < 1e-9);
    // 24 hours of cloud are null in the file, one of them at 13:00 of the first day; they stay so.
    let cloud = forecast(Quantity::CloudCover, "cloud_cover");
    assert_eq!(cloud.value[0].iter().filter(|v| v.is_none()).count(), 23);
    assert_eq!(cloud.value[0].last(), Some(&Some(0.08)));
    let humidity = forecast(Quantity::RelativeHumidity, "relative_humidity_2m");
    assert_eq!(humidity.value[0].last(), Some(&Some(0.98)));
}

#[test]
fn the_past_hours_of_a_recorded_forecast_are_observations() {
    let Some(weather) = weather("ny_forecast_hourly_daily.json") else {
        return;
    };
    let want = want(
        Quantity::AirTemp,
        Cadence::Continuous,
        "open-meteo",
        "",
        "temperature_2m",
    );
    let batch = to_batch(
        &weather.hourly.unwrap(),
        &want,
        context(New_York, "2025-12-28T03:30:00Z"),
    )
    .unwrap();
    let values: Vec<_> = batch.rows.iter().map(|row| row.value.unwrap()).collect();
    assert_eq!(values, [-2.0, -2.2, -4.6, -5.1]);
}

#[test]
fn a_recorded_column_without_a_unit_is_refused() {
    // `cloud_cover_mean` stands in the daily block of this file, and not in `daily_units`.
    let Some(weather) = weather("ny_forecast_hourly_daily.json") else {
        return;
    };
    let cloud = want(
        Quantity::CloudCover,
        Cadence::Daily,
        "open-meteo",
        "",
        "cloud_cover",
    );
    let daily = weather.daily.unwrap();
    let error = to_batch(&daily, &cloud, context(New_York, "2026-02-01T00:00:00Z")).unwrap_err();
    assert!(
        matches!(&error, ReadError::Unit { found, .. } if found.is_empty()),
        "{error}"
    );
    let rain = want(
        Quantity::Precipitation,
        Cadence::Daily,
        "open-meteo",
        "",
        "precipitation",
    );
    let rows = to_batch(&daily, &rain, context(New_York, "2026-02-01T00:00:00Z"))
        .unwrap()
        .rows;
    // Last day 21.1 mm; its standard day begins at 05:00 UTC.
    assert_eq!(rows.len(), 14);
    assert_eq!(
        (rows[13].time, rows[13].original_value),
        (at("2026-01-10T05:00:00Z"), Some(21.1))
    );
    assert!((rows[13].value.unwrap() - 0.0211).abs() < 1e-12);
}

#[test]
fn a_recorded_southern_forecast_reads_whole_numbers_as_well() {
    let Some(weather) = weather("melbourne_forecast_hourly_daily.json") else {
        return;
    };
    let daily = weather.daily.as_ref().unwrap();
    let Times::Days(days) = &daily.times else {
        panic!("{daily:?}")
    };
    assert_eq!((days.len(), days[6].to_string()), (7, "2025-05-15".to_owned()));
    assert_eq!(
        daily.columns["temperature_2m_min"][&Member(0)].value[0],
        Some(7.0)
    );
    let air = want(
        Quantity::AirTemp,
        Cadence::Forecast,
        "open-meteo",
        "",
        "temperature_2m",
    );
    let forecast = to_forecast(
        &weather.hourly.unwrap(),
        &air,
        context(Melbourne, "2025-05-09T00:00:00Z"),
    )
    .unwrap();
    assert_eq!(
        (
            forecast.value[0].len(),
            forecast.value[0][0],
            forecast.value[0][167]
        ),
        (168, Some(13.6), Some(13.4))
    );
}

#[test]
fn a_recorded_archive_in_a_half_hour_zone_becomes_utc() {
    let Some(weather) = weather("adelaide_archive_hourly.json") else {
        return;
    };
    let table = weather.hourly.unwrap();
    let context = context(Adelaide, "2025-02-01T00:00:00Z");
    let rows = |quantity, parameter| {
        let want = want(quantity, Cadence::Continuous, "open-meteo", "", parameter);
        to_batch(&table, &want, context).unwrap().rows
    };
    let air = rows(Quantity::AirTemp, "temperature_2m");
    // The stamps are local with utc_offset_seconds 34200: 2025-01-10T00:00 is 2025-01-09T14:30 UTC.
    assert_eq!(
        (air.len(), air[0].time, air[0].value),
        (72, at("2025-01-09T14:30:00Z"), Some(20.3))
    );
    assert_eq!(
        (air[71].time, air[71].value),
        (at("2025-01-12T13:30:00Z"), Some(25.8))
    );
    // Already in m/s.
    assert_eq!(rows(Quantity::WindSpeed, "wind_speed_10m")[71].value, Some(3.41));
    assert_eq!(
        rows(Quantity::RelativeHumidity, "relative_humidity_2m")[0].value,
        Some(0.33)
    );
}

#[test]
fn a_recorded_ensemble_keeps_its_members_apart_and_an_undefined_variable_out() {
    let Some(weather) = weather("berlin_ensemble_excerpt.json") else {
        return;
    };
    let table = weather.hourly.unwrap();
    let context = context(Berlin, "2026-09-30T22:00:00Z");
    let forecast = |quantity, parameter| {
        to_forecast(
            &table,
            &want(quantity, Cadence::Forecast, "open-meteo", "", parameter),
            context,
        )
    };
    let air = forecast(Quantity::AirTemp, "temperature_2m").unwrap();
    assert_eq!(air.members, [0, 1, 2, 3, 4, 5].map(Member));
    // 1790805600 s after the epoch, by `date -u -d @1790805600`.
    assert_eq!((air.time.len(), air.time[0]), (24, at("2026-09-30T22:00:00Z")));
    assert_eq!(
        [air.value[0][0], air.value[1][0], air.value[4][23]],
        [Some(16.7), Some(15.7), Some(18.4)]
    );
    assert_eq!(
        forecast(Quantity::CloudCover, "cloud_cover").unwrap().value[1][23],
        Some(0.91)
    );
    // Unit "undefined", all null.
    let column = &table.columns["precipitation_probability"][&Member(0)];
    assert_eq!((column.unit.as_deref(), column.has_values()), (None, false));
    assert!(matches!(
        forecast(Quantity::Precipitation, "precipitation"),
        Err(ReadError::NoVariable { .. })
    ));
}
