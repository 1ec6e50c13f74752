//! The weather up to the clock.

use chrono::{DateTime, Duration, Utc};
use proptest::prelude::*;

use super::world::{World, air, at, dew, light, morning, wind};
use crate::column::forcing::{ForcingError, WeatherNote};
use crate::column::stored::{SeamScale, StoredForcing, StoredForcingError, StoredNote, Used, stored_forcing};
use crate::conditions::seam::{SeamOutcome, SeamPart};
use crate::lake::{Cadence, SeriesId, SeriesSource};
use crate::physics::atmosphere::{saturation_vapour_pressure_pa, standard_pressure_pa};
use crate::quantity::Quantity;
use crate::series::{Consequence, Flag};

const FROM: &str = "2025-08-01T00:00:00Z";

fn hour(stored: &StoredForcing, k: usize) -> DateTime<Utc> {
    stored.past.start + Duration::hours(k as i64)
}

/// Means of the whole standard days (UTC-8) of the past.
fn day_means(stored: &StoredForcing, pick: impl Fn(usize) -> f64) -> Vec<(DateTime<Utc>, f64)> {
    let first = (0..24)
        .find(|k| hour(stored, *k).format("%H").to_string() == "08")
        .unwrap();
    let whole = (first..stored.past.weather.len()).step_by(24);
    whole
        .filter(|k| k + 24 <= stored.past.weather.len())
        .map(|k| (hour(stored, k), (k..k + 24).map(&pick).sum::<f64>() / 24.0))
        .collect()
}

#[test]
fn hours_of_instants_are_the_means_between_them_and_hours_of_sums_lie_before_their_stamp() {
    let stored = World::hourly("2025-07-25T00:00:00Z").stored(FROM, 0);
    assert_eq!(stored.past.start, at(FROM));
    // 55 days and 11 hours: half past eleven is no whole hour.
    assert_eq!(stored.past.weather.len(), 55 * 24 + 11);
    for (k, weather) in stored.past.weather.iter().enumerate() {
        let (a, b) = (hour(&stored, k), hour(&stored, k + 1));
        // Rounding of times in seconds and of parabolas through equal means.
        assert!(
            (weather.air_temp_degc - 0.5 * (air(a) + air(b))).abs() < 1e-9,
            "{k}"
        );
        assert!(
            (weather.wind_speed_m_s - 0.5 * (wind(a) + wind(b))).abs() < 1e-9,
            "{k}"
        );
        assert!((weather.sunlight_w_m2 - light(b)).abs() < 1e-9, "{k}");
        let vapour_pa = saturation_vapour_pressure_pa(0.5 * (dew(a) + dew(b)));
        assert!((weather.vapour_pressure_pa - vapour_pa).abs() < 1e-7, "{k}");
        assert_eq!(weather.wind_from_deg, None);
        assert_eq!(weather.precipitation_m_s, None);
    }
    let pressure_pa = standard_pressure_pa(World::empty().lake.full_pool_elevation_m);
    assert_eq!(stored.past.weather[0].pressure_pa, pressure_pa);
    assert!(stored.notes.iter().any(|note| matches!(
        note,
        StoredNote::Weather(WeatherNote::LongwaveFromSunlight { .. })
    )));
    assert!(stored.seams.is_empty(), "{:?}", stored.seams);
}

#[test]
fn a_lake_of_daily_data_keeps_every_mean_and_has_its_sunlight_by_day() {
    let mut world = World::daily("2025-07-01T08:00:00Z");
    world.days("precipitation", at("2025-07-01T08:00:00Z"), morning(), &|_| {
        0.0036
    });
    let stored = world.stored(FROM, 0);
    let weather = &stored.past.weather;
    let means = |truth: fn(DateTime<Utc>) -> f64, t: DateTime<Utc>| {
        (0..24).map(|h| truth(t + Duration::hours(h))).sum::<f64>() / 24.0
    };
    let air_means = day_means(&stored, |k| weather[k].air_temp_degc);
    assert_eq!(air_means.len(), 55);
    for (t, mean) in &air_means[..54] {
        // Rounding of sums of 24 numbers.
        assert!((mean - means(air, *t)).abs() < 1e-9, "{t}: {mean}");
    }
    for (t, mean) in &day_means(&stored, |k| weather[k].sunlight_w_m2)[..54] {
        assert!((mean - means(light, *t)).abs() < 1e-9, "{t}: {mean}");
    }
    for (t, mean) in &day_means(&stored, |k| weather[k].wind_speed_m_s)[..54] {
        assert!((mean - means(wind, *t)).abs() < 1e-9, "{t}: {mean}");
    }
    // By hand: 3.6 mm a day over 86400 s.
    let rain = &day_means(&stored, |k| weather[k].precipitation_m_s.unwrap())[..54];
    assert!(
        rain.iter()
            .all(|(_, rain)| (rain - 0.0036 / 86_400.0).abs() < 1e-18),
        "{rain:?}"
    );
    // Local midnight is dark, noon is not.
    let dark = weather
        .iter()
        .enumerate()
        .filter(|(k, _)| hour(&stored, *k).format("%H").to_string() == "08");
    assert!(dark.clone().count() > 50 && dark.clone().all(|(_, w)| w.sunlight_w_m2 == 0.0));
    let of_days = stored.notes.iter().any(|note| {
        matches!(note, StoredNote::From { what, used } if what == "air_temp" && used[0].1 == Used::Days)
    });
    assert!(of_days, "{:?}", stored.notes);
}

#[test]
fn nothing_later_than_the_clock_changes_anything() {
    let mut world = World::hourly("2025-07-25T00:00:00Z");
    world.ensemble(3);
    let before = world.stored(FROM, 3);
    for (id, truth) in super::world::WEATHER {
        world.hours(
            id,
            at("2025-09-25T12:00:00Z"),
            at("2025-09-29T12:00:00Z"),
            &move |t| truth(t) + 9.0,
        );
        world.days(
            id,
            at("2025-09-25T08:00:00Z"),
            at("2025-09-29T12:00:00Z"),
            &move |t| truth(t) + 9.0,
        );
    }
    assert_eq!(world.stored(FROM, 3), before);
    world.set.as_of = at("2025-09-29T12:00:00Z");
    assert_eq!(world.stored(FROM, 3), before, "nor does a set of a later clock");
    world
        .set
        .forecasts
        .values_mut()
        .for_each(|batch| batch.issued_at = at("2025-09-25T12:00:00Z"));
    assert!(
        world.stored(FROM, 3).ahead.is_empty(),
        "a forecast issued later is none"
    );
}

/// A station beside the model: its air 2 degC colder, its wind two thirds, from 20 August on.
fn with_station() -> World {
    let mut world = World::hourly("2025-07-01T00:00:00Z");
    for (id, quantity) in [("dam-air", Quantity::AirTemp), ("dam-wind", Quantity::WindSpeed)] {
        world.lake.series.push(SeriesSource {
            cadences: vec![Cadence::Continuous],
            station: "DAM".to_owned(),
            ..SeriesSource::of(id, quantity, "usgs-ogc", id)
        });
    }
    let from = at("2025-08-20T00:00:00Z");
    world.hours("dam-air", from, morning(), &|t| air(t) - 2.0);
    world.hours("dam-wind", from, morning(), &|t| wind(t) / 1.5);
    world
}

#[test]
fn a_station_is_the_base_and_the_model_is_brought_to_its_scale_before_it() {
    let stored = with_station().stored(FROM, 0);
    for (k, weather) in stored.past.weather.iter().enumerate() {
        let (a, b) = (hour(&stored, k), hour(&stored, k + 1));
        // The scales are exact but for rounding.
        assert!(
            (weather.air_temp_degc - 0.5 * (air(a) + air(b)) + 2.0).abs() < 1e-9,
            "{k}"
        );
        assert!(
            (weather.wind_speed_m_s - 0.5 * (wind(a) + wind(b)) / 1.5).abs() < 1e-9,
            "{k}"
        );
    }
    let seam = |id: &str| {
        stored
            .seams
            .iter()
            .find(|seam| seam.series.as_str() == id)
            .unwrap()
    };
    let Some(SeamScale::Offset(bias)) = seam("air-temp").scale else {
        panic!("{:?}", stored.seams);
    };
    // Of the last thirty days today has three hours, and no mean.
    assert!(
        (bias.reads_high - 2.0).abs() < 1e-9 && bias.days == 29,
        "{bias:?}"
    );
    let Some(SeamScale::Factor { reads_times_frac }) = seam("wind-speed").scale else {
        panic!("{:?}", stored.seams);
    };
    assert!((reads_times_frac - 1.5).abs() < 1e-9);
    assert_eq!(
        (seam("air-temp").part, seam("air-temp").outcome),
        (SeamPart::Past, SeamOutcome::Corrected)
    );
}

#[test]
fn a_station_that_fails_leaves_its_hours_to_the_model_and_false_values_are_no_values() {
    let mut world = with_station();
    let failed = at("2025-09-01T00:00:00Z")..at("2025-09-03T00:00:00Z");
    for row in world.rows("dam-air", Cadence::Continuous) {
        if failed.contains(&row.time) {
            row.flag = Flag::Fail;
            row.value = Some(45.0);
        }
    }
    world.rows("dam-wind", Cadence::Continuous)[100].value = Some(1e6);
    let stored = world.stored(FROM, 0);
    for (k, weather) in stored.past.weather.iter().enumerate() {
        let (a, b) = (hour(&stored, k), hour(&stored, k + 1));
        assert!(
            (weather.air_temp_degc - 0.5 * (air(a) + air(b)) + 2.0).abs() < 0.1,
            "{k}"
        );
        // The false reading lies between two hours, which a line over both bridges.
        assert!(
            (weather.wind_speed_m_s - 0.5 * (wind(a) + wind(b)) / 1.5).abs() < 0.1,
            "{k}"
        );
    }
    let unbelieved = StoredNote::Unbelieved {
        what: Quantity::WindSpeed,
        series: SeriesId::new("dam-wind"),
        rows: 1,
    };
    assert!(stored.notes.contains(&unbelieved), "{:?}", stored.notes);
    // Suspect readings count where there is nothing else.
    let mut alone = World::hourly("2025-07-25T00:00:00Z");
    for row in alone.rows("wind-speed", Cadence::Continuous) {
        row.flag = Flag::Suspect;
    }
    let stored = alone.stored(FROM, 0);
    let used = stored.notes.iter().any(|note| {
        matches!(note, StoredNote::From { what, used } if what == "wind_speed" && used[0].1 == Used::Suspect)
    });
    assert!(
        used && stored.gaps.iter().all(|gap| gap.what != "wind_speed"),
        "{:?}",
        stored.notes
    );
}

#[test]
fn a_short_hole_is_bridged_and_a_long_one_is_filled_by_other_years_and_told() {
    let mut world = World::hourly("2025-07-25T00:00:00Z");
    let short = at("2025-08-10T01:00:00Z")..at("2025-08-10T05:00:00Z");
    let long = at("2025-08-20T08:00:00Z")..at("2025-08-25T08:00:00Z");
    let wind_rows = world.rows("wind-speed", Cadence::Continuous);
    wind_rows.retain(|row| !(short.contains(&row.time) || long.start < row.time && row.time < long.end));
    // Two other Augusts of steady wind.
    for (year, speed) in [(2022, 4.0), (2023, 6.0)] {
        let day = |month: u32| at(&format!("{year}-{month:02}-01T08:00:00Z"));
        world.days("wind-speed", day(7), day(10), &move |_| speed);
    }
    let stored = world.stored(FROM, 0);
    let k = |t: &str| (at(t) - stored.past.start).num_hours() as usize;
    for weather in &stored.past.weather[k("2025-08-21T08:00:00Z")..k("2025-08-24T08:00:00Z")] {
        // By hand: the mean of 4 and 6.
        assert!((weather.wind_speed_m_s - 5.0).abs() < 1e-9, "{weather:?}");
    }
    let gap = stored.gaps.iter().find(|gap| gap.what == "wind_speed").unwrap();
    assert!(
        matches!(&gap.consequence, Consequence::StandIn { stand_in } if stand_in.contains("other years"))
    );
    let bridged = &stored.past.weather[k("2025-08-10T02:00:00Z")];
    let line = |t: &str| wind(at(t));
    let (a, b) = (line("2025-08-10T00:00:00Z"), line("2025-08-10T05:00:00Z"));
    // By hand: half an hour past two of the five hours between.
    assert!(
        (bridged.wind_speed_m_s - (a + (b - a) * 0.5)).abs() < 1e-9,
        "{bridged:?}"
    );
}

#[test]
fn what_nothing_stands_in_for_is_an_error_that_names_it_and_its_first_hour() {
    let mut world = World::hourly("2025-07-25T00:00:00Z");
    let until = at("2025-08-20T08:00:00Z");
    world
        .rows("wind-speed", Cadence::Continuous)
        .retain(|row| row.time > until);
    let error = world.made(FROM, 0).unwrap_err();
    let wanted = StoredForcingError::Unknown {
        what: "wind_speed",
        from: at(FROM),
    };
    assert_eq!(error, wanted);
    assert!(
        error.to_string().contains("wind_speed") && error.to_string().contains("2025-08-01"),
        "{error}"
    );
    let empty = World::empty().made(FROM, 0).unwrap_err();
    assert!(
        matches!(empty, StoredForcingError::Unknown { what: "air_temp", .. }),
        "{empty}"
    );
    let short = World::hourly(FROM).made("2025-09-25T11:00:00Z", 0).unwrap_err();
    assert!(matches!(short, StoredForcingError::Span { .. }), "{short}");
    // The polar night tells of no cloud, and the sky's radiation is not known.
    let mut night = World::hourly("2025-07-01T00:00:00Z");
    night.lake.latitude_deg = -89.0;
    let mut options = night.options("2025-07-05T00:00:00Z", 0);
    options.as_of = at("2025-08-05T00:00:00Z");
    let dark = stored_forcing(&night.lake, &night.set, &options).unwrap_err();
    assert!(
        matches!(dark, StoredForcingError::Steps(ForcingError::Missing { .. })),
        "{dark}"
    );
}

#[test]
fn relative_humidity_takes_the_air_of_its_hour_and_wind_from_either_side_of_north_is_north() {
    let mut world = World::hourly("2025-07-25T00:00:00Z");
    let key = |world: &World, id: &str| {
        world
            .set
            .observations
            .keys()
            .find(|k| k.id.as_str() == id)
            .cloned()
    };
    let dew_key = key(&world, "dew-point").unwrap();
    world.set.observations.remove(&dew_key);
    world.lake.series.push(SeriesSource {
        cadences: vec![Cadence::Continuous],
        ..SeriesSource::of("humidity", Quantity::RelativeHumidity, "open-meteo", "humidity")
    });
    let from = at("2025-07-25T00:00:00Z");
    world.hours("humidity", from, morning(), &|_| 0.5);
    world.hours("wind-direction", from, morning(), &|t| {
        if t.timestamp() / 3600 % 2 == 0 {
            350.0
        } else {
            10.0
        }
    });
    let stored = world.stored(FROM, 0);
    for weather in &stored.past.weather {
        let wanted_pa = 0.5 * saturation_vapour_pressure_pa(weather.air_temp_degc);
        assert!(
            (weather.vapour_pressure_pa - wanted_pa).abs() < 1e-6,
            "{weather:?}"
        );
        let from_deg = weather.wind_from_deg.unwrap();
        assert!(!(1e-6..=360.0 - 1e-6).contains(&from_deg), "{from_deg}");
    }
}

#[test]
fn cloud_stands_in_for_sunlight_and_longwave_known_in_part_is_not_used() {
    let from = at("2025-07-25T00:00:00Z");
    let mut world = World::hourly("2025-07-25T00:00:00Z");
    world.hours("cloud-cover", from, morning(), &|_| 0.0);
    let whole = world.stored(FROM, 0);
    let until = at("2025-08-20T08:00:00Z");
    world
        .rows("shortwave", Cadence::Continuous)
        .retain(|row| row.time > until);
    world.lake.series.push(SeriesSource {
        cadences: vec![Cadence::Continuous],
        ..SeriesSource::of("sky", Quantity::Longwave, "csv", "sky")
    });
    world.hours("sky", until, morning(), &|_| 300.0);
    let stored = world.stored(FROM, 0);
    let clear = stored.past.weather[..240]
        .iter()
        .map(|w| w.sunlight_w_m2)
        .fold(0.0, f64::max);
    // A clear noon of early August at 42 N: Haurwitz 1945 gives 1098 c exp(-0.057 / c) with c = cos(42 - 17) = 0.91, by hand 935.
    assert!((900.0..950.0).contains(&clear), "{clear}");
    assert_eq!(
        stored.past.weather[900].sunlight_w_m2,
        whole.past.weather[900].sunlight_w_m2
    );
    assert_eq!(
        stored.past.weather[900].sky_longwave_w_m2,
        whole.past.weather[900].sky_longwave_w_m2
    );
    let partly = |note: &&StoredNote| {
        matches!(
            note,
            StoredNote::PartlyKnown {
                what: Quantity::Longwave,
                ..
            }
        )
    };
    assert!(
        stored.notes.iter().any(|note| partly(&note)),
        "{:?}",
        stored.notes
    );
    assert!(
        stored.gaps.iter().any(|gap| gap.what == "shortwave"),
        "{:?}",
        stored.gaps
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn rows_may_come_in_any_order_and_holes_anywhere(seed in 0_u64..1000, holes in prop::collection::vec(0_usize..1400, 0..40)) {
        let mut world = World::hourly("2025-07-25T00:00:00Z");
        for (id, truth) in super::world::WEATHER {
            world.days(id, at("2023-07-01T08:00:00Z"), at("2023-11-01T08:00:00Z"), &truth);
        }
        let rows = world.rows("air-temp", Cadence::Continuous);
        for hole in holes {
            let at = hole % rows.len();
            rows[at].value = None;
        }
        let sorted = world.stored(FROM, 0);
        let rows = world.rows("air-temp", Cadence::Continuous);
        let count = rows.len() as u64;
        rows.rotate_left((seed % count) as usize);
        prop_assert_eq!(&world.stored(FROM, 0), &sorted);
        let finite = |w: &crate::column::forcing::Weather| {
            w.air_temp_degc.is_finite() && w.sunlight_w_m2 >= 0.0 && w.sky_longwave_w_m2 > 0.0
        };
        prop_assert!(sorted.past.weather.iter().all(finite));
    }
}
