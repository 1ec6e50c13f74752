//! The conditions of an invented lake, whole: changes, gaps, windows, and no panic on any small set.

use std::sync::Arc;

use chrono::{DateTime, Duration, NaiveDate, TimeZone, Utc};
use proptest::prelude::*;

use super::*;
use crate::clock::LakeClock;
use crate::lake::*;
use crate::quantity::Quantity;
use crate::series::{
    Approval, Consequence, Flag, ForecastBatch, GapReason, Member, Observation, Provenance, SeriesKey,
    SeriesSet,
};

/// 04:30 in summer time at the lake (UTC-7) on 24 July 2025.
fn morning() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2025, 7, 24, 11, 30, 0).unwrap()
}

fn clock() -> LakeClock {
    LakeClock::new(chrono_tz::America::Los_Angeles)
}

fn source(id: &str, quantity: Quantity, place: SeriesPlace, cadences: &[Cadence]) -> SeriesSource {
    SeriesSource {
        id: SeriesId::new(id),
        quantity,
        place,
        depth_m: None,
        service: "csv".into(),
        station: String::new(),
        parameter: String::new(),
        statistic: None,
        ensemble_model: None,
        cadences: cadences.to_vec(),
        daily_from: None,
        daily_until: None,
        continuous_from: None,
        unit: None,
        datum_offset_m: None,
        datum_source: None,
        late_after_h: None,
        csv: None,
    }
}

fn zone(id: &str, kind: ZoneKind) -> Zone {
    Zone {
        id: ZoneId::new(id),
        name: id.into(),
        kind,
        above: None,
        area_share: Vec::new(),
        thalweg: Vec::new(),
        orientation_deg: None,
        fetch: Vec::new(),
    }
}

/// A lake of one main body and one arm with one river: a box of 10 km2, 100 m deep.
fn lake() -> Lake {
    let both = [Cadence::Daily, Cadence::Continuous];
    let sorrel = SeriesPlace::Inflow(InflowId::new("sorrel"));
    let forecast = [Cadence::Forecast];
    Lake {
        id: "harrow-gap".into(),
        name: "Harrow Gap Reservoir".into(),
        note: None,
        latitude_deg: 42.2,
        longitude_deg: -119.6,
        time_zone: chrono_tz::America::Los_Angeles,
        contact: None,
        vertical_datum: "NAVD 88".into(),
        full_pool_elevation_m: 100.0,
        minimum_pool_elevation_m: 10.0,
        hypsography: Some(Hypsography {
            elevation_m: vec![0.0, 100.0],
            area_m2: vec![1e7, 1e7],
            volume_m3: vec![0.0, 1e9],
            volume_given: true,
        }),
        zones: vec![zone("main", ZoneKind::MainBody), zone("arm", ZoneKind::Arm)],
        stretches: Vec::new(),
        ramps: Vec::new(),
        inflows: vec![Inflow {
            id: InflowId::new("sorrel"),
            name: "Sorrel River".into(),
            enters: ZoneId::new("arm"),
            flow: InflowFlow::Series,
            regulated: false,
            thermal_regime: ThermalRegime::SnowFed,
            mean_flow_m3s: None,
        }],
        outlets: Vec::new(),
        hazards: Vec::new(),
        clarity: None,
        oxygen: None,
        species: Vec::new(),
        stocking: Vec::new(),
        ladder: Vec::new(),
        boat: Boat {
            launch_depth_m: 1.0,
            running_depth_m: 1.0,
            run_speed_m_s: 8.0,
            trip_h: 6.0,
        },
        series: vec![
            source("pool", Quantity::PoolElevation, SeriesPlace::Lake, &both),
            source("release", Quantity::Release, SeriesPlace::Lake, &[Cadence::Daily]),
            source(
                "surface",
                Quantity::WaterTemp,
                SeriesPlace::Zone(ZoneId::new("main")),
                &both,
            ),
            source("sorrel-flow", Quantity::Inflow, sorrel.clone(), &both),
            source("sorrel-temp", Quantity::RiverTemp, sorrel, &both),
            source("wind_speed", Quantity::WindSpeed, SeriesPlace::Lake, &forecast),
            source("wind_gust", Quantity::WindGust, SeriesPlace::Lake, &forecast),
            source(
                "wind_direction",
                Quantity::WindDirection,
                SeriesPlace::Lake,
                &forecast,
            ),
            source("air_temp", Quantity::AirTemp, SeriesPlace::Lake, &forecast),
            source("dew_point", Quantity::DewPoint, SeriesPlace::Lake, &forecast),
        ],
    }
}

fn provenance() -> Arc<Provenance> {
    Arc::new(Provenance {
        service: "csv".into(),
        station: String::new(),
        parameter: String::new(),
        original_unit: String::new(),
        retrieved_at: morning(),
    })
}

fn row(time: DateTime<Utc>, value: f64) -> Observation {
    Observation {
        time,
        depth_m: None,
        value: Some(value),
        original_value: None,
        approval: Approval::Provisional,
        qualifier: None,
        flag: Flag::Pass,
        provenance: provenance(),
    }
}

/// Daily values of the `days` days before the morning, by days back (1 is yesterday).
fn days_back(days: i64, value: impl Fn(i64) -> f64) -> Vec<Observation> {
    let today = clock().standard_day(morning());
    let at = |back| clock().standard_day_start(today - Duration::days(back));
    (1..=days).rev().map(|back| row(at(back), value(back))).collect()
}

fn set_of(rows: Vec<(&str, Cadence, Vec<Observation>)>) -> SeriesSet {
    let mut set = SeriesSet {
        as_of: morning(),
        ..SeriesSet::default()
    };
    for (id, cadence, rows) in rows {
        set.observations.insert(
            SeriesKey {
                id: SeriesId::new(id),
                cadence,
            },
            rows,
        );
    }
    set
}

fn forecast(set: &mut SeriesSet, id: &str, members: u16, value: impl Fn(u16, i64) -> Option<f64>) {
    let start = Utc.with_ymd_and_hms(2025, 7, 24, 6, 0, 0).unwrap();
    let id = SeriesId::new(id);
    let batch = ForecastBatch {
        key: SeriesKey {
            id: id.clone(),
            cadence: Cadence::Forecast,
        },
        issued_at: start,
        provenance: provenance(),
        time: (0..48).map(|h| start + Duration::hours(h)).collect(),
        members: (0..members).map(Member).collect(),
        value: (0..members)
            .map(|m| (0..48).map(|h| value(m, h)).collect())
            .collect(),
    };
    set.forecasts.insert(id, batch);
}

fn gap<'a>(conditions: &'a Conditions, what: &str) -> &'a crate::series::Gap {
    conditions
        .gaps
        .iter()
        .find(|g| g.what == what)
        .unwrap_or_else(|| panic!("no gap {what}: {:?}", conditions.gaps))
}

#[test]
fn an_empty_set_gives_conditions_that_name_every_gap() {
    let found = conditions_at(
        &lake(),
        &SeriesSet {
            as_of: morning(),
            ..SeriesSet::default()
        },
    );
    assert!(found.pool.is_none() && found.storage_m3.is_none() && found.inflows.is_empty());
    assert!(found.surface.is_none() && found.wind.is_none() && found.sky.is_none());
    assert_eq!(gap(&found, "pool_elevation").reason, GapReason::NoData);
    assert_eq!(gap(&found, "storage").reason, GapReason::NotDescribed);
    assert_eq!(gap(&found, "sorrel").reason, GapReason::NoData);
    assert!(matches!(
        gap(&found, "wind_speed").consequence,
        Consequence::CautionGiven { .. }
    ));
    assert!(matches!(
        gap(&found, "visibility").consequence,
        Consequence::CautionGiven { .. }
    ));
    assert!(found.inputs.iter().all(|i| i.late && i.newest.is_none()));
    assert!(found.light.is_some_and(|l| l.sunrise.is_some()));
}

#[test]
fn a_falling_pool_has_its_changes_slope_and_standing() {
    let level = days_back(400, |back| 60.0 + 0.1 * back as f64);
    let found = conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, level)]));
    let pool = found.pool.expect("a level");
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
    near(pool.elevation_m, 60.1);
    near(pool.change_1d.unwrap().change_m, -0.1);
    near(pool.change_7d.unwrap().change_m, -0.7);
    near(pool.change_30d.unwrap().change_m, -3.0);
    // sqrt(2) times 0.02 ft (row S-MB-sig's reading error).
    near(pool.change_7d.unwrap().sd_m, 2.0_f64.sqrt() * 0.02 * 0.3048);
    near(pool.slope_7d_m_per_day.unwrap(), -0.1);
    near(pool.highest_60d_m.unwrap(), 66.0);
    assert_eq!(pool.percentile_for_date_frac, None, "one earlier year is too few");
    near(found.storage_m3.unwrap(), 60.1e7);
}

#[test]
fn the_percentile_for_the_date_counts_nearby_days_of_other_years() {
    // Four earlier years stood at 50, 55, 65 and 70 m all summer; this year at 60 m.
    let level = days_back(5 * 365, |back| match back / 365 {
        0 => 60.0,
        1 => 50.0,
        2 => 55.0,
        3 => 65.0,
        _ => 70.0,
    });
    let mut years = level.clone();
    years.extend(days_back(30, |_| 60.0));
    let found = conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, years)]))
        .pool
        .unwrap();
    // The windows of 31 days straddle the steps between the years, at most 2 days off by leap day.
    let percentile = found.percentile_for_date_frac.unwrap();
    assert!((percentile - 0.5).abs() < 0.15, "{percentile}");
}

#[test]
fn no_filled_or_missing_day_ends_a_change() {
    let mut level = days_back(60, |back| 60.0 + 0.1 * back as f64);
    let keep = |back: i64| 60 - back as usize;
    level[keep(8)].flag = Flag::Fail;
    let pool = conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, level)]))
        .pool
        .unwrap();
    assert!(pool.change_1d.is_some());
    assert_eq!(pool.change_7d, None, "its first day was refused and filled");
    assert!(pool.slope_7d_m_per_day.is_some());
}

#[test]
fn a_level_series_whose_every_value_is_refused_is_no_level() {
    let mut level = days_back(5, |_| 60.0);
    level.iter_mut().for_each(|o| o.flag = Flag::Fail);
    let found = conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, level)]));
    assert!(found.pool.is_none());
    assert_eq!(
        gap(&found, "pool_elevation").reason,
        GapReason::Refused { refused: 5, of: 5 }
    );
}

#[test]
fn a_lake_with_storage_only_knows_its_storage_and_no_level() {
    let mut lake = lake();
    lake.hypsography = None;
    lake.series = vec![source(
        "storage",
        Quantity::Storage,
        SeriesPlace::Lake,
        &[Cadence::Daily],
    )];
    let found = conditions_at(
        &lake,
        &set_of(vec![("storage", Cadence::Daily, days_back(5, |_| 4e8))]),
    );
    assert_eq!(found.storage_m3, Some(4e8));
    assert!(found.pool.is_none());
    assert_eq!(gap(&found, "pool_elevation").reason, GapReason::NotDescribed);
}

#[test]
fn a_flood_two_days_past_its_peak_is_a_pulse_that_has_peaked() {
    // Steady 10 m3/s; then 30, 90 (the peak, two days back), 60.
    let flow = days_back(120, |back| match back {
        3 => 30.0,
        2 => 90.0,
        1 => 60.0,
        _ => 10.0,
    });
    let found = conditions_at(&lake(), &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
    let inflow = &found.inflows[0];
    let pulse = inflow.pulse.as_ref().expect("a pulse");
    let today = clock().standard_day(morning());
    assert_eq!(
        (pulse.onset, pulse.peak),
        (today - Duration::days(3), today - Duration::days(2))
    );
    assert!(pulse.peaked && pulse.end.is_none());
    assert_eq!((pulse.days_since_peak, pulse.rise_days), (2.0, 1));
    assert!(pulse.peak_ratio > 10.0 && inflow.ratio.unwrap() > 5.0);
    assert_eq!(inflow.change_7d_m3s, Some(50.0));
}

#[test]
fn a_regulated_river_is_held_against_its_own_month() {
    let mut lake = lake();
    lake.inflows[0].regulated = true;
    let flow = days_back(60, |back| if back == 1 { 30.0 } else { 10.0 });
    let found = conditions_at(&lake, &set_of(vec![("sorrel-flow", Cadence::Daily, flow)]));
    let inflow = &found.inflows[0];
    assert_eq!(
        (inflow.ratio, inflow.ratio_basis),
        (Some(3.0), RatioBasis::Median30d)
    );
    assert_eq!(inflow.baseflow_m3s, None);
}

#[test]
fn an_inflow_without_a_gauge_comes_from_the_balance() {
    // The box of 10 km2 rises 0.0864 m a day: 10 m3/s, and 5 m3/s are let out.
    let level = days_back(100, |back| 60.0 - 0.0864 * back as f64);
    let release = days_back(100, |_| 5.0);
    let found = conditions_at(
        &lake(),
        &set_of(vec![
            ("pool", Cadence::Daily, level),
            ("release", Cadence::Daily, release),
        ]),
    );
    assert!((found.inflows[0].discharge_m3s - 15.0).abs() < 1e-6);
    assert!(matches!(
        gap(&found, "sorrel").consequence,
        Consequence::StandIn { .. }
    ));
}

#[test]
fn a_cooling_surface_is_declared_and_a_flat_one_is_not() {
    let cooling = days_back(20, |back| 18.0 + 0.2 * back as f64 + 0.05 * (back % 2) as f64);
    let surface = conditions_at(&lake(), &set_of(vec![("surface", Cadence::Daily, cooling)]))
        .surface
        .unwrap();
    assert!(surface.cooling);
    assert_eq!(
        (surface.trend_7d.unwrap().days, surface.trend_14d.unwrap().days),
        (7, 14)
    );
    let flat = days_back(20, |back| 18.0 + 0.3 * (back % 2) as f64);
    assert!(
        !conditions_at(&lake(), &set_of(vec![("surface", Cadence::Daily, flat)]))
            .surface
            .unwrap()
            .cooling
    );
}

#[test]
fn the_mean_of_the_last_day_of_hours_beats_the_single_reading() {
    let hours = (0..48)
        .rev()
        .map(|h| row(morning() - Duration::hours(h), if h == 0 { 25.0 } else { 19.0 }));
    let found = conditions_at(
        &lake(),
        &set_of(vec![("surface", Cadence::Continuous, hours.collect())]),
    );
    let surface = found.surface.unwrap();
    assert!(
        (surface.temp_degc - 19.25).abs() < 1e-9,
        "(23 x 19 + 25) / 24 = 19.25, found {}",
        surface.temp_degc
    );
    assert_eq!(surface.observed_at, morning());
}

#[test]
fn a_cast_from_the_deep_is_not_the_surface() {
    let mut rows = days_back(3, |_| 8.0);
    rows.iter_mut().for_each(|o| o.depth_m = Some(30.0));
    assert!(
        conditions_at(&lake(), &set_of(vec![("surface", Cadence::Daily, rows)]))
            .surface
            .is_none()
    );
}

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
fn an_input_is_late_by_its_cadence_and_an_ended_archive_is_not() {
    let mut lake = lake();
    lake.series[0].daily_until = NaiveDate::from_ymd_opt(2021, 12, 31);
    let old = vec![row(Utc.with_ymd_and_hms(2021, 12, 30, 8, 0, 0).unwrap(), 60.0)];
    let hours = vec![row(morning() - Duration::hours(7), 60.0)];
    let found = conditions_at(
        &lake,
        &set_of(vec![
            ("pool", Cadence::Daily, old),
            ("pool", Cadence::Continuous, hours),
        ]),
    );
    let input = |cadence: &str| {
        found
            .inputs
            .iter()
            .find(|i| i.series == "pool" && i.cadence == cadence)
            .unwrap()
    };
    assert_eq!((input("daily").late, input("daily").late_after_h), (false, None));
    assert_eq!(
        (input("continuous").late, input("continuous").late_after_h),
        (true, Some(6.0))
    );
    assert_eq!(input("continuous").provisional_60d_frac, Some(1.0));
}

fn any_row() -> impl Strategy<Value = Observation> {
    let flag = prop::sample::select(vec![
        Flag::Pass,
        Flag::NotEvaluated,
        Flag::Suspect,
        Flag::Fail,
        Flag::Missing,
    ]);
    let value = prop::option::of(prop_oneof![
        -1e3..1e3_f64,
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(0.0)
    ]);
    let depth = prop::option::of(0.0..40.0_f64);
    (0..4000_i64, value, depth, flag).prop_map(|(half_hours, value, depth_m, flag)| Observation {
        value,
        depth_m,
        flag,
        ..row(morning() - Duration::minutes(30 * half_hours), 0.0)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]
    #[test]
    fn no_small_set_makes_it_panic_or_gives_a_number_that_is_none(
        rows in prop::collection::vec(prop::collection::vec(any_row(), 0..80), 5),
        winds in prop::collection::vec(prop::option::of(-5.0..50.0_f64), 48),
        hours in -20000_i64..100,
    ) {
        let ids = ["pool", "release", "surface", "sorrel-flow", "sorrel-temp"];
        let mut set = SeriesSet { as_of: morning() + Duration::hours(hours), ..SeriesSet::default() };
        for (id, rows) in ids.iter().zip(rows) {
            let (daily, continuous) = rows.split_at(rows.len() / 2);
            for (cadence, part) in [(Cadence::Daily, daily), (Cadence::Continuous, continuous)] {
                set.observations.insert(SeriesKey { id: SeriesId::new(*id), cadence }, part.to_vec());
            }
        }
        forecast(&mut set, "wind_speed", 3, |m, h| winds[(h as usize + usize::from(m)) % 48]);
        let found = conditions_at(&lake(), &set);
        let text = serde_json::to_value(&found).unwrap();
        prop_assert!(found.pool.is_none_or(|p| p.elevation_m.is_finite()));
        prop_assert!(found.inflows.iter().all(|i| i.discharge_m3s.is_finite() && i.discharge_m3s >= 0.0));
        prop_assert!(found.surface.is_none_or(|s| s.temp_degc.is_finite()));
        prop_assert_eq!(text["inputs"].as_array().unwrap().len(), found.inputs.len());
    }
}
