//! The whole value: gaps, ages, and no panic on any small set.

use proptest::prelude::*;

use super::*;

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

    #[test]
    fn no_year_of_daily_values_with_holes_makes_it_panic(
        values in prop::collection::vec(prop::option::weighted(0.9, -5.0..100.0_f64), 300),
        flags in prop::collection::vec(0..12_u8, 300),
        seed in 0..300_usize,
        ungauged in any::<bool>(),
    ) {
        let rows = |shift: usize| {
            let mut rows = days_back(300, |_| 0.0);
            for (i, row) in rows.iter_mut().enumerate() {
                let k = (i + shift * seed) % 300;
                row.value = values[k];
                row.flag = match flags[k] {
                    _ if values[k].is_none() => Flag::Missing,
                    0 => Flag::Suspect,
                    1 => Flag::Fail,
                    _ => Flag::Pass,
                };
            }
            rows
        };
        let flow = if ungauged { Vec::new() } else { rows(2) };
        let found = conditions_at(&lake(), &set_of(vec![
            ("pool", Cadence::Daily, rows(0)),
            ("release", Cadence::Daily, rows(1)),
            ("sorrel-flow", Cadence::Daily, flow),
            ("surface", Cadence::Daily, rows(3)),
        ]));
        for inflow in &found.inflows {
            prop_assert!(inflow.discharge_m3s >= 0.0);
            prop_assert!(inflow.ratio.is_none_or(|r| r.is_finite() && r >= 0.0));
            prop_assert!(inflow.baseflow_m3s.is_none_or(f64::is_finite));
            if let Some(pulse) = &inflow.pulse {
                prop_assert!(pulse.onset <= pulse.peak && pulse.peak_ratio >= 1.5);
                prop_assert!(pulse.end.is_none_or(|end| end >= pulse.peak));
                prop_assert!(pulse.quickflow_volume_m3 >= 0.0);
            }
        }
        for trend in found.surface.iter().flat_map(|s| [s.trend_7d, s.trend_14d]).flatten() {
            prop_assert!(trend.low_degc_per_day <= trend.high_degc_per_day);
        }
        if let Some(pool) = &found.pool {
            prop_assert!(pool.percentile_for_date_frac.is_none_or(|p| (0.0..=1.0).contains(&p)));
        }
    }

    #[test]
    fn the_order_of_rows_does_not_matter(shift in 1..59_usize) {
        let level = days_back(60, |back| 60.0 + 0.01 * (back * back % 17) as f64);
        let mut turned = level.clone();
        turned.rotate_left(shift);
        let at = |rows| conditions_at(&lake(), &set_of(vec![("pool", Cadence::Daily, rows)]));
        prop_assert_eq!(at(level), at(turned));
    }
}
